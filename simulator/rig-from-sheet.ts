/**
 * Any rig sheet as a simulated rig. A sheet says what is bolted to the stand,
 * not what a physicist would like to know of it: the rest is scaled from the
 * demo engine, and each assumption is named here and in PHYSICS.md, part 13.
 */
import { err, ok, type Result } from '../shared-core/base/result.ts';
import type { RigSheet } from '../shared-core/rig/rig-sheet.ts';
import { airDensity_kgPerm3, hillWorkshop, type Site } from './physics/air.ts';
import { CASE_FULL_degC, commission, inletAir, steadyCharge } from './physics/commissioning.ts';
import type { ElectricsSpec } from './physics/electrics.ts';
import type { EngineSetting, EngineSpec } from './physics/engine-spec.ts';
import { inducedVelocity_mPers, type PropellerSpec, thrust_N } from './physics/propeller.ts';
import type { ThermalSpec } from './physics/thermal.ts';
import { lapwing120, propellerOf, type SimulatedRig } from './rigs.ts';

const like = lapwing120;
/** The channel table holds 64 columns a group; more cylinders than this nobody runs on a small stand. */
const CYLINDERS_MOST = 12;

/**
 * The rig that a sheet describes. Not ok, with a sentence for the reader,
 * where no setting of such an engine turns such a propeller at the sheet's
 * idle and rated speeds.
 */
export function rigFromSheet(sheet: RigSheet): Result<SimulatedRig, string> {
  const { cylinders } = sheet.engine;
  if (!(Number.isInteger(cylinders) && cylinders >= 1 && cylinders <= CYLINDERS_MOST)) {
    return err(`The simulator runs engines of 1 to ${CYLINDERS_MOST} cylinders, not ${cylinders}.`);
  }
  const home = homeOf(sheet);
  const engine = engineOf(sheet);
  const propeller = propellerOf(
    sheet.propeller.name,
    sheet.propeller.diameter_m,
    sheet.propeller.pitch_m,
    sheet.propeller.blades,
    // Alike in shape: inertia goes with the fifth power of size, and with the blades.
    like.propeller.inertia_kgm2 *
      (sheet.propeller.diameter_m / like.propeller.diameter_m) ** 5 *
      (sheet.propeller.blades / 2),
  );
  let setting: EngineSetting;
  try {
    setting = commission(engine, propeller, home);
  } catch (cause) {
    if (!(cause instanceof RangeError)) throw cause;
    return err(
      `No setting of a ${sheet.engine.displacement_cm3} cm³ engine turns this propeller at ${engine.idleSpeed_rpm} rpm idle and ` +
        `${engine.fullThrottleSpeed_rpm} rpm at full throttle. Check displacement, propeller and speeds in the rig sheet.`,
    );
  }
  return ok({
    id: sheet.id,
    title: sheet.name,
    benchName: benchNameOf(sheet.id),
    home,
    engine,
    propeller,
    thermal: thermalOf(engine, setting, propeller, home),
    fuel: {
      petrolDensity15_kgPerm3: sheet.fuel.density15_kgPerm3,
      oilDensity15_kgPerm3: sheet.fuel.oilDensity15_kgPerm3,
      mixRatio: sheet.fuel.mixRatio,
      tank_L: Math.max(2, (like.fuel.tank_L * engine.displacement_cm3) / like.engine.displacement_cm3),
      chamber_mL: like.fuel.chamber_mL * sizeOf(engine),
      pump_mLPerRev: like.fuel.pump_mLPerRev * sizeOf(engine),
    },
    servo: like.servo,
    electrics: electricsOf(engine),
  });
}

/** Charged volume per turn over that of the demo engine. */
function sizeOf(engine: EngineSpec): number {
  return (engine.displacement_cm3 * (engine.strokes === 4 ? 0.5 : 1)) / like.engine.displacement_cm3;
}

/** A workshop of 17 °C and 55 % at the sheet's elevation, at the pressure of the standard atmosphere (barometric formula, ISO 2533). */
function homeOf(sheet: RigSheet): Site {
  const { elevation_m } = sheet.site;
  return {
    name: sheet.site.name,
    elevation_m,
    temperature_degC: hillWorkshop.temperature_degC,
    pressure_hPa: 1013.25 * (1 - 2.25577e-5 * elevation_m) ** 5.25588,
    humidity_percent: hillWorkshop.humidity_percent,
  };
}

function engineOf(sheet: RigSheet): EngineSpec {
  const { engine } = sheet;
  const factors = (spread: number): number[] =>
    // Built like the demo engine: neighbours differ by about as much, one up, one down.
    Array.from({ length: engine.cylinders }, (_, i) =>
      engine.cylinders === 1 ? 1 : 1 + spread * (i % 2 === 0 ? 1 : -1) * (1 - 0.1 * i),
    );
  const size = engine.displacement_cm3 / like.engine.displacement_cm3;
  return {
    ...like.engine,
    name: engine.name,
    strokes: engine.strokes,
    cylinders: engine.cylinders,
    displacement_cm3: engine.displacement_cm3,
    idleSpeed_rpm: engine.idleSpeed_rpm,
    fullThrottleSpeed_rpm: engine.ratedSpeed_rpm,
    // Tuned a little below the speed at which it is rated, as the demo engine is.
    peakDelivery_rpm: (engine.ratedSpeed_rpm * like.engine.peakDelivery_rpm) / like.engine.fullThrottleSpeed_rpm,
    inertia_kgm2: like.engine.inertia_kgm2 * size ** (5 / 3),
    // Friction by piston speed: the same at rated speed, whatever that is.
    frictionPerKrpm_bar: (like.engine.frictionPerKrpm_bar * like.engine.fullThrottleSpeed_rpm) / engine.ratedSpeed_rpm,
    rippleTorque_Nm: like.engine.rippleTorque_Nm * size * (2 / engine.cylinders),
    chargeFactors: factors(0.004),
    mixtureFactors: factors(0.006),
  };
}

