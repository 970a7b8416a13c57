/**
 * NIST StRD univariate. The digits asked for are those reached, rounded down.
 * NumAcc2 and NumAcc3 hold decimals that no double can: 1000000.1 differs from
 * its nearest double in the 17th digit, which leaves the standard deviation of
 * 0.1 about 9 digits, however it is computed.
 */
import { describe, expect, test } from 'vitest';
import { univariate } from '../../shared-core/fit/univariate.ts';
import { digitsOf } from '../support/digits.ts';
import published from './data/nist-univariate.json' with { type: 'json' };

interface Published {
  readonly dataset: string;
  readonly n: number;
  readonly certified_mean: number;
  readonly certified_standard_deviation: number;
  readonly certified_lag1_autocorrelation: number;
  readonly values?: readonly number[];
  readonly rule?: { readonly first: string; readonly then_alternate: readonly string[]; readonly pairs: number };
}

function valuesOf({ values, rule }: Published): readonly number[] {
  if (rule === undefined) return values!;
  return [Number(rule.first), ...Array.from({ length: rule.pairs }, () => rule.then_alternate.map(Number)).flat()];
}

describe.each([
  { name: 'Lew', mean: 15, sd: 14, lag1: 14 },
  { name: 'Lottery', mean: 14, sd: 14, lag1: 14 },
  { name: 'Mavro', mean: 15, sd: 12, lag1: 12 },
  { name: 'NumAcc1', mean: 15, sd: 15, lag1: 15 },
  { name: 'NumAcc2', mean: 15, sd: 14, lag1: 14 },
  { name: 'NumAcc3', mean: 15, sd: 9, lag1: 10 },
])('given the NIST data set $name', ({ name, mean, sd, lag1 }) => {
  const data = (published.datasets as unknown as Published[]).find((each) => each.dataset === name)!;
  const values = valuesOf(data);
  const got = univariate(values);

  test('then all readings are there', () => expect(got.count).toBe(data.n));
  test(`then the mean has ${mean} digits`, () =>
    expect(digitsOf(got.mean, data.certified_mean)).toBeGreaterThanOrEqual(mean));
  test(`then the standard deviation has ${sd} digits`, () =>
    expect(digitsOf(got.sd, data.certified_standard_deviation)).toBeGreaterThanOrEqual(sd));
  test(`then the lag-1 autocorrelation has ${lag1} digits`, () =>
    expect(digitsOf(got.lag1, data.certified_lag1_autocorrelation)).toBeGreaterThanOrEqual(lag1));
});
