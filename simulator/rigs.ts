/**
 * The simulated rigs as data. Both are invented for the demo; which numbers
 * are plausible by which source is said in PHYSICS.md.
 */
import { hillWorkshop, type Site } from './physics/air.ts';
import type { ElectricsSpec } from './physics/electrics.ts';
import type { EngineSpec } from './physics/engine-spec.ts';
import type { FuelSpec } from './physics/fuel.ts';
import { type PropellerSpec, staticCoefficients } from './physics/propeller.ts';
import type { ServoSpec } from './physics/servo.ts';
import type { ThermalSpec } from './physics/thermal.ts';

export interface SimulatedRig {
  readonly id: string;
  readonly title: string;
  /** Name that the bench gives itself on the line. */
  readonly benchName: string;
  /** Where its carburettor was set. */
  readonly home: Site;
  readonly engine: EngineSpec;
  readonly propeller: PropellerSpec;
  readonly thermal: ThermalSpec;
  readonly fuel: FuelSpec;
  readonly servo: ServoSpec;
  readonly electrics: ElectricsSpec;
}

export type RigName = 'lapwing-120' | 'plover-210';

const INCH_m = 0.0254;

const petrol50: Omit<FuelSpec, 'tank_L' | 'pump_mLPerRev'> = {
  petrolDensity15_kgPerm3: 745,
  oilDensity15_kgPerm3: 870,
  mixRatio: 50,
  chamber_mL: 9,
};

const electrics12V: ElectricsSpec = {
  battery_V: 12.8,
  battery_ohm: 0.022,
  battery_Ah: 18,
  starter_Vs: 0.2,
  starterWinding_ohm: 0.12,
  starterGearEfficiency: 0.8,
  starterHeat_JPerK: 95,
  starterCooling_WPerK: 0.55,
  starterCutOut_degC: 125,
  starterCutIn_degC: 80,
  generator_VPerRpm: 0.0068,
  generatorRegulated_V: 14.3,
  generator_ohm: 0.03,
  generatorMost_A: 22,
  fan_A: 5,
};

/** Thrust and power of the propeller by its pitch and blades. */
export function propellerOf(
  name: string,
  diameter_m: number,
  pitch_m: number,
  blades: number,
  inertia_kgm2: number,
): PropellerSpec {
  const { ct, cp } = staticCoefficients(pitch_m / diameter_m, blades);
  return {
    name,
    diameter_m,
    pitch_m,
    blades,
    thrustCoefficient: ct,
    powerCoefficient: cp,
    inertia_kgm2,
    standDrag: 0.02,
    recirculation: 0.1,
  };
}

const digitalServo: ServoSpec = { closed_us: 1100, open_us: 1900, slew_travelPers: 2.5, deadZone_us: 2 };

/** The demo rig: 120 cm³ opposed twin, 28x10 in two-blade. */
export const lapwing120: SimulatedRig = {
  id: 'lapwing-120',
  title: 'Lapwing 120',
  benchName: 'lapwing-bench',
  home: hillWorkshop,
  engine: {
    name: 'Lapwing 120',
    strokes: 2,
    cylinders: 2,
    displacement_cm3: 120,
    idleSpeed_rpm: 1900,
    fullThrottleSpeed_rpm: 6300,
    peakDelivery_rpm: 5800,
    carburettorRatio: 12.9,
    inertia_kgm2: 0.0018,
    indicatedEfficiency: 0.397,
    frictionStatic_bar: 0.3,
    frictionPerKrpm_bar: 0.075,
    rippleTorque_Nm: 4,
    chargeFactors: [1.004, 0.996],
    mixtureFactors: [1.006, 0.994],
  },
  propeller: propellerOf('28x10 in two-blade', 28 * INCH_m, 10 * INCH_m, 2, 0.0105),
  thermal: {
    headHeat_JPerK: 800,
    barrelHeat_JPerK: 450,
    portHeat_JPerK: 140,
    caseHeat_JPerK: 2400,
    headCooling_WPerK: 12.6,
    barrelCooling_WPerK: 7,
    portCooling_WPerK: 0.9,
    caseCooling_WPerK: 12,
    referenceAir_mPers: 16,
    fanAir_mPers: 10.5,
    washShare: 0.33,
    headToBarrel_WPerK: 3,
    barrelToCase_WPerK: 2.5,
    portToHead_WPerK: 0.5,
    headShare: 0.176,
    barrelShare: 0.04,
    referenceSpeed_rpm: 6300,
    portGas_WPerK: 1.1,
    referenceExhaust_gPers: 12,
    probeShare: 0.985,
    headFactors: [1, 0.98],
    exhaustFactors: [0.99, 1.01],
  },
  fuel: { ...petrol50, tank_L: 5, pump_mLPerRev: 0.05 },
  servo: digitalServo,
  electrics: electrics12V,
};

/** A second invented rig, for four cylinders: 210 cm³ boxer, 32x14 in two-blade. */
export const plover210: SimulatedRig = {
  id: 'plover-210',
  title: 'Plover 210',
  benchName: 'plover-bench',
  home: hillWorkshop,
  engine: {
    ...lapwing120.engine,
    name: 'Plover 210',
    cylinders: 4,
    displacement_cm3: 210,
    idleSpeed_rpm: 1700,
    fullThrottleSpeed_rpm: 5900,
    peakDelivery_rpm: 5400,
    inertia_kgm2: 0.004,
    rippleTorque_Nm: 5,
    chargeFactors: [1.004, 0.996, 1.002, 0.998],
    mixtureFactors: [1.006, 0.994, 0.996, 1.004],
  },
  propeller: propellerOf('32x14 in two-blade', 32 * INCH_m, 14 * INCH_m, 2, 0.0195),
  thermal: {
    ...lapwing120.thermal,
    caseHeat_JPerK: 4600,
    caseCooling_WPerK: 22,
    referenceSpeed_rpm: 5900,
    referenceExhaust_gPers: 20,
    headFactors: [1, 0.97, 1.02, 0.985],
    exhaustFactors: [0.99, 1.01, 1.005, 0.985],
  },
  fuel: { ...petrol50, tank_L: 8, pump_mLPerRev: 0.1 },
  servo: digitalServo,
  electrics: {
    ...electrics12V,
    starter_Vs: 0.26,
    starterWinding_ohm: 0.08,
    battery_ohm: 0.015,
    battery_Ah: 24,
    generator_VPerRpm: 0.0076,
  },
};

export const rigs: Readonly<Record<RigName, SimulatedRig>> = { 'lapwing-120': lapwing120, 'plover-210': plover210 };
