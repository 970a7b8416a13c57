/**
 * NIST StRD linear regression. The digits asked for below are those reached on
 * 2026-11-25 with Node 24, rounded down; doubles carry 15 to 17, and the
 * certified values are printed to 15.
 */
import { describe, expect, test } from 'vitest';
import { SlidingSlope } from '../../shared-core/derive/sliding-slope.ts';
import { type LeastSquaresFit, multipleRegression, polynomialFit } from '../../shared-core/fit/least-squares.ts';
import { digitsOf } from '../support/digits.ts';
import published from './data/nist-regression.json' with { type: 'json' };
import norris from './data/norris.json' with { type: 'json' };

test('given the Norris data as a channel over time, then the slope is the certified B1', () => {
  const rows = (norris.rows as [number, number][]).map(([y, x]) => ({ x, y })).sort((a, b) => a.x - b.x);
  const span = rows.at(-1)!.x - rows[0]!.x;
  const slope = new SlidingSlope({ window_s: 1.1 * span, leastSpan_s: span, mostGap_s: span });
  let last = NaN;
  for (const { x, y } of rows) last = slope.push(x * 1e6, y);
  // Certified to 15 digits.
  expect(last / norris.slope.estimate).toBeCloseTo(1, 11);
});

const cases = [
  { name: 'Norris', coefficients: 13, errors: 13, fitOf: (x: number[][], y: number[]) => polynomialFit(x[0]!, y, 1) },
  {
    name: 'NoInt1',
    coefficients: 14,
    errors: 14,
    fitOf: (x: number[][], y: number[]) => polynomialFit(x[0]!, y, 1, true),
  },
  { name: 'Pontius', coefficients: 13, errors: 12, fitOf: (x: number[][], y: number[]) => polynomialFit(x[0]!, y, 2) },
  // The certified standard errors are 0: the data lie on the polynomial.
  { name: 'Wampler1', coefficients: 13, errors: 9, fitOf: (x: number[][], y: number[]) => polynomialFit(x[0]!, y, 5) },
  { name: 'Longley', coefficients: 12, errors: 12, fitOf: (x: number[][], y: number[]) => multipleRegression(x, y) },
];

describe.each(cases)('given the NIST data set $name', ({ name, coefficients, errors, fitOf }) => {
  const data = published.datasets.find((each) => each.dataset === name)!;
  const y = data.rows.map((row) => row[0]!);
  const x = data.columns.slice(1).map((_, k) => data.rows.map((row) => row[k + 1]!));
  const fitted = fitOf(x, y);
  if (!fitted.ok) throw new Error(JSON.stringify(fitted.error));
  const value: LeastSquaresFit = fitted.value;

  test(`then every coefficient has ${coefficients} certified digits`, () => {
    expect(value.coefficients).toHaveLength(data.parameters.length);
    const digits = data.parameters.map((each, k) => digitsOf(value.coefficients[k]!, each.estimate));
    expect(Math.min(...digits), digits.join(' ')).toBeGreaterThanOrEqual(coefficients);
  });

  test(`then every standard error has ${errors} certified digits`, () => {
    const digits = data.parameters.map((each, k) => digitsOf(value.standardErrors[k]!, each.standard_deviation));
    expect(Math.min(...digits), digits.join(' ')).toBeGreaterThanOrEqual(errors);
  });

  test('then residual scatter, degrees of freedom and R² are the certified ones', () => {
    expect(digitsOf(value.residualSd, data.residual_standard_deviation)).toBeGreaterThanOrEqual(errors);
    expect(value.degreesOfFreedom).toBe(data.anova.residual.df);
    expect(digitsOf(value.rSquared, data.r_squared)).toBeGreaterThanOrEqual(14);
  });
});
