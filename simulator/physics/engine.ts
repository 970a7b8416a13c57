/**
 * Mean-value two-stroke: one charge per revolution. At the end of each
 * revolution the next charge is drawn (delivery), mixed (jet, enrichment,
 * wall film) and burnt or missed; its mean torque acts over the revolution
 * that follows. Friction acts all the time.
 *
 * Equations and their sources are in PHYSICS.md; the two free numbers
 * (delivery at full throttle, idle opening) come from `commissioning.ts`.
 */
import type { FuelSystem } from './fuel.ts';
import type { RandomStream } from './random.ts';

export interface EngineSpec {
  readonly name: string;
  readonly cylinders: 2 | 4;
  readonly displacement_cm3: number;
  readonly idleSpeed_rpm: number;
  readonly fullThrottleSpeed_rpm: number;
  /** Speed of best delivery. */
  readonly peakDelivery_rpm: number;
  readonly carburettorRatio: number;
  readonly inertia_kgm2: number;
  /** Indicated efficiency of what is trapped and burnt, at its best. */
  readonly indicatedEfficiency: number;
  readonly frictionStatic_bar: number;
  readonly frictionPerKrpm_bar: number;
  readonly rippleTorque_Nm: number;
}

/** What the carburettor and idle stop were set to; see `commissioning.ts`. */
export interface EngineSetting {
  readonly fullDelivery: number;
  readonly idleOpening: number;
}

/** Conditions around one charge. */
export interface ChargeAir {
  readonly density_kgPerm3: number;
  readonly caseTemperature_degC: number;
  readonly headTemperature_degC: number;
}

export const LOWER_HEATING_VALUE_JPerg = 43_440;
export const STOICHIOMETRIC = 14.6;
/** Flow constant of the throttle: at full opening and reference speed the throttle costs 2 % of delivery. */
const THROTTLE_FLOW = 3.9;

/** Opening 0 to 1 of the throat for an arm position 0 to 1: a butterfly, 1 − cos of its angle. */
export function throatOpening(position: number, idleOpening: number): number {
  return idleOpening + (1 - idleOpening) * (1 - Math.cos((position * Math.PI) / 2));
}

/** Share of full delivery that passes the throttle; small openings pass a fixed flow, whatever the speed. */
export function throttleShare(opening: number, speed_rpm: number, reference_rpm: number): number {
  return 1 - Math.exp((-THROTTLE_FLOW * opening * reference_rpm) / Math.max(speed_rpm, 60));
}

/** Delivery ratio: air per revolution over ρV. */
export function deliveryRatio(spec: EngineSpec, setting: EngineSetting, position: number, speed_rpm: number): number {
  const off = (speed_rpm - spec.peakDelivery_rpm) / spec.peakDelivery_rpm;
  const tuning = Math.max(0.2, 1 - 0.5 * off * off);
  const opening = throatOpening(position, setting.idleOpening);
  return setting.fullDelivery * tuning * throttleShare(opening, speed_rpm, spec.fullThrottleSpeed_rpm);
}

/** Share of the fresh charge that stays; the rest leaves by the open port. */
export function trappingEfficiency(delivery: number): number {
  return 1 / (1 + 0.5 * delivery);
}

/** Burnt work over burnt energy: falls with residual gas at low delivery and with heat loss at low speed. */
export function indicatedEfficiency(spec: EngineSpec, delivery: number, speed_rpm: number): number {
  const residual = 1 - 0.75 * Math.exp(-delivery / 0.2);
  const slow = spec.fullThrottleSpeed_rpm > speed_rpm ? 1 - speed_rpm / spec.fullThrottleSpeed_rpm : 0;
  return spec.indicatedEfficiency * residual * (1 - 0.25 * slow * slow);
}

/** Completeness of burning against λ; best slightly rich. */
export function burnQuality(lambda: number): number {
  const off = lambda - 0.95;
  return Math.max(0, 1 - 0.9 * off * off);
}

/** Chance that a charge lights. */
export function fireChance(lambda: number, delivery: number, speed_rpm: number): number {
  if (!(speed_rpm > 150)) return 0;
  const rich = ramp(lambda, 0.45, 0.6);
  const lean = 1 - ramp(lambda, 1.25, 1.5);
  const dilute = ramp(delivery, 0.02, 0.08);
  return rich * lean * dilute;
}

/** Friction and scavenge pumping as mean effective pressure, bar. */
export function friction_bar(
  spec: EngineSpec,
  speed_rpm: number,
  caseTemperature_degC: number,
  headTemperature_degC: number,
): number {
  const cold = caseTemperature_degC < 60 ? 1 + 0.2 * ((60 - caseTemperature_degC) / 60) : 1;
  // Past 260 °C the piston begins to bind: the way to a seizure.
  const binding = headTemperature_degC > 260 ? 1 + ((headTemperature_degC - 260) / 20) ** 2 : 1;
  // Turned slowly, compression leaks and cools away: work that does not come back.
  const breakaway = 1.5 * Math.exp(-speed_rpm / 450);
  return (spec.frictionStatic_bar + breakaway + (spec.frictionPerKrpm_bar * speed_rpm) / 1000) * cold * binding;
}

