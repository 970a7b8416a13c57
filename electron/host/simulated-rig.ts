/**
 * Which rig the built-in simulator runs: that of the rig sheet in force. The
 * demo sheet's is the built-in one, whatever its limits have become.
 */
import { lapwing120 } from '../../shared-core/rig/lapwing.ts';
import type { RigSheet } from '../../shared-core/rig/rig-sheet.ts';
import { rigFromSheet } from '../../simulator/rig-from-sheet.ts';
import type { SimulatedRig } from '../../simulator/rigs.ts';

export interface RigChoice {
  /** Undefined: the built-in demo rig. */
  readonly rig: SimulatedRig | undefined;
  /** Why the sheet's own is not simulated; empty where it is. */
  readonly sentence: string;
}

export function simulatedRigOf(sheet: RigSheet): RigChoice {
  if (whatRuns(sheet) === whatRuns(lapwing120)) return { rig: undefined, sentence: '' };
  const made = rigFromSheet(sheet);
  return made.ok ? { rig: made.value, sentence: '' } : { rig: undefined, sentence: made.error };
}

/** The sheet on which a lesson runs. Lessons know the demo rig, its limits and lists; sheets that grew from it keep its id. */
export function lessonSheetOf(current: RigSheet): RigSheet {
  return current.id === lapwing120.id && whatRuns(current) === whatRuns(lapwing120) ? current : lapwing120;
}

/** All of a sheet that the physics depend on, as one text. */
function whatRuns({ engine, propeller, fuel, site }: RigSheet): string {
  return JSON.stringify([
    [engine.cylinders, engine.strokes, engine.displacement_cm3, engine.idleSpeed_rpm, engine.ratedSpeed_rpm],
    [propeller.diameter_m, propeller.pitch_m, propeller.blades],
    [fuel.density15_kgPerm3, fuel.oilDensity15_kgPerm3, fuel.mixRatio],
    site.elevation_m,
  ]);
}