/**
 * Metal by displacement, cooling by the heat that full throttle brings: a rig
 * is built so that its heads come out about as hot as the demo engine's.
 */
function thermalOf(engine: EngineSpec, setting: EngineSetting, propeller: PropellerSpec, home: Site): ThermalSpec {
  const size = engine.displacement_cm3 / engine.cylinders / (like.engine.displacement_cm3 / like.engine.cylinders);
  const full = fullThrottle(engine, setting, home);
  const reference = fullThrottle(like.engine, commission(like.engine, like.propeller, like.home), like.home);
  const heat = full.burnt_W / engine.cylinders / (reference.burnt_W / like.engine.cylinders);
  const wash_mPers = washOf(propeller, engine.fullThrottleSpeed_rpm, home) * like.thermal.washShare;
  const spec = like.thermal;
  return {
    ...spec,
    headHeat_JPerK: spec.headHeat_JPerK * size,
    barrelHeat_JPerK: spec.barrelHeat_JPerK * size,
    portHeat_JPerK: spec.portHeat_JPerK * size,
    caseHeat_JPerK: (spec.caseHeat_JPerK * size * engine.cylinders) / like.engine.cylinders,
    headCooling_WPerK: spec.headCooling_WPerK * heat,
    barrelCooling_WPerK: spec.barrelCooling_WPerK * heat,
    portCooling_WPerK: spec.portCooling_WPerK * heat,
    caseCooling_WPerK: (spec.caseCooling_WPerK * heat * engine.cylinders) / like.engine.cylinders,
    headToBarrel_WPerK: spec.headToBarrel_WPerK * heat,
    barrelToCase_WPerK: spec.barrelToCase_WPerK * heat,
    portToHead_WPerK: spec.portToHead_WPerK * heat,
    portGas_WPerK: spec.portGas_WPerK * heat,
    // The fan is chosen for the stand: with the wash it gives the reference air at full throttle.
    fanAir_mPers: Math.max(4, spec.referenceAir_mPers - wash_mPers),
    referenceSpeed_rpm: engine.fullThrottleSpeed_rpm,
    referenceExhaust_gPers: full.exhaust_gPers,
    headFactors: Array.from({ length: engine.cylinders }, (_, i) => spec.headFactors[i % 2]! - 0.004 * (i >> 1)),
    exhaustFactors: Array.from({ length: engine.cylinders }, (_, i) => spec.exhaustFactors[i % 2]! - 0.004 * (i >> 1)),
  };
}

function fullThrottle(
  engine: EngineSpec,
  setting: EngineSetting,
  home: Site,
): { burnt_W: number; exhaust_gPers: number } {
  const air = inletAir(home.temperature_degC, home.pressure_hPa, home.humidity_percent);
  const charge = steadyCharge(engine, setting, 1, engine.fullThrottleSpeed_rpm, CASE_FULL_degC, air);
  const turns_Hz = engine.fullThrottleSpeed_rpm / 60;
  return { burnt_W: charge.burnt_J * turns_Hz, exhaust_gPers: charge.exhaust_g * turns_Hz };
}

function washOf(propeller: PropellerSpec, speed_rpm: number, home: Site): number {
  const density = airDensity_kgPerm3(home.temperature_degC, home.pressure_hPa, home.humidity_percent);
  return inducedVelocity_mPers(propeller, thrust_N(propeller, speed_rpm, density, 0), density);
}

/** A starter strong enough for the engine, a generator that charges from a third of rated speed on. */
function electricsOf(engine: EngineSpec): ElectricsSpec {
  const size = sizeOf(engine);
  const spec = like.electrics;
  const strength = Math.max(0.5, Math.sqrt(size));
  return {
    ...spec,
    battery_Ah: spec.battery_Ah * strength,
    battery_ohm: spec.battery_ohm / strength,
    starter_Vs: spec.starter_Vs * strength,
    starterWinding_ohm: spec.starterWinding_ohm / strength,
    starterHeat_JPerK: spec.starterHeat_JPerK * strength,
    starterCooling_WPerK: spec.starterCooling_WPerK * strength,
    generator_VPerRpm: (spec.generator_VPerRpm * like.engine.fullThrottleSpeed_rpm) / engine.fullThrottleSpeed_rpm,
  };
}

/** A word of the line protocol: at most 24 of letters, digits and `. _ - /`. */
function benchNameOf(id: string): string {
  const word = id.replace(/[^A-Za-z0-9._/-]+/g, '-').slice(0, 18);
  return `${word === '' ? 'rig' : word}-bench`;
}
