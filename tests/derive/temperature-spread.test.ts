import { expect, test } from 'vitest';
import { hottest_degC, temperatureSpread_K } from '../../shared-core/derive/temperature-spread.ts';

test.each([
  { heads: [180, 187.5, 176, 181], spread: 11.5, hottest: 187.5 },
  { heads: [180, NaN, 176, NaN], spread: 4, hottest: 180 },
  { heads: [NaN, NaN, -5, -5], spread: 0, hottest: -5 },
  { heads: [180, NaN], spread: NaN, hottest: 180 },
  { heads: [NaN, 180], spread: NaN, hottest: 180 },
  { heads: [NaN, NaN], spread: NaN, hottest: NaN },
  { heads: [180], spread: NaN, hottest: 180 },
  { heads: [], spread: NaN, hottest: NaN },
])(
  'given heads at $heads °C, then the spread is $spread K and the hottest $hottest °C',
  ({ heads, spread, hottest }) => {
    expect(temperatureSpread_K(heads)).toBe(spread);
    expect(hottest_degC(Float64Array.from(heads))).toBe(hottest);
  },
);

test('given a count, then what stands behind it does not matter', () => {
  expect(temperatureSpread_K(Float64Array.of(180, 190, 900), 2)).toBe(10);
  expect(hottest_degC(Float64Array.of(180, 190, 900), 2)).toBe(190);
});