/** Torque of a mean effective pressure; a two-stroke works once per revolution: T = p V / 2π. */
export function torqueOfPressure_Nm(spec: EngineSpec, pressure_bar: number): number {
  return (pressure_bar * 0.1 * spec.displacement_cm3) / (2 * Math.PI);
}

export class Engine {
  readonly spec: EngineSpec;
  readonly setting: EngineSetting;
  /** Mean gas torque of the present revolution, N·m. */
  gasTorque_Nm = 0;
  lambda = Number.NaN;
  delivery = 0;
  isFiring = false;
  film_g = 0;
  /** Sums since the thermal model last took them. */
  burnt_J = 0;
  work_J = 0;
  exhaust_g = 0;
  /** Fuel that left the jet since the start. */
  fuelUsed_g = 0;
  readonly #random: RandomStream;

  constructor(spec: EngineSpec, setting: EngineSetting, random: RandomStream) {
    this.spec = spec;
    this.setting = setting;
    this.#random = random;
  }

  /** One revolution is complete: draw, mix and light the next charge. */
  revolution(position: number, speed_rpm: number, air: ChargeAir, fuel: FuelSystem, isIgnitionOn: boolean): void {
    const spec = this.spec;
    const delivery = deliveryRatio(spec, this.setting, position, speed_rpm);
    this.delivery = delivery;
    // Hot walls heat the charge: 4 % less air per 100 K of the case above 60 °C.
    const warm = air.caseTemperature_degC > 60 ? 1 - 0.0004 * (air.caseTemperature_degC - 60) : 1;
    const air_g = delivery * air.density_kgPerm3 * spec.displacement_cm3 * 1e-3 * warm;

    // Start enrichment opens by itself while the inlet tract is cold (a bimetal
    // on the cylinder): the choke of this engine.
    const tract_degC = 0.6 * air.headTemperature_degC + 0.4 * air.caseTemperature_degC;
    const enrichment = 1 + 0.3 * (1 - ramp(tract_degC, 20, 50));
    const jet_g = (air_g / spec.carburettorRatio) * enrichment * fuel.jetShare();
    fuel.take_g(jet_g);
    this.fuelUsed_g += jet_g;
    const vapourShare = 0.6 + 0.4 * ramp(tract_degC, 10, 60);
    const revolution_s = 60 / Math.max(speed_rpm, 60);
    const filmTime_s = 0.6 + 5 * (1 - ramp(tract_degC, 10, 70));
    const fromFilm_g = this.film_g * (1 - Math.exp(-revolution_s / filmTime_s));
    this.film_g += jet_g * (1 - vapourShare) - fromFilm_g;
    const vapour_g = jet_g * vapourShare + fromFilm_g;
    const lambda = vapour_g > 0 ? air_g / (STOICHIOMETRIC * vapour_g) : Number.POSITIVE_INFINITY;
    this.lambda = lambda;
    this.exhaust_g += air_g + vapour_g;

    const lights = isIgnitionOn && this.#random.uniform() < fireChance(lambda, delivery, speed_rpm);
    this.isFiring = lights;
    if (!lights) {
      this.gasTorque_Nm = 0;
      return;
    }
    const burnable_g = Math.min(vapour_g, air_g / STOICHIOMETRIC) * trappingEfficiency(delivery);
    const energy_J = burnable_g * LOWER_HEATING_VALUE_JPerg * burnQuality(lambda);
    // Cycle-to-cycle spread: 1.5 % at full load, several per cent at idle.
    const spread = 1 + (0.015 + 0.12 * Math.exp(-delivery / 0.12)) * this.#random.gauss();
    const work_J = energy_J * indicatedEfficiency(spec, delivery, speed_rpm) * spread;
    this.burnt_J += energy_J;
    this.work_J += work_J;
    this.gasTorque_Nm = work_J / (2 * Math.PI);
  }

  /** Mean-zero torque of compression and expansion at crank angle θ; flattened by the rotor once it runs. */
  rippleTorque_Nm(angle_rad: number, speed_rpm: number): number {
    if (speed_rpm > 1500) return 0;
    return -this.spec.rippleTorque_Nm * Math.sin(angle_rad) * (1 - speed_rpm / 1500);
  }

  /** Hand prime wets the walls. */
  prime(): void {
    this.film_g += 0.035;
  }

  /** Standing, the film dries. */
  dry(dt_s: number): void {
    this.film_g -= (this.film_g * dt_s) / 90;
  }
}

/** 0 below `from`, 1 above `to`, straight between. */
export function ramp(value: number, from: number, to: number): number {
  const share = (value - from) / (to - from);
  return Math.min(1, Math.max(0, share));
}
