/** Boiling point of water against published vapour pressures, read backwards. */
import { describe, expect, test } from 'vitest';
import { boilingPoint_degC } from '../../shared-core/calibration/boiling-point.ts';
import published from './data/vapour-pressure.json' with { type: 'json' };

// 300 K comes from 0.00353658941 MPa; 500 and 600 K lie beyond what a workshop needs and are held all the same.
test.each(published.iapws_if97.rows as [number, number][])('IAPWS R7-97: %f K boils at %f MPa', (T_K, p_MPa) => {
  // The pressures are printed to nine digits.
  expect(boilingPoint_degC(p_MPa * 10_000) + 273.15).toBeCloseTo(T_K, 5);
});

// IAPWS R7-97, table 36, saturation temperature (from memory): 0.1, 1 and 10 MPa.
test.each([
  [1000, 372.755919],
  [10_000, 453.035632],
  [100_000, 584.149488],
])('IAPWS R7-97: %f hPa boils at %f K', (p_hPa, T_K) => {
  expect(boilingPoint_degC(p_hPa) + 273.15).toBeCloseTo(T_K, 6);
});

test.each(published.ashrae_table_3.rows as [number, number][])(
  'ASHRAE 2017 table 3: %f °C at %f Pa',
  (t_degC, p_Pa) => {
    expect(boilingPoint_degC(p_Pa / 100)).toBeCloseTo(t_degC, 2);
  },
);

describe('given the CRC Handbook table', () => {
  test.each(published.crc_handbook.rows as [number, number][])('%f °C, %f kPa', (t_degC, p_kPa) => {
    if (t_degC === 0) return expect(boilingPoint_degC(p_kPa * 10)).toBeNaN();
    // The handbooks differ by up to 6e-4 in pressure, which is 0.02 K at most.
    return expect(Math.abs(boilingPoint_degC(p_kPa * 10) - t_degC)).toBeLessThan(0.025);
  });
});

test('given no pressure that water boils at, then there is no boiling point', () => {
  for (const p of [NaN, -1, 0, 6.1, 3e5]) expect(boilingPoint_degC(p)).toBeNaN();
});
