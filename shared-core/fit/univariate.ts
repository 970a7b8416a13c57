/**
 * Mean, standard deviation and lag-1 autocorrelation of a row of readings,
 * in two passes with compensated sums, so that small scatter on a large value
 * (10 000 000 ± 1) keeps its digits.
 *
 * Definitions as NIST StRD certifies them: the standard deviation has n − 1;
 * r1 = Σ (yᵢ − m)(yᵢ₊₁ − m) ÷ Σ (yᵢ − m)².
 */
import { ExactSum, exactSum } from './exact-sums.ts';

export interface Univariate {
  readonly count: number;
  /** NaN without readings. */
  readonly mean: number;
  /** NaN with fewer than two. */
  readonly sd: number;
  /** NaN with fewer than two, or when all are the same. */
  readonly lag1: number;
}

/** Errors: none; a NaN among the readings makes all of it NaN. */
export function univariate(values: ArrayLike<number>): Univariate {
  const count = values.length;
  if (count === 0) return { count, mean: NaN, sd: NaN, lag1: NaN };
  const first = values[0]!;
  // Differences from the first reading are small and often exact.
  const shifts = Array.from(values, (each) => each - first);
  const shift = exactSum(shifts) / count;
  const mean = exactSum(Array.from(values)) / count;
  const square = new ExactSum();
  const drift = new ExactSum();
  const product = new ExactSum();
  let previous = NaN;
  shifts.forEach((each, i) => {
    const deviation = each - shift;
    square.addProduct(deviation, deviation);
    drift.add(deviation);
    if (i > 0) product.addProduct(previous, deviation);
    previous = deviation;
  });
  // What is left of the mean after the first pass (Chan, Golub, LeVeque 1983, from memory).
  const squares = square.value - (drift.value * drift.value) / count;
  return {
    count,
    mean,
    sd: count > 1 ? Math.sqrt(Math.max(0, squares) / (count - 1)) : NaN,
    lag1: count > 1 && squares > 0 ? product.value / squares : NaN,
  };
}

/** Standard uncertainty of the mean of independent readings (GUM 4.2.3); NaN with fewer than two. */
export function uncertaintyOfMean(values: ArrayLike<number>): number {
  const { count, sd } = univariate(values);
  return sd / Math.sqrt(count);
}
