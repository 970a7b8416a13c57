import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { ExactSum, exactSum } from '../../shared-core/fit/exact-sums.ts';
import { fitErrorWords, multipleRegression, polynomialAt, polynomialFit } from '../../shared-core/fit/least-squares.ts';
import { incompleteBeta, logGamma, tFactor, tWithin } from '../../shared-core/fit/student-t.ts';
import { propagated } from '../../shared-core/fit/uncertainty.ts';
import { univariate } from '../../shared-core/fit/univariate.ts';

describe('given points that determine no fit', () => {
  test.each([
    { name: 'one point for a line', x: [1], y: [2], kind: 'too-few-points' },
    { name: 'the same load thrice', x: [5, 5, 5], y: [1, 2, 3], kind: 'columns-dependent' },
    { name: 'all loads 0', x: [0, 0, 0], y: [1, 2, 3], kind: 'columns-dependent' },
    { name: 'a NaN reading', x: [0, 1, 2], y: [1, NaN, 3], kind: 'not-finite' },
    { name: 'an infinite load', x: [0, 1, Infinity], y: [1, 2, 3], kind: 'not-finite' },
  ])('when there is $name, then the answer is $kind, in words', ({ x, y, kind }) => {
    const fit = polynomialFit(x, y, 1);
    expect(fit).toMatchObject({ ok: false, error: { kind } });
    if (!fit.ok) expect(fitErrorWords(fit.error)).toMatch(/\.$/);
  });

  test('when the columns differ in length or the degree is none, then it throws', () => {
    expect(() => polynomialFit([1, 2], [1, 2, 3], 1)).toThrow(RangeError);
    expect(() => polynomialFit([1, 2], [1, 2], 6)).toThrow(RangeError);
    expect(() => multipleRegression([[1, 2]], [1, 2, 3])).toThrow(RangeError);
  });
});

test('given as many points as coefficients, then the fit goes through them and claims no uncertainty', () => {
  const fit = polynomialFit([0, 1, 2], [1, 3, 9], 2);
  expect(fit.ok && fit.value.residuals.every((each) => Math.abs(each) < 1e-14)).toBe(true);
  expect(fit.ok && fit.value.standardErrors.every(Number.isNaN)).toBe(true);
});

test('given any points of a polynomial, then its values come back', () => {
  const coefficient = fc.double({ min: -1000, max: 1000, noNaN: true });
  fc.assert(
    fc.property(fc.array(coefficient, { minLength: 1, maxLength: 6 }), (coefficients) => {
      const x = Array.from({ length: 12 }, (_, i) => i - 4);
      const y = x.map((each) => polynomialAt(coefficients, each));
      const fit = polynomialFit(x, y, coefficients.length - 1);
      if (!fit.ok) return false;
      const largest = Math.max(1, ...y.map(Math.abs));
      return x.every((each, i) => Math.abs(polynomialAt(fit.value.coefficients, each) - y[i]!) < 1e-11 * largest);
    }),
    { seed: 20261125 },
  );
});

describe('given sums that a plain loop loses', () => {
  test('when large terms cancel, then the small one is left', () => {
    expect(exactSum([1e16, 1, -1e16])).toBe(1);
    expect(exactSum([1, 1e100, 1, -1e100])).toBe(2);
  });
  test('when a product does not fit a double, then its last digits count', () => {
    // (2^27 + 1)^2 = 2^54 + 2^28 + 1.
    const sum = new ExactSum();
    sum.addProduct(134_217_729, 134_217_729);
    sum.add(-(2 ** 54));
    sum.add(-(2 ** 28));
    expect(sum.value).toBe(1);
  });
});

describe('given the t distribution', () => {
  test('then one degree of freedom is the Cauchy distribution, tan(p·π/2)', () => {
    for (const p of [0.5, 0.9, 0.95, 0.99]) expect(tFactor(p, 1) / Math.tan((p * Math.PI) / 2)).toBeCloseTo(1, 9);
  });
  test('then two degrees of freedom give p·√(2/(1 − p²))', () => {
    for (const p of [0.5, 0.9, 0.95, 0.99]) expect(tFactor(p, 2) / (p * Math.sqrt(2 / (1 - p * p)))).toBeCloseTo(1, 9);
  });
  test('then Γ(5) is 24, Γ(½) is √π, and I_x(1, 1) is x', () => {
    expect(Math.exp(logGamma(5))).toBeCloseTo(24, 10);
    expect(Math.exp(logGamma(0.5))).toBeCloseTo(Math.sqrt(Math.PI), 12);
    expect(incompleteBeta(1, 1, 0.3)).toBeCloseTo(0.3, 13);
    expect(tWithin(0, 5)).toBeCloseTo(0, 13);
  });
  test('when asked outside its range, then it throws', () => {
    for (const p of [0, 1, NaN]) expect(() => tFactor(p, 5)).toThrow(RangeError);
    for (const dof of [0, -1, NaN]) expect(() => tFactor(0.95, dof)).toThrow(RangeError);
  });
});

describe('given inputs of a model', () => {
  const input = { name: 'a', value: 1, u: 0.1, degreesOfFreedom: Number.POSITIVE_INFINITY };
  test('when two are fully correlated, then their uncertainties add, or cancel', () => {
    const inputs = [input, { ...input, name: 'b' }];
    const sum = ([a, b]: readonly number[]) => a! + b!;
    expect(propagated(sum, inputs, [{ between: ['a', 'b'], r: 1 }]).u).toBeCloseTo(0.2, 12);
    expect(propagated(sum, inputs, [{ between: ['a', 'b'], r: -1 }]).u).toBeCloseTo(0, 7);
  });
  test('when an uncertainty is negative or NaN, or a correlation is none, then it throws', () => {
    const same = ([a]: readonly number[]) => a!;
    for (const u of [-1, NaN]) expect(() => propagated(same, [{ ...input, u }])).toThrow(RangeError);
    expect(() => propagated(same, [input], [{ between: ['a', 'c'], r: 0.5 }])).toThrow(RangeError);
    expect(() => propagated(same, [input, { ...input, name: 'b' }], [{ between: ['a', 'b'], r: 1.1 }])).toThrow(
      RangeError,
    );
  });
});

test('given no, one, or a NaN reading, then what cannot be said is NaN', () => {
  expect(univariate([])).toEqual({ count: 0, mean: NaN, sd: NaN, lag1: NaN });
  expect(univariate([3])).toEqual({ count: 1, mean: 3, sd: NaN, lag1: NaN });
  expect(univariate([3, 3])).toEqual({ count: 2, mean: 3, sd: 0, lag1: NaN });
  expect(univariate([3, NaN]).mean).toBeNaN();
});
