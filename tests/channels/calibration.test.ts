import { describe, expect, test } from 'vitest';
import {
  calibrated,
  identityCalibration,
  isIdentity,
  isMonotone,
  withTareAt,
} from '../../shared-core/channels/calibration.ts';

describe('given a calibration', () => {
  const terms = { a0: 2, a1: 3, a2: 0.5, tare: 1 };

  test.each([
    { value: 0, is: 1 },
    { value: 2, is: 9 },
    { value: -2, is: -3 },
    { value: NaN, is: NaN },
  ])('when $value comes, then $is', ({ value, is }) => {
    expect(calibrated(terms, value)).toBe(is);
  });

  test('when a tare is taken at a reading, then that reading becomes exactly 0', () => {
    for (const reading of [0, 0.1, -3.7, 1e6]) {
      expect(calibrated(withTareAt(terms, reading), reading)).toBe(0);
    }
    expect(withTareAt(identityCalibration, 0.1)).toEqual({ ...identityCalibration, tare: 0.1 });
  });

  test('when a failed sensor is to be tared, then it throws', () => {
    expect(() => withTareAt(terms, NaN)).toThrow(RangeError);
  });
});

test('given the identity, then every value comes back bit for bit', () => {
  expect(isIdentity(identityCalibration)).toBe(true);
  for (const value of [0.1 + 0.2, -0, 1e300, NaN, Infinity]) expect(calibrated(identityCalibration, value)).toBe(value);
  expect(isIdentity({ ...identityCalibration, tare: 0.1 })).toBe(false);
});

test('given a parabola with its top at 100, then it is monotone only beside it', () => {
  const terms = { a0: 0, a1: 200, a2: -1, tare: 0 };
  expect(isMonotone(terms, 0, 99)).toBe(true);
  expect(isMonotone(terms, 0, 101)).toBe(false);
  expect(isMonotone(terms, 101, 200)).toBe(true);
  expect(isMonotone({ ...terms, a1: 0, a2: 0 }, 0, 1)).toBe(false);
});
