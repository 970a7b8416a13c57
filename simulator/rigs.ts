/**
 * The simulated rigs as data. Both are invented for the demo; which numbers
 * are plausible by which source is said in PHYSICS.md.
 */
import type { ElectricsSpec } from './physics/electrics.ts';
import type { EngineSpec } from './physics/engine.ts';
import type { FuelSpec } from './physics/fuel.ts';
import type { PropellerSpec } from './physics/propeller.ts';
import type { ServoSpec } from './physics/servo.ts';
import type { ThermalSpec } from './physics/thermal.ts';

export interface SimulatedRig {
  readonly id: RigName;
  readonly title: string;
  /** Name that the bench gives itself on the line. */
  readonly benchName: string;
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

const digitalServo: ServoSpec = { closed_us: 1100, open_us: 1900, slew_travelPers: 2.5 };

/** The demo rig: 120 cm³ opposed twin, 28x10 in two-blade. */
export const lapwing120: SimulatedRig = {
  id: 'lapwing-120',
  title: 'Lapwing 120',
  benchName: 'lapwing-bench',
  engine: {
    name: 'Lapwing 120',
    cylinders: 2,
    displacement_cm3: 120,
    idleSpeed_rpm: 1900,
    fullThrottleSpeed_rpm: 6300,
    peakDelivery_rpm: 5800,
    carburettorRatio: 12.9,
    inertia_kgm2: 0.0018,
    indicatedEfficiency: 0.36,
    frictionStatic_bar: 0.3,
    frictionPerKrpm_bar: 0.09,
    rippleTorque_Nm: 4,
  },
  propeller: {
    name: '28x10 in two-blade',
    diameter_m: 28 * INCH_m,
    pitch_m: 10 * INCH_m,
    blades: 2,
    thrustCoefficient: 0.083,
    powerCoefficient: 0.0285,
    inertia_kgm2: 0.0105,
  },
  thermal: {
    headHeat_JPerK: 1000,
    caseHeat_JPerK: 2400,
    headCooling_WPerK: 14,
    referenceAir_mPers: 16,
    fanAir_mPers: 10.5,
    washShare: 0.33,
    headToCase_WPerK: 2.5,
    caseCooling_WPerK: 9,
    heatShare: 0.2,
    referenceSpeed_rpm: 6300,
    exhaustShare: 0.745,
    referenceExhaust_gPers: 12,
    headFactors: [1, 0.965],
    exhaustFactors: [0.99, 1.015],
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
  },
  propeller: {
    name: '32x14 in two-blade',
    diameter_m: 32 * INCH_m,
    pitch_m: 14 * INCH_m,
    blades: 2,
    thrustCoefficient: 0.088,
    powerCoefficient: 0.0302,
    inertia_kgm2: 0.0195,
  },
  thermal: {
    ...lapwing120.thermal,
    caseHeat_JPerK: 4600,
    caseCooling_WPerK: 17,
    referenceSpeed_rpm: 5900,
    referenceExhaust_gPers: 20,
    headFactors: [1, 0.97, 1.02, 0.985],
    exhaustFactors: [0.99, 1.015, 1.005, 0.98],
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
