/**
 * Unit factors against NIST SP 811 (2008) appendix B, as printed to seven
 * digits, and P = 2πnT in three systems of units.
 */
import { describe, expect, test } from 'vitest';
import { brakePower_kW } from '../../shared-core/derive/power.ts';
import { fromDisplay, toDisplay } from '../../shared-core/units/display-unit.ts';
import * as factor from '../../shared-core/units/factors.ts';
import published from './data/units.json' with { type: 'json' };

const ours: Readonly<Record<string, number>> = {
  'standard gravity': factor.STANDARD_GRAVITY_mPers2,
  'pound-force': factor.POUND_FORCE_N,
  'kilogram-force': factor.KILOGRAM_FORCE_N,
  'horsepower (550 ft lbf/s)': factor.HORSEPOWER_W,
  'horsepower (metric)': factor.METRIC_HORSEPOWER_W,
  'pound-force foot': factor.POUND_FORCE_FOOT_Nm,
  'pound-force inch': factor.POUND_FORCE_INCH_Nm,
  'kilogram-force metre': factor.KILOGRAM_FORCE_METRE_Nm,
  'pound (avoirdupois)': factor.POUND_kg,
  psi: factor.PSI_Pa,
  'inch of mercury, conventional': factor.INCH_OF_MERCURY_Pa,
  'gallon (U.S.)': factor.US_GALLON_m3,
  'gallon (Imperial)': factor.IMPERIAL_GALLON_m3,
  'fluid ounce (U.S.)': factor.US_FLUID_OUNCE_m3,
  'pound per hour': factor.POUND_kg / 3600,
  'pound per horsepower hour': factor.POUND_PER_HORSEPOWER_HOUR_gPerkWh / 1000 / 3.6e6,
  'pound per gallon (U.S.)': factor.POUND_PER_US_GALLON_kgPerm3,
  'revolution per minute': factor.REVOLUTION_PER_MINUTE_radPers,
};

describe('given the factors printed in NIST SP 811, appendix B', () => {
  test.each(Object.keys(ours))('then the factor of one %s agrees to the last printed digit', (unit) => {
    const row = published.rows.find((each) => each.unit === unit);
    expect(row, 'in the published table').toBeDefined();
    // Seven printed digits: within half of the last. (Metric horsepower, 735.49875, lies on the half.)
    const lastDigit = 10 ** (Math.floor(Math.log10(row!.si_factor)) - 6);
    expect(Math.abs(ours[unit]! - row!.si_factor) / lastDigit).toBeLessThanOrEqual(0.5 + 1e-6);
  });

  // pint's exact definitions, to all their digits.
  test.each([
    { what: '1 lbf', value: factor.POUND_FORCE_N },
    { what: '1 metric horsepower', value: factor.METRIC_HORSEPOWER_W },
    { what: '1 mechanical horsepower', value: factor.HORSEPOWER_W },
    { what: '1 lbf ft', value: factor.POUND_FORCE_FOOT_Nm },
  ])('then $what is exact to 1 part in 10¹⁵', ({ what, value }) => {
    const row = published.exact_values.rows.find((each) => each.what === what)!;
    expect(value / Number.parseFloat(row.value)).toBeCloseTo(1, 14);
  });
});

describe('given P = 2πnT', () => {
  // hp = lbf·ft · rpm / 5252, the rounded constant as printed (source named in the data file).
  test('when torque is in lbf·ft, then power in hp is torque · rpm / 5252 to the digits of the constant', () => {
    const power_kW = brakePower_kW(fromDisplay(10, 'N·m', 'lbf·ft'), 6000);
    const constant = (10 * 6000) / toDisplay(power_kW, 'kW', 'hp');
    expect(Math.round(constant)).toBe(published.power_torque_speed.hp_constant_rounded);
  });

  // 9549 is common practice (the data file marks it as from memory); exactly it is 30000/π.
  test('when torque is in N·m, then power in kW is torque · rpm / 9549 to the digits of the constant', () => {
    expect(Math.round((10 * 6000) / brakePower_kW(10, 6000))).toBe(published.power_torque_speed.kW_constant_rounded);
  });

  test('when one radian per second turns against 1 N·m, then it is one watt', () => {
    // SP 811: 1 rpm = 0.1047198 rad/s, seven digits.
    expect(brakePower_kW(1, 1 / 0.1047198) * 1000).toBeCloseTo(1, 6);
  });
});
