/** What is set from outside: how a plant is built, and what bench and faults do to it. */
import type { SimulatedRig } from '../rigs.ts';
import type { Site } from './air.ts';

/** What bench and faults do to the plant. */
export interface PlantInputs {
  servoPulse_us: number;
  isIgnitionOn: boolean;
  isStarterEngaged: boolean;
  isSupplyOn: boolean;
  isServoOn: boolean;
  isFanOn: boolean;
  /** Fault: share of the fan's drive that is lost; 1 is a dead motor. */
  fanLoss: number;
  /** Fault: share of blade loading lost, 0 to 1. */
  unload: number;
  /** Fault: share by which the cell turns its air around: wind in the disc, warm air at the inlet. */
  recirculation: number;
}

export interface PlantOptions {
  readonly rig: SimulatedRig;
  readonly site: Site;
  readonly seed: number;
  /** Every step cut in so many: 1 unless given; for showing that the step is small enough. */
  readonly refine?: number;
  /** No chance anywhere: combustion all alike, air as the site's. For the same purpose. */
  readonly still?: boolean;
}

/** Everything off and whole. */
export function restInputs(): PlantInputs {
  return {
    servoPulse_us: 0,
    isIgnitionOn: false,
    isStarterEngaged: false,
    isSupplyOn: false,
    isServoOn: false,
    isFanOn: false,
    fanLoss: 0,
    unload: 0,
    recirculation: 0,
  };
}
