/**
 * Units as a bench sends them (UCUM codes, PROTOCOL.md part 7), on their way
 * into the core unit of the quantity.
 */
import { KILOGRAM_FORCE_N, POUND_FORCE_N, US_GALLON_m3 } from './factors.ts';

/** core = bench · factor + offset. */
export interface UnitStep {
  readonly factor: number;
  readonly offset: number;
}

const same: UnitStep = { factor: 1, offset: 0 };
function times(factor: number): UnitStep {
  return { factor, offset: 0 };
}

/** By core unit, then by UCUM code. */
const steps: Readonly<Record<string, Readonly<Record<string, UnitStep>>>> = {
  rpm: { '/min': same, Hz: times(60) },
  N: { N: same, kgf: times(KILOGRAM_FORCE_N), '[lbf_av]': times(POUND_FORCE_N) },
  N·m: { 'N.m': same },
  '°C': {
    Cel: same,
    K: { factor: 1, offset: -273.15 },
    '[degF]': { factor: 1 / 1.8, offset: -32 / 1.8 },
  },
  'L/h': { 'L/h': same, 'mL/min': times(0.06), '[gal_us]/h': times(US_GALLON_m3 * 1000) },
  mL: { mL: same, L: times(1000) },
  L: { L: same, mL: times(0.001) },
  '%': { '%': same },
  µs: { us: same, ms: times(1000) },
  V: { V: same, mV: times(0.001) },
  A: { A: same, mA: times(0.001) },
  hPa: { hPa: same, Pa: times(0.01), kPa: times(10), bar: times(1000) },
  bar: { bar: same, Pa: times(1e-5), hPa: times(0.001), kPa: times(0.01) },
};

/**
 * The step from a bench's unit to the core unit; undefined when that pair is
 * not known, and then the channel is shown in its own unit and takes part in
 * no derived value (PROTOCOL.md, part 7).
 */
export function benchUnitStep(ucum: string, coreUnit: string): UnitStep | undefined {
  const byCode = steps[coreUnit];
  return byCode && Object.hasOwn(byCode, ucum) ? byCode[ucum] : undefined;
}
