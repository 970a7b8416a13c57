/**
 * Factors that carry the full-throttle power of a naturally aspirated
 * spark-ignition engine from the air of the day to standard air.
 *
 * The texts of the standards were not at hand: formulas and reference
 * conditions are those that several secondary sources agree on (named in
 * tests/published/data/power-correction.json). Where the standard's reference
 * temperature is printed as 298 K for 25 °C, we add 273 to the Celsius
 * reading, as the J1349 form prints it, so that reference air gives exactly 1.
 */
import { assertNever } from '../base/result.ts';
import { INCH_OF_MERCURY_Pa } from '../units/factors.ts';
import { vapourPressure_Pa } from './moist-air.ts';

export const powerStandards = ['iso-1585', 'sae-j1349', 'din-70020', 'sae-j607'] as const;
export type PowerStandard = (typeof powerStandards)[number];

/** Air at the engine's intake. */
export interface IntakeAir {
  readonly temperature_degC: number;
  /** Total pressure. */
  readonly pressure_hPa: number;
  /** Relative humidity at that temperature. */
  readonly humidity_percent: number;
}

export interface PowerCorrection {
  /** Corrected power = factor · measured power. NaN where an input is NaN or there is no dry air. */
  readonly factor: number;
  /**
   * `outside`: the standard does not allow a correction this large, and the
   * corrected power is not to be called by its name. `not-stated`: none of our
   * sources gives a limit for this standard.
   */
  readonly range: 'within' | 'outside' | 'not-stated';
}

/** Correction for the air of the day. Names and reference air are in `powerStandardNotes`. */
export function powerCorrection(standard: PowerStandard, air: IntakeAir): PowerCorrection {
  const dry_kPa =
    (air.pressure_hPa * 100 - vapourPressure_Pa(air.temperature_degC, air.pressure_hPa, air.humidity_percent)) / 1000;
  switch (standard) {
    case 'iso-1585': {
      const factor = iso1585Factor(dry_kPa, air.temperature_degC + 273);
      return { factor, range: factor >= 0.93 && factor <= 1.07 ? 'within' : 'outside' };
    }
    case 'sae-j1349':
      return { factor: saeJ1349Factor(dry_kPa, air.temperature_degC + 273), range: 'not-stated' };
    case 'din-70020':
      return { factor: din70020Factor(air.pressure_hPa / 10, air.temperature_degC + 273.15), range: 'not-stated' };
    case 'sae-j607':
      return { factor: saeJ607Factor(dry_kPa, air.temperature_degC + 273.15), range: 'not-stated' };
    default:
      return assertNever(standard);
  }
}

/** What a report says beside a corrected power. */
export const powerStandardNotes: Readonly<
  Record<PowerStandard, { readonly name: string; readonly reference: string }>
> = {
  'iso-1585': { name: 'ISO 1585', reference: '25 °C, 99 kPa dry; factor 0.93 to 1.07' },
  'sae-j1349': { name: 'SAE J1349 (1990 form)', reference: '25 °C, 99 kPa dry; 85 % mechanical efficiency assumed' },
  'din-70020': { name: 'DIN 70020', reference: '20 °C, 101.3 kPa total' },
  'sae-j607': { name: 'SAE J607 (withdrawn)', reference: '60 °F, 29.92 inHg dry' },
};

/** ISO 1585 (and EEC 80/1269, UN R85), spark ignition: (99/p_d)^1.2 (T/298)^0.6. */
export function iso1585Factor(dryPressure_kPa: number, intake_K: number): number {
  if (!(dryPressure_kPa > 0)) return NaN;
  return (99 / dryPressure_kPa) ** 1.2 * (intake_K / 298) ** 0.6;
}

/** SAE J1349, 1990 form: 1.18 (99/p_d) √(T/298) − 0.18. */
export function saeJ1349Factor(dryPressure_kPa: number, intake_K: number): number {
  if (!(dryPressure_kPa > 0)) return NaN;
  return 1.18 * (99 / dryPressure_kPa) * Math.sqrt(intake_K / 298) - 0.18;
}

/**
 * DIN 70020: (101.3/p) √(T/293.15), on total pressure. Often printed with
 * 293 K, which gives 0.026 % more; we take the 20 °C that it stands for.
 */
export function din70020Factor(totalPressure_kPa: number, intake_K: number): number {
  if (!(totalPressure_kPa > 0)) return NaN;
  return (101.3 / totalPressure_kPa) * Math.sqrt(intake_K / 293.15);
}

/** SAE J607 ("STD"): (29.92/p_d[inHg]) √((t_F + 459.7)/519.7). Withdrawn; here for old test sheets. */
export function saeJ607Factor(dryPressure_kPa: number, intake_K: number): number {
  if (!(dryPressure_kPa > 0)) return NaN;
  const dry_inHg = (dryPressure_kPa * 1000) / INCH_OF_MERCURY_Pa;
  const t_degF = (intake_K - 273.15) * 1.8 + 32;
  return (29.92 / dry_inHg) * Math.sqrt((t_degF + 459.7) / 519.7);
}
