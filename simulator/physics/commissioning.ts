/**
 * Sets a simulated engine as a fitter would: the carburettor until full
 * throttle gives the stated speed on this propeller at the home site, the idle
 * stop until it idles at the stated speed. Solved from the same equations that
 * run, by bisection, so that nothing has to be tuned twice.
 */
import type { Site } from './air.ts';
import { airDensity_kgPerm3, soundSpeed_mPers } from './air.ts';
import type { EngineSetting, EngineSpec } from './engine-spec.ts';
import {
  burnCompleteness,
  burnQuality,
  chargeVolume_cm3,
  chargeWarmth,
  deliveryRatio,
  fireChance,
  friction_bar,
  indicatedEfficiency,
  LOWER_HEATING_VALUE_JPerg,
  pumping_bar,
  ramp,
  STOICHIOMETRIC,
  timingQuality,
  torqueOfPressure_Nm,
  trappingEfficiency,
} from './engine-spec.ts';
import type { PropellerSpec } from './propeller.ts';
import { propellerTorque_Nm } from './propeller.ts';

/** Typical warm engine at which it is set. */
const CASE_IDLE_degC = 50;
export const CASE_FULL_degC = 75;
/** Shaft power that the generator takes meanwhile: the loads are those of the stand, whatever the engine. */
const GENERATOR_IDLE_W = 130;
const GENERATOR_FULL_W = 240;

/** @throws RangeError where no setting gives the stated speeds on this propeller */
export function commission(engine: EngineSpec, propeller: PropellerSpec, site: Site): EngineSetting {
  const air = inletAir(site.temperature_degC, site.pressure_hPa, site.humidity_percent);
  const sound = soundSpeed_mPers(site.temperature_degC);
  const surplus = (setting: EngineSetting, position: number, speed_rpm: number, case_degC: number): number =>
    brakeTorque_Nm(engine, setting, position, speed_rpm, case_degC, air) -
    propellerTorque_Nm(propeller, speed_rpm, air.density_kgPerm3, sound, 0);
  const fullDelivery = bisect(0.05, 2, (value) =>
    surplus({ fullDelivery: value, idleOpening: 0.02 }, 1, engine.fullThrottleSpeed_rpm, CASE_FULL_degC),
  );
  const idleOpening = bisect(0.0005, 0.5, (value) =>
    surplus({ fullDelivery, idleOpening: value }, 0, engine.idleSpeed_rpm, CASE_IDLE_degC),
  );
  return { fullDelivery, idleOpening };
}

/** Air at the carburettor. */
export interface InletAir {
  readonly temperature_degC: number;
  readonly density_kgPerm3: number;
}

export function inletAir(temperature_degC: number, pressure_hPa: number, humidity_percent: number): InletAir {
  return { temperature_degC, density_kgPerm3: airDensity_kgPerm3(temperature_degC, pressure_hPa, humidity_percent) };
}

/** What a warm engine with a settled wall film does in one turn, on average. */
export interface SteadyCharge {
  readonly delivery: number;
  readonly fuel_g: number;
  readonly burnt_J: number;
  readonly work_J: number;
  readonly exhaust_g: number;
}

export function steadyCharge(
  engine: EngineSpec,
  setting: EngineSetting,
  position: number,
  speed_rpm: number,
  case_degC: number,
  air: InletAir,
): SteadyCharge {
  const delivery = deliveryRatio(engine, setting, position, speed_rpm);
  const warmth = chargeWarmth(air.temperature_degC, case_degC);
  const air_g = delivery * air.density_kgPerm3 * chargeVolume_cm3(engine) * 1e-3 * warmth;
  const fuel_g = air_g / engine.carburettorRatio;
  const lambda = engine.carburettorRatio / STOICHIOMETRIC;
  const burnable_g = Math.min(fuel_g, air_g / STOICHIOMETRIC) * trappingEfficiency(engine, delivery);
  const lit = fireChance(lambda, delivery, speed_rpm);
  const burnt_J = burnable_g * LOWER_HEATING_VALUE_JPerg * burnCompleteness(lambda) * lit;
  const work_J =
    burnt_J *
    indicatedEfficiency(engine, delivery, speed_rpm) *
    timingQuality(engine, speed_rpm, 0) *
    burnQuality(lambda);
  return { delivery, fuel_g, burnt_J, work_J, exhaust_g: air_g + fuel_g };
}

/** Mean torque at the shaft of a warm engine: gas, less friction, pumping and generator. */
export function brakeTorque_Nm(
  engine: EngineSpec,
  setting: EngineSetting,
  position: number,
  speed_rpm: number,
  case_degC: number,
  air: InletAir,
): number {
  const charge = steadyCharge(engine, setting, position, speed_rpm, case_degC, air);
  const lost_bar =
    friction_bar(engine, speed_rpm, case_degC, 150) + pumping_bar(engine, setting, charge.delivery, speed_rpm);
  const charging = ramp(speed_rpm / engine.fullThrottleSpeed_rpm, 0.3, 0.5);
  const generator_W = GENERATOR_IDLE_W + (GENERATOR_FULL_W - GENERATOR_IDLE_W) * charging;
  const generator_Nm = generator_W / ((2 * Math.PI * speed_rpm) / 60);
  return charge.work_J / (2 * Math.PI) - torqueOfPressure_Nm(engine, lost_bar) - generator_Nm;
}

/** Root of a rising function. @throws RangeError where there is none between the bounds. */
function bisect(low: number, high: number, f: (value: number) => number): number {
  if (f(low) > 0 || f(high) < 0) {
    throw new RangeError(`this engine cannot be set to its stated speeds: ${f(low)} at ${low}, ${f(high)} at ${high}`);
  }
  let from = low;
  let to = high;
  for (let i = 0; i < 60; i++) {
    const middle = (from + to) / 2;
    if (f(middle) > 0) to = middle;
    else from = middle;
  }
  return (from + to) / 2;
}
