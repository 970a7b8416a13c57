/**
 * Sets a simulated engine as a fitter would: the carburettor until full
 * throttle gives the stated speed on this propeller at the home site, the idle
 * stop until it idles at the stated speed. Solved from the same equations that
 * run, by bisection, so that nothing has to be tuned twice.
 */
import type { Site } from './air.ts';
import { airDensity_kgPerm3, soundSpeed_mPers } from './air.ts';
import type { EngineSetting, EngineSpec } from './engine.ts';
import {
  burnQuality,
  deliveryRatio,
  fireChance,
  friction_bar,
  indicatedEfficiency,
  LOWER_HEATING_VALUE_JPerg,
  STOICHIOMETRIC,
  torqueOfPressure_Nm,
  trappingEfficiency,
} from './engine.ts';
import type { PropellerSpec } from './propeller.ts';
import { propellerTorque_Nm } from './propeller.ts';

/** Typical warm engine at which it is set. */
const CASE_IDLE_degC = 50;
const CASE_FULL_degC = 75;
/** Shaft power that the generator takes meanwhile. */
const GENERATOR_IDLE_W = 130;
const GENERATOR_FULL_W = 240;

export function commission(engine: EngineSpec, propeller: PropellerSpec, site: Site): EngineSetting {
  const surplus = (setting: EngineSetting, position: number, speed_rpm: number, case_degC: number): number =>
    meanTorque_Nm(engine, setting, position, speed_rpm, case_degC, site) -
    resistingTorque_Nm(engine, propeller, speed_rpm, case_degC, site);
  const fullDelivery = bisect(0.05, 2, (value) =>
    surplus({ fullDelivery: value, idleOpening: 0.02 }, 1, engine.fullThrottleSpeed_rpm, CASE_FULL_degC),
  );
  const idleOpening = bisect(0.0005, 0.5, (value) =>
    surplus({ fullDelivery, idleOpening: value }, 0, engine.idleSpeed_rpm, CASE_IDLE_degC),
  );
  return { fullDelivery, idleOpening };
}

/** Mean gas torque of a warm engine with a settled wall film. */
function meanTorque_Nm(
  engine: EngineSpec,
  setting: EngineSetting,
  position: number,
  speed_rpm: number,
  case_degC: number,
  site: Site,
): number {
  const delivery = deliveryRatio(engine, setting, position, speed_rpm);
  const density = airDensity_kgPerm3(site.temperature_degC, site.pressure_hPa, site.humidity_percent);
  const warm = case_degC > 60 ? 1 - 0.0004 * (case_degC - 60) : 1;
  const air_g = delivery * density * engine.displacement_cm3 * 1e-3 * warm;
  const lambda = engine.carburettorRatio / STOICHIOMETRIC;
  const burnable_g = Math.min(air_g / engine.carburettorRatio, air_g / STOICHIOMETRIC) * trappingEfficiency(delivery);
  const work_J =
    burnable_g *
    LOWER_HEATING_VALUE_JPerg *
    burnQuality(lambda) *
    indicatedEfficiency(engine, delivery, speed_rpm) *
    fireChance(lambda, delivery, speed_rpm);
  return work_J / (2 * Math.PI);
}

function resistingTorque_Nm(
  engine: EngineSpec,
  propeller: PropellerSpec,
  speed_rpm: number,
  case_degC: number,
  site: Site,
): number {
  const density = airDensity_kgPerm3(site.temperature_degC, site.pressure_hPa, site.humidity_percent);
  const sound = soundSpeed_mPers(site.temperature_degC);
  const generator_W = speed_rpm < 3000 ? GENERATOR_IDLE_W : GENERATOR_FULL_W;
  const generator_Nm = generator_W / ((2 * Math.PI * speed_rpm) / 60);
  return (
    propellerTorque_Nm(propeller, speed_rpm, density, sound, 0) +
    torqueOfPressure_Nm(engine, friction_bar(engine, speed_rpm, case_degC, 150)) +
    generator_Nm
  );
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
