/**
 * Correction factors. No standard's own worked example was at hand: published
 * are reference conditions, two worked J607 cases, and formulas in secondary
 * sources; the table of vectors is a second coding, and says so.
 */
import { describe, expect, test } from 'vitest';
import {
  din70020Factor,
  iso1585Factor,
  powerCorrection,
  saeJ607Factor,
  saeJ1349Factor,
} from '../../shared-core/derive/power-correction.ts';
import { INCH_OF_MERCURY_Pa } from '../../shared-core/units/factors.ts';
import published from './data/power-correction.json' with { type: 'json' };

describe('given the reference air of each standard, then the factor is 1', () => {
  test('ISO 1585 and SAE J1349: 298 K, 99 kPa dry', () => {
    const row = published.identity_checks.rows.find((each) => each.standard === 'ISO 1585')!;
    expect(iso1585Factor(row.pd!, row.T)).toBe(1);
    expect(saeJ1349Factor(row.pd!, row.T)).toBeCloseTo(1, 14);
  });

  test('DIN 70020: 293.15 K, 101.3 kPa total', () => {
    const row = published.identity_checks.rows.find((each) => each.standard === 'DIN 70020')!;
    expect(din70020Factor(row.p!, row.T)).toBe(1);
  });

  test('SAE J607: 60 °F, 29.92 inHg dry', () => {
    const row = published.identity_checks.rows.find((each) => each.standard === 'J607')!;
    // 29.92 inHg is 101.321 kPa and 60 °F is 288.706 K: 1 to the digits printed.
    expect(saeJ607Factor(row.p!, row.T)).toBeCloseTo(1, 4);
  });

  test('by way of the Celsius reading: 25 °C dry at 990 hPa', () => {
    const air = { temperature_degC: 25, pressure_hPa: 990, humidity_percent: 0 };
    expect(powerCorrection('iso-1585', air)).toEqual({ factor: 1, range: 'within' });
    expect(powerCorrection('sae-j1349', air).factor).toBeCloseTo(1, 14);
    expect(powerCorrection('din-70020', { ...air, temperature_degC: 20, pressure_hPa: 1013 }).factor).toBeCloseTo(
      1,
      14,
    );
  });
});

// The only published worked examples: they round the vapour pressure, hence 1e-3.
test.each(published.worked_published)(
  'published J607 case: $t_F °F, $p_inHg inHg, humidity $RH gives $factor',
  (row) => {
    const air = {
      temperature_degC: (row.t_F - 32) / 1.8,
      pressure_hPa: (row.p_inHg * INCH_OF_MERCURY_Pa) / 100,
      humidity_percent: row.RH * 100,
    };
    const { factor } = powerCorrection('sae-j607', air);
    expect(Math.abs(factor - row.factor)).toBeLessThan(1e-3);
    expect(Math.abs(factor * row.observed_hp - row.corrected_hp)).toBeLessThan(1);
  },
);

// J1349 is the tangent at 1 of 0.85 D/(1 − 0.15 D), 15 % friction; 0.85/0.7225 = 1.17647, printed 1.18.
test('given 1 % denser air, then J1349 moves by 1.18 %', () => {
  expect((saeJ1349Factor(99 / 1.01, 298) - 1) / 0.01).toBeCloseTo(1.18, 10);
});

describe('given the range that ISO 1585 allows, 0.93 to 1.07', () => {
  // Dry air at 25 °C: (99/p)^1.2 is 1.07 at 93.572 kPa and 0.93 at 105.17 kPa.
  test.each([
    { pressure_hPa: 935.8, range: 'within' },
    { pressure_hPa: 935.6, range: 'outside' },
    { pressure_hPa: 1051.6, range: 'within' },
    { pressure_hPa: 1051.8, range: 'outside' },
    { pressure_hPa: NaN, range: 'outside' },
  ])('at $pressure_hPa hPa dry and 25 °C it is $range', ({ pressure_hPa, range }) => {
    const air = { temperature_degC: 25, pressure_hPa, humidity_percent: 0 };
    expect(powerCorrection('iso-1585', air).range).toBe(range);
    expect(powerCorrection('sae-j1349', air).range).toBe('not-stated');
  });
});

test('given no dry air at all, then there is no factor', () => {
  for (const factor of [iso1585Factor, saeJ1349Factor, din70020Factor, saeJ607Factor]) {
    expect(factor(0, 298)).toBeNaN();
    expect(factor(-1, 298)).toBeNaN();
    expect(factor(NaN, 298)).toBeNaN();
    expect(factor(99, NaN)).toBeNaN();
  }
});

// Our own evaluation in other code, no publication: shows only that two codings agree.
test.each(published.formula_evaluated.rows as [number, number, number, number, number, number][])(
  'second coding: %f K, %f kPa dry, %f kPa total',
  (T_K, dry_kPa, total_kPa, j1349, iso, din) => {
    expect(saeJ1349Factor(dry_kPa, T_K)).toBeCloseTo(j1349, 6);
    expect(iso1585Factor(dry_kPa, T_K)).toBeCloseTo(iso, 6);
    expect(din70020Factor(total_kPa, T_K)).toBeCloseTo(din, 6);
  },
);
