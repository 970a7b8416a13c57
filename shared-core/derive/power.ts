/**
 * What the engine gives: brake power, mean effective pressure, and what it
 * burns for it. Correction to standard conditions is in `power-correction.ts`.
 */
import { REVOLUTION_PER_MINUTE_radPers } from '../units/factors.ts';

/**
 * Brake power P = 2π n T.
 * @param torque_Nm positive for the reaction of a driving engine
 * @returns kW; negative when the engine is motored
 * Source: the definition of work on a shaft; 2π/60 rad/s per rpm, NIST SP 811
 * (2008) B.8.
 */
export function brakePower_kW(torque_Nm: number, engineSpeed_rpm: number): number {
  return (torque_Nm * engineSpeed_rpm * REVOLUTION_PER_MINUTE_radPers) / 1000;
}

/**
 * Brake mean effective pressure: the work of one cycle over the displacement.
 * A two-stroke has one cycle in each revolution, a four-stroke one in two.
 * @returns bar; NaN unless speed and displacement are above 0
 * Source: mep = P n_R / (V_d N); Heywood, Internal Combustion Engine
 * Fundamentals (1988), ch. 2 (from memory).
 */
export function bmep_bar(
  brakePower_kW: number,
  engineSpeed_rpm: number,
  displacement_cm3: number,
  strokes: 2 | 4,
): number {
  if (!(engineSpeed_rpm > 0 && displacement_cm3 > 0)) return NaN;
  const cyclesPerSecond = engineSpeed_rpm / 60 / (strokes / 2);
  const pressure_Pa = (brakePower_kW * 1000) / (displacement_cm3 * 1e-6 * cyclesPerSecond);
  return pressure_Pa / 1e5;
}

/** `bmep_bar` of a two-stroke: P / (V n). */
export function bmepTwoStroke_bar(brakePower_kW: number, engineSpeed_rpm: number, displacement_cm3: number): number {
  return bmep_bar(brakePower_kW, engineSpeed_rpm, displacement_cm3, 2);
}

/** Below this brake power no BSFC is given: load-cell noise at idle would make it meaningless. Own choice. */
export const LEAST_POWER_FOR_BSFC_kW = 0.1;

/**
 * Brake specific fuel consumption.
 * @param least_kW power at or below which there is no BSFC (motoring, cranking, noise)
 * @returns g/(kW·h); NaN at or below `least_kW` and where an input is NaN
 * Source: sfc = fuel mass flow / power; Heywood (1988), ch. 2 (from memory).
 */
export function bsfc_gPerkWh(
  fuelMassFlow_kgPerh: number,
  brakePower_kW: number,
  least_kW: number = LEAST_POWER_FOR_BSFC_kW,
): number {
  return brakePower_kW > least_kW ? (1000 * fuelMassFlow_kgPerh) / brakePower_kW : NaN;
}

/**
 * Fuel conversion efficiency, from BSFC: 3600 / (bsfc · lower heating value).
 * @returns fraction; NaN unless both are above 0
 */
export function fuelConversionEfficiency(bsfc_gPerkWh: number, lowerHeatingValue_MJPerkg: number): number {
  return bsfc_gPerkWh > 0 && lowerHeatingValue_MJPerkg > 0 ? 3600 / (bsfc_gPerkWh * lowerHeatingValue_MJPerkg) : NaN;
}
