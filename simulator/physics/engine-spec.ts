/**
 * What an engine is, and the curves that its charge follows: delivery,
 * trapping, timing, burning, friction, pumping. Pure functions of the present
 * state; `engine.ts` draws charges by them, `commissioning.ts` sets an engine
 * by them. Equations and their sources are in PHYSICS.md, part 4.
 */
export interface EngineSpec {
  readonly name: string;
  /** 4: a charge every other turn, modelled as half a charge every turn. */
  readonly strokes: 2 | 4;
  readonly cylinders: number;
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
  /** Build differences, one factor for each cylinder, mean 1: share of the air, and of the fuel. */
  readonly chargeFactors: readonly number[];
  readonly mixtureFactors: readonly number[];
}

/** What the carburettor and idle stop were set to; see `commissioning.ts`. */
export interface EngineSetting {
  readonly fullDelivery: number;
  readonly idleOpening: number;
}

export const LOWER_HEATING_VALUE_JPerg = 43_440;
export const STOICHIOMETRIC = 14.6;
/** Flow constant of the throttle: at full opening and reference speed the throttle costs 2 % of delivery. */
const THROTTLE_FLOW = 3.9;
/** Efficiency lost per square of degrees off the best timing. */
const TIMING_LOSS_PERdeg2 = 0.0006;

/** Volume that one turn charges. */
export function chargeVolume_cm3(spec: EngineSpec): number {
  return spec.displacement_cm3 * (spec.strokes === 4 ? 0.5 : 1);
}

/** Opening 0 to 1 of the throat for an arm position 0 to 1: a butterfly, 1 − cos of its angle. */
export function throatOpening(position: number, idleOpening: number): number {
  return idleOpening + (1 - idleOpening) * (1 - Math.cos((position * Math.PI) / 2));
}

/** Share of full delivery that passes the throttle; small openings pass a fixed flow, whatever the speed. */
export function throttleShare(opening: number, speed_rpm: number, reference_rpm: number): number {
  return 1 - Math.exp((-THROTTLE_FLOW * opening * reference_rpm) / Math.max(speed_rpm, 60));
}

/** Delivery ratio: air per turn over ρV. */
export function deliveryRatio(spec: EngineSpec, setting: EngineSetting, position: number, speed_rpm: number): number {
  const off = (speed_rpm - spec.peakDelivery_rpm) / spec.peakDelivery_rpm;
  const tuning = Math.max(0.2, 1 - 0.5 * off * off);
  const opening = throatOpening(position, setting.idleOpening);
  return setting.fullDelivery * tuning * throttleShare(opening, speed_rpm, spec.fullThrottleSpeed_rpm);
}

/** Share of the way from inlet to case temperature that a charge is warmed before the ports close. */
const CHARGE_HEATING = 0.4;

/**
 * Density of the charge over that at the carburettor: warm walls heat it. Its
 * size is chosen so that full-throttle power falls about with the square root
 * of the air's absolute temperature, as the correction formulas have it.
 */
export function chargeWarmth(inlet_degC: number, case_degC: number): number {
  const inlet_K = inlet_degC + 273.15;
  return inlet_K / (inlet_K + CHARGE_HEATING * Math.max(0, case_degC - inlet_degC));
}

/** Share of the fresh charge that stays; the rest leaves by the open port. With valves nearly all of it stays. */
export function trappingEfficiency(spec: EngineSpec, delivery: number): number {
  return 1 / (1 + (spec.strokes === 4 ? 0.03 : 0.5) * delivery);
}

/** Burnt work over burnt energy: falls with residual gas at low delivery and with heat loss at low speed. */
export function indicatedEfficiency(spec: EngineSpec, delivery: number, speed_rpm: number): number {
  const residual = 1 - 0.75 * Math.exp(-delivery / 0.2);
  const slow = spec.fullThrottleSpeed_rpm > speed_rpm ? 1 - speed_rpm / spec.fullThrottleSpeed_rpm : 0;
  return spec.indicatedEfficiency * residual * (1 - 0.25 * slow * slow);
}

/**
 * Share of the burnable fuel's heat that is released: rich flames leave CO and
 * hydrogen, and the fuel too many cracks and takes heat along as fuel.
 */
export function burnCompleteness(lambda: number): number {
  return lambda < 1 ? Math.max(0, 1 - 0.7 * (1 - lambda)) : 1;
}

/** Work against λ at the best timing: quickest rich; a slow lean burn works less and leaves hotter. */
export function burnQuality(lambda: number): number {
  const off = lambda - 0.82;
  return Math.max(0, 1 - 3.5 * off * off);
}

/** Advance of the ignition module, degrees before top dead centre. */
export function advance_deg(spec: EngineSpec, speed_rpm: number): number {
  const share = speed_rpm / spec.fullThrottleSpeed_rpm;
  return 6 + 24 * ramp(share, 0.2, 0.72);
}

/** Advance that would give most work at this speed. */
export function bestAdvance_deg(spec: EngineSpec, speed_rpm: number): number {
  const share = speed_rpm / spec.fullThrottleSpeed_rpm;
  return 12 + 18 * ramp(share, 0.16, 0.8);
}

/** Work at an advance over work at the best: a parabola. */
export function timingQuality(spec: EngineSpec, speed_rpm: number, retard_deg: number): number {
  const off_deg = advance_deg(spec, speed_rpm) - retard_deg - bestAdvance_deg(spec, speed_rpm);
  return Math.max(0, 1 - TIMING_LOSS_PERdeg2 * off_deg * off_deg);
}

/** Chance that a charge lights. */
export function fireChance(lambda: number, delivery: number, speed_rpm: number): number {
  if (!(speed_rpm > 150)) return 0;
  const rich = ramp(lambda, 0.45, 0.6);
  const lean = 1 - ramp(lambda, 1.25, 1.5);
  const dilute = ramp(delivery, 0.02, 0.08);
  return rich * lean * dilute;
}

/** Rubbing friction as mean effective pressure, bar. */
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

/** Pumping: pushing the charge through crankcase and ports, and drawing against a closed throttle; bar. */
export function pumping_bar(spec: EngineSpec, setting: EngineSetting, delivery: number, speed_rpm: number): number {
  const speed = speed_rpm / spec.fullThrottleSpeed_rpm;
  const filling = Math.min(1, delivery / setting.fullDelivery);
  return 0.12 * speed * speed * filling + 0.06 * (1 - filling) * Math.min(1, 3 * speed);
}

/** Torque of a mean effective pressure: T = p V / 2π, V charged per turn. */
export function torqueOfPressure_Nm(spec: EngineSpec, pressure_bar: number): number {
  return (pressure_bar * 0.1 * chargeVolume_cm3(spec)) / (2 * Math.PI);
}

/** 0 below `from`, 1 above `to`, straight between. */
export function ramp(value: number, from: number, to: number): number {
  const share = (value - from) / (to - from);
  return Math.min(1, Math.max(0, share));
}
