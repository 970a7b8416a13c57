import { describe, expect, test } from 'vitest';
import {
  disagreement_percent,
  fuelMassFlow_kgPerh,
  mixDensity_kgPerm3,
  mixDensity15_kgPerm3,
  oilFor_mL,
} from '../../shared-core/derive/fuel.ts';

const mix = { density15_kgPerm3: 745, oilDensity15_kgPerm3: 870, mixRatio: 50 };

describe('given a petrol/oil mixture', () => {
  test('when there is no oil, then it is the petrol', () => {
    expect(mixDensity15_kgPerm3({ ...mix, mixRatio: 0 })).toBe(745);
    expect(oilFor_mL(5, 0)).toBe(0);
  });

  test('when it is warmer than 15 °C, then it is lighter; at 15 °C it is as mixed', () => {
    expect(mixDensity_kgPerm3(mix, 15)).toBe(mixDensity15_kgPerm3(mix));
    expect(mixDensity_kgPerm3(mix, 30)).toBeLessThan(mixDensity_kgPerm3(mix, 15));
  });

  test('when the temperature is missing, then so is the density', () => {
    expect(mixDensity_kgPerm3(mix, NaN)).toBeNaN();
  });

  test('then taking the oil to expand like petrol costs less than 0.07 % at 25:1 and 45 °C', () => {
    const rich = { ...mix, mixRatio: 25 };
    // Oil of 870 kg/m³: 0.6278/870 1/K (table 54D, from memory); petrol 1.21e-3 1/K.
    const oil = 870 * Math.exp(-(0.6278 / 870) * 30);
    const petrol = mixDensity_kgPerm3({ ...mix, mixRatio: 0 }, 45);
    // By mass and volume of the parts after each has expanded in its own way.
    const oilVolume = 870 / oil;
    const petrolVolume = (25 * 745) / petrol;
    const exact = (25 * 745 + 870) / (petrolVolume + oilVolume);
    expect(Math.abs(mixDensity_kgPerm3(rich, 45) / exact - 1)).toBeLessThan(7e-4);
  });
});

test('given 4 L/h of 750 kg/m³, then it is 3 kg/h', () => {
  expect(fuelMassFlow_kgPerh(4, 750)).toBe(3);
  expect(fuelMassFlow_kgPerh(NaN, 750)).toBeNaN();
});

test.each([
  { first: 3, second: 3, percent: 0 },
  { first: 3.15, second: 2.85, percent: 10 },
  { first: 2.85, second: 3.15, percent: -10 },
  { first: 3, second: 0, percent: 200 },
  { first: 0.2, second: 0.2, percent: NaN },
  { first: NaN, second: 3, percent: NaN },
  { first: 3, second: NaN, percent: NaN },
  { first: 0, second: 0, percent: NaN },
])('given rates $first and $second, then they disagree by $percent %', ({ first, second, percent }) => {
  const is = disagreement_percent(first, second, 0.2);
  if (Number.isNaN(percent)) expect(is).toBeNaN();
  else expect(is).toBeCloseTo(percent, 9);
});
