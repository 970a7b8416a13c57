import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { quality, qualityOfRaw, RAW_MAX } from '../../../shared-core/channels/quality.ts';
import { isNumber, numberOf, scaledInteger } from '../../../shared-core/line/profile/number-field.ts';
import { decimalText } from './profile-support.ts';

const plain = { scale: 1, offset: 0, decimals: 2 };

describe('given text and two decimals', () => {
  test.each([
    ['312.55', 31_255],
    ['-0.45', -45],
    ['+7', 700],
    ['.5', 50],
    ['5.', 500],
    ['0', 0],
    ['-0.00', 0],
    ['1.005', 101],
    ['-1.005', -101],
    ['1.00499', 100],
    ['0.07', 7],
    ['1e3', 100_000],
    ['1.5E-1', 15],
    ['007.10', 710],
    ['21474830', RAW_MAX],
  ])('"%s" is %i', (text, raw) => {
    expect(scaledInteger(text, '.', plain)).toBe(raw);
  });
  test.each(['', '.', '-', '1,5', '1.2.3', '1 2', '0x10', 'NaN', 'Infinity', '1e', '--1', '1e999'])(
    '"%s" is no number',
    (text) => {
      expect(isNumber(text, '.')).toBe(false);
      expect(scaledInteger(text, '.', plain)).toBeNaN();
    },
  );
  test('what does not fit 32 bits is over or under, not a number', () => {
    expect(qualityOfRaw(scaledInteger('21474830.01', '.', plain))).toBe(quality.over);
    expect(qualityOfRaw(scaledInteger('-99999999999', '.', plain))).toBe(quality.under);
  });
  test('a decimal comma is one only where it is agreed', () => {
    expect(scaledInteger('1,5', ',', plain)).toBe(150);
    expect(scaledInteger('1.5', ',', plain)).toBeNaN();
    expect(numberOf('2,5', ',')).toBe(2.5);
  });
});

test('given any decimal, then its own digits come back', () => {
  fc.assert(
    fc.property(fc.integer({ min: -RAW_MAX, max: RAW_MAX }), fc.integer({ min: 0, max: 6 }), (raw, decimals) => {
      const text = decimalText(raw, decimals);
      return scaledInteger(text, '.', { ...plain, decimals }) === raw;
    }),
    { seed: 20261125, numRuns: 2000 },
  );
});

test.each([
  ['2.675', 1.0000000001, 0, 2, 268],
  ['0.1', 3, 0, 1, 3],
  ['-0.5', 1, 0.25, 0, -0],
  ['100', 0.145, 0, 1, 145],
  ['-100', 0.145, 0, 1, -145],
])('"%s" × %f + %f with %i decimals is %i', (text, scale, offset, decimals, raw) => {
  expect(scaledInteger(text, '.', { scale, offset, decimals }) + 0).toBe(raw + 0);
});
