/**
 * Propeller numbers: coefficients, figure of merit, tip speed.
 *
 * Definitions as in the UIUC Propeller Database: n in rev/s,
 * CT = T/(ρ n² D⁴), CP = P/(ρ n³ D⁵), CQ = CP/2π, J = V/(n D), η = J CT/CP.
 */

/**
 * Below this speed the coefficients divide noise by nearly nothing, so none
 * are given. Own choice; callers may ask for another.
 */
export const LEAST_SPEED_FOR_COEFFICIENTS_rpm = 300;

/**
 * Thrust coefficient CT = T/(ρ n² D⁴).
 * @returns 1; NaN at or below `least_rpm`, or without air and diameter above 0
 */
export function thrustCoefficient(
  thrust_N: number,
  airDensity_kgPerm3: number,
  speed_rpm: number,
  diameter_m: number,
  least_rpm: number = LEAST_SPEED_FOR_COEFFICIENTS_rpm,
): number {
  if (!(speed_rpm > least_rpm && airDensity_kgPerm3 > 0 && diameter_m > 0)) return NaN;
  const n = speed_rpm / 60;
  return thrust_N / (airDensity_kgPerm3 * n * n * diameter_m ** 4);
}

/** Power coefficient CP = P/(ρ n³ D⁵); NaN as for `thrustCoefficient`. */
export function powerCoefficient(
  shaftPower_kW: number,
  airDensity_kgPerm3: number,
  speed_rpm: number,
  diameter_m: number,
  least_rpm: number = LEAST_SPEED_FOR_COEFFICIENTS_rpm,
): number {
  if (!(speed_rpm > least_rpm && airDensity_kgPerm3 > 0 && diameter_m > 0)) return NaN;
  const n = speed_rpm / 60;
  return (shaftPower_kW * 1000) / (airDensity_kgPerm3 * n ** 3 * diameter_m ** 5);
}

/** Torque coefficient CQ = CP/2π. */
export function torqueCoefficient(powerCoefficient: number): number {
  return powerCoefficient / (2 * Math.PI);
}

/** Thrust that a propeller of this CT gives, N. */
export function propellerThrust_N(
  thrustCoefficient: number,
  airDensity_kgPerm3: number,
  speed_rpm: number,
  diameter_m: number,
): number {
  const n = speed_rpm / 60;
  return thrustCoefficient * airDensity_kgPerm3 * n * n * diameter_m ** 4;
}

/** Shaft power that a propeller of this CP takes, kW. */
export function propellerPower_kW(
  powerCoefficient: number,
  airDensity_kgPerm3: number,
  speed_rpm: number,
  diameter_m: number,
): number {
  const n = speed_rpm / 60;
  return (powerCoefficient * airDensity_kgPerm3 * n ** 3 * diameter_m ** 5) / 1000;
}

/** Advance ratio J = V/(n D); on a stand V is the wind along the axis. NaN at rest. */
export function advanceRatio(airspeed_mPers: number, speed_rpm: number, diameter_m: number): number {
  return speed_rpm > 0 && diameter_m > 0 ? airspeed_mPers / ((speed_rpm / 60) * diameter_m) : NaN;
}

/** Propulsive efficiency η = J CT/CP; NaN unless CP is above 0. */
export function propulsiveEfficiency(J: number, thrustCoefficient: number, powerCoefficient: number): number {
  return powerCoefficient > 0 ? (J * thrustCoefficient) / powerCoefficient : NaN;
}

/**
 * Static figure of merit: the power that an ideal actuator disc needs for this
 * thrust, T √(T/(2ρA)), over the power taken. In coefficients √(2/π) CT^1.5/CP.
 * @returns 1, below 1 for every real propeller; NaN for CT below 0 or CP not above 0
 * Source: momentum theory of the actuator disc, A = πD²/4.
 */
export function staticFigureOfMerit(thrustCoefficient: number, powerCoefficient: number): number {
  if (!(thrustCoefficient >= 0 && powerCoefficient > 0)) return NaN;
  return (Math.sqrt(2 / Math.PI) * thrustCoefficient ** 1.5) / powerCoefficient;
}

/** Speed of the blade tips with the stand at rest, π D n, m/s. */
export function tipSpeed_mPers(speed_rpm: number, diameter_m: number): number {
  return (Math.PI * diameter_m * speed_rpm) / 60;
}
