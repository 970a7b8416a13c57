/**
 * Student's t distribution, for coverage factors and confidence bands. Degrees
 * of freedom need not be whole (Welch–Satterthwaite); infinity gives the
 * normal distribution.
 *
 * Source: the incomplete beta function by its continued fraction, DLMF 8.17.22,
 * and Stirling's series for ln Γ, DLMF 5.11.1, both from memory; held against
 * GUM table G.2 in tests/published/uncertainty.test.ts.
 */

/** ln Γ(x), x > 0; about 14 digits. */
export function logGamma(x: number): number {
  let shift = 0;
  let z = x;
  // The series is good from here on.
  while (z < 15) {
    shift += Math.log(z);
    z += 1;
  }
  const r = 1 / (z * z);
  const series = (1 / 12 - r * (1 / 360 - r * (1 / 1260 - r * (1 / 1680 - r / 1188)))) / z;
  return (z - 0.5) * Math.log(z) - z + 0.5 * Math.log(2 * Math.PI) + series - shift;
}

/** Regularised incomplete beta function I_x(a, b), 0 ≤ x ≤ 1. */
export function incompleteBeta(a: number, b: number, x: number): number {
  if (x <= 0) return 0;
  if (x >= 1) return 1;
  // The fraction converges fast on this side only.
  if (x > (a + 1) / (a + b + 2)) return 1 - incompleteBeta(b, a, 1 - x);
  const front = Math.exp(logGamma(a + b) - logGamma(a) - logGamma(b) + a * Math.log(x) + b * Math.log1p(-x)) / a;
  const tiny = 1e-300;
  let c = 1;
  let d = 1 / nonZero(1 - ((a + b) * x) / (a + 1), tiny);
  let value = d;
  for (let m = 1; m <= 500; m++) {
    const even = (m * (b - m) * x) / ((a + 2 * m - 1) * (a + 2 * m));
    d = 1 / nonZero(1 + even * d, tiny);
    c = nonZero(1 + even / c, tiny);
    value *= d * c;
    const odd = (-(a + m) * (a + b + m) * x) / ((a + 2 * m) * (a + 2 * m + 1));
    d = 1 / nonZero(1 + odd * d, tiny);
    c = nonZero(1 + odd / c, tiny);
    const step = d * c;
    value *= step;
    if (Math.abs(step - 1) < 1e-16) break;
  }
  return front * value;
}

/** Probability that |t| stays below `t` ≥ 0. */
export function tWithin(t: number, degreesOfFreedom: number): number {
  // So many that the normal distribution is met to 10 digits.
  const dof = Math.min(degreesOfFreedom, 1e10);
  return 1 - incompleteBeta(dof / 2, 0.5, dof / (dof + t * t));
}

/**
 * Two-sided factor: the t within which the fraction `p` lies.
 * @param p 0 < p < 1
 * @param degreesOfFreedom > 0, infinity allowed
 * @throws RangeError outside these
 */
export function tFactor(p: number, degreesOfFreedom: number): number {
  if (!(p > 0 && p < 1)) throw new RangeError(`expected a probability between 0 and 1, got ${p}`);
  if (!(degreesOfFreedom > 0)) throw new RangeError(`expected degrees of freedom above 0, got ${degreesOfFreedom}`);
  let high = 1;
  while (tWithin(high, degreesOfFreedom) < p && high < 1e12) high *= 2;
  let low = 0;
  for (let i = 0; i < 200 && high - low > 1e-13 * high; i++) {
    const middle = (low + high) / 2;
    if (tWithin(middle, degreesOfFreedom) < p) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}

function nonZero(value: number, tiny: number): number {
  return Math.abs(value) < tiny ? tiny : value;
}
