/**
 * The demo rig "Lapwing 120": an invented engine on an invented stand, as
 * every screen that shows it says. The limits are invented too; those of a
 * real engine come from its maker. Rules, plans and checklists are in the
 * files beside this one.
 */
import { lapwingCautions, lapwingChecklists } from './lapwing-checklists.ts';
import { lapwingPlans } from './lapwing-plans.ts';
import { lapwingRules } from './lapwing-rules.ts';
import type { RigSheet } from './rig-sheet.ts';

export const lapwing120: RigSheet = {
  format: 'runstand-rig',
  formatVersion: 1,
  id: 'lapwing-120',
  version: 1,
  name: 'Lapwing 120',
  isDemo: true,
  engine: {
    name: 'Lapwing 120 opposed twin (invented)',
    strokes: 2,
    cylinders: 2,
    displacement_cm3: 120,
    idleSpeed_rpm: 1900,
    ratedSpeed_rpm: 6300,
  },
  propeller: { name: '28x10 in, two blades', diameter_m: 28 * 0.0254, pitch_m: 10 * 0.0254, blades: 2 },
  site: { name: 'Hill workshop (invented)', elevation_m: 640, latitude_deg: 47 },
  stand: { name: 'Propeller stand (invented)', thrustSpan_N: 500, torqueSpan_Nm: 30, torqueArm_m: 0.5 },
  fuel: { name: 'Petrol with oil 50:1', density15_kgPerm3: 745, oilDensity15_kgPerm3: 870, mixRatio: 50 },
  runDetection: { rest_rpm: 60, running_rpm: 1100, runningHold_s: 1, cool_degC: 80 },
  calibrations: [],
  rules: lapwingRules,
  plans: lapwingPlans,
  checklists: lapwingChecklists,
  cautions: lapwingCautions,
};
