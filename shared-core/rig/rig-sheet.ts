/**
 * The rig sheet: bench, engine, propeller, channels, limits, advisory plans,
 * checklists and site, as one versioned document. A session keeps the one it
 * ran with. Its zod schema is `rig-schema.ts`, versions are in
 * `sheet-versions.ts`, differences in `compare-sheets.ts`; the demo sheet is
 * `lapwing.ts`.
 */
import type { AdvisoryPlan } from '../advisory/plans.ts';
import type { CalibrationRecord } from '../calibration/record.ts';
import type { ChannelKey, System } from '../channels/channel.ts';
import type { LimitRule } from '../limits/rules.ts';
import type { LineProfile } from '../line/profile/line-profile.ts';
import type { Checklist } from '../program/checklist.ts';

export interface Engine {
  readonly name: string;
  readonly strokes: 2 | 4;
  readonly cylinders: number;
  readonly displacement_cm3: number;
  readonly idleSpeed_rpm: number;
  readonly ratedSpeed_rpm: number;
}

export interface Propeller {
  readonly name: string;
  readonly diameter_m: number;
  readonly pitch_m: number;
  readonly blades: number;
}

export interface Site {
  readonly name: string;
  readonly elevation_m: number;
  /** Geodetic, south negative; for local gravity. Absent: not known. */
  readonly latitude_deg?: number | undefined;
}

/** The propeller stand: what its load cells carry, and how far from the shaft torque is taken up. */
export interface Stand {
  readonly name: string;
  /** Full load of each cell, to which calibration figures in percent refer. */
  readonly thrustSpan_N: number;
  readonly torqueSpan_Nm: number;
  /** Lever on which calibration weights hang. */
  readonly torqueArm_m: number;
}

export interface Fuel {
  readonly name: string;
  /** Density of the petrol alone at 15 °C. */
  readonly density15_kgPerm3: number;
  readonly oilDensity15_kgPerm3: number;
  /** Petrol : oil by volume, 50 for 50:1; 0 for no oil. */
  readonly mixRatio: number;
}

/** value' = a0 + a1·value + a2·value², core unit; then minus tare. */
export interface ChannelCalibration {
  readonly channel: ChannelKey;
  readonly a0: number;
  readonly a1: number;
  readonly a2: number;
  readonly tare: number;
  readonly note: string;
}

/** How a channel is shown on this rig; their order is the order on screen. */
export interface ChannelSetting {
  readonly channel: ChannelKey;
  /** What the crew calls it: "CHT front left"; empty: by its quantity and number. */
  readonly label: string;
  /** Where on the engine: "cylinder 1, head"; empty where it does not matter. */
  readonly place: string;
  /** Group on screen; null: that of its quantity. */
  readonly system: System | null;
  /** Range of the scale, core unit; null: that of the bench. */
  readonly low: number | null;
  readonly high: number | null;
}

/** What one version changed. */
export interface SheetChange {
  readonly version: number;
  readonly at_epochMs: number;
  /** A role. */
  readonly by: string;
  /** In the words of whoever changed it. */
  readonly change: string;
}

/** How the run state is found from the data. */
export interface RunDetection {
  /** Below this the shaft is at rest. */
  readonly rest_rpm: number;
  /** Above this, held, the engine runs by itself. */
  readonly running_rpm: number;
  readonly runningHold_s: number;
  /** After a run, cooling until the hottest head is below this. */
  readonly cool_degC: number;
}

export interface RigSheet {
  readonly format: 'runstand-rig';
  readonly formatVersion: 1;
  readonly id: string;
  readonly version: number;
  readonly name: string;
  readonly isDemo: boolean;
  readonly engine: Engine;
  readonly propeller: Propeller;
  readonly site: Site;
  readonly fuel: Fuel;
  readonly runDetection: RunDetection;
  readonly calibrations: readonly ChannelCalibration[];
  readonly rules: readonly LimitRule[];
  readonly plans: readonly AdvisoryPlan[];
  readonly checklists: readonly Checklist[];
  readonly cautions: readonly string[];
  /** The parts below came later: sheets without them stay good. */
  readonly calibrationRecords?: readonly CalibrationRecord[] | undefined;
  /** How the bench's lines are read if it does not speak the line protocol. */
  readonly profile?: LineProfile | null | undefined;
  readonly channels?: readonly ChannelSetting[] | undefined;
  readonly stand?: Stand | null | undefined;
  /** Who says so: "maker's manual, issue 3, page 14"; absent or empty: nobody has said. Never in a demo or a copy of it. */
  readonly limitsFrom?: string | undefined;
  /** Oldest first. */
  readonly history?: readonly SheetChange[] | undefined;
}
