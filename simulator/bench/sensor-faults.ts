/** What can be wrong with the sensors; set from `../fault-effects.ts`, carried out in `sensors.ts`. */
export interface SensorFaults {
  /** One flag, or one share, per cylinder. */
  readonly isHeadOpen: boolean[];
  readonly headLoose: Float64Array;
  /** Share of the time that a plug is open. */
  readonly headFlicker: Float64Array;
  readonly isExhaustShort: boolean[];
  readonly isExhaustReversed: boolean[];
  flowFactor: number;
  flowZero_Lperh: number;
  bubbles: number;
  isThrustStuck: boolean;
  isThrustOpen: boolean;
  thrustZero_N: number;
  /** Torque felt for each newton of thrust, more than as built, N·m/N. */
  crosstalk_m: number;
  /** Shaking over that of a balanced propeller. */
  shaking: number;
  pickupDouble: number;
  pickupMissed: number;
  pickupBlind: number;
}

export function noSensorFaults(cylinders: number): SensorFaults {
  return {
    isHeadOpen: new Array<boolean>(cylinders).fill(false),
    headLoose: new Float64Array(cylinders),
    headFlicker: new Float64Array(cylinders),
    isExhaustShort: new Array<boolean>(cylinders).fill(false),
    isExhaustReversed: new Array<boolean>(cylinders).fill(false),
    flowFactor: 1,
    flowZero_Lperh: 0,
    bubbles: 0,
    isThrustStuck: false,
    isThrustOpen: false,
    thrustZero_N: 0,
    crosstalk_m: 0,
    shaking: 1,
    pickupDouble: 0,
    pickupMissed: 0,
    pickupBlind: 0,
  };
}
