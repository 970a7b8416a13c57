import { expect, test } from 'vitest';
import { formatValue, formatWithUnit, NO_VALUE } from '../../shared-core/units/format-value.ts';

test.each([
  { value: 0, decimals: 0, text: '0' },
  { value: 6123.4, decimals: 0, text: '6\u2009123' },
  { value: 999.95, decimals: 1, text: '1\u2009000.0' },
  { value: 999.94, decimals: 1, text: '999.9' },
  { value: 1234567.5, decimals: 2, text: '1\u2009234\u2009567.50' },
  { value: 123, decimals: 3, text: '123.000' },
  { value: -0.45, decimals: 2, text: '\u22120.45' },
  { value: -12345, decimals: 0, text: '\u221212\u2009345' },
  // What rounds to zero has no sign.
  { value: -0.004, decimals: 2, text: '0.00' },
  { value: -0, decimals: 1, text: '0.0' },
  { value: -0.005001, decimals: 2, text: '\u22120.01' },
  { value: NaN, decimals: 1, text: NO_VALUE },
  { value: Infinity, decimals: 1, text: NO_VALUE },
  { value: -Infinity, decimals: 1, text: NO_VALUE },
])('given $value with $decimals decimals, then it reads "$text"', ({ value, decimals, text }) => {
  expect(formatValue(value, decimals)).toBe(text);
});

test('given decimals out of range, then it throws, NaN or not', () => {
  expect(() => formatValue(1, -1)).toThrow(RangeError);
  expect(() => formatValue(NaN, -1)).toThrow(RangeError);
  expect(() => formatValue(1, 21)).toThrow(RangeError);
});

test('given a unit, then it stands after a thin space; the unit of a pure number is left out', () => {
  expect(formatWithUnit(187.44, 1, '°C')).toBe('187.4\u2009°C');
  expect(formatWithUnit(0.0972, 4, '1')).toBe('0.0972');
  expect(formatWithUnit(NaN, 1, 'N')).toBe('–\u2009N');
});
