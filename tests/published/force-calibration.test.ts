/** A load cell calibrated by dead weights (P. Pontius, NIST), as published with its line, quadratic and residuals. */
import { describe, expect, test } from 'vitest';
import {
  type DeadWeight,
  deadWeight,
  degreeAdvice,
  loadFigures,
  plainClass,
} from '../../shared-core/calibration/dead-weight.ts';
import { polynomialFit } from '../../shared-core/fit/least-squares.ts';
import published from './data/force-calibration.json' with { type: 'json' };
import regression from './data/nist-regression.json' with { type: 'json' };

const rows = regression.datasets.find((each) => each.dataset === 'Pontius')!.rows as [number, number][];
const deflections = rows.map(([deflection]) => deflection);
const loads = rows.map(([, load]) => load);

describe('given the load cell of the published example', () => {
  const fitted = polynomialFit(loads, deflections, 1);
  if (!fitted.ok) throw new Error(fitted.error.kind);
  const line = fitted.value;
  const sorted = [...line.residuals].sort((a, b) => a - b);

  test('then the straight line is the one of the handbook', () => {
    const { b0, u_b0, b1, u_b1, residual_standard_deviation, dof } = published.linear_fit;
    expect(line.coefficients[0]).toBeCloseTo(b0, 5);
    expect(line.standardErrors[0]).toBeCloseTo(u_b0, 7);
    expect(line.coefficients[1]! / b1).toBeCloseTo(1, 4);
    expect(line.standardErrors[1]! / u_b1).toBeCloseTo(1, 3);
    expect(line.residualSd).toBeCloseTo(residual_standard_deviation, 6);
    expect(line.degreesOfFreedom).toBe(dof);
  });

  test('then its residuals are those of the handbook', () => {
    expect(sorted[0]).toBeCloseTo(published.linear_fit.residual_min, 7);
    expect(sorted.at(-1)).toBeCloseTo(published.linear_fit.residual_max, 7);
    expect((sorted[19]! + sorted[20]!) / 2).toBeCloseTo(published.linear_fit.residual_median, 7);
  });
});

describe('given the same cell through our own calibration, two series of twenty loads', () => {
  // Masses such that mass × gravity is the published load; the reading is the deflection.
  const state: DeadWeight = {
    ...deadWeight({
      kind: 'thrust',
      channel: 'thrust',
      span: 3_000_000,
      gravity_mPers2: 10,
      gravityU_mPers2: 0,
      arm_m: 1,
      armU_m: 0,
      massU_relative: 0,
      loadClass: plainClass(0.1),
    }),
    points: rows.map(([reading, load], i) => ({
      series: i < 20 ? 1 : 2,
      direction: 'up' as const,
      mass_kg: load / 10,
      reading,
      readingU: 0,
    })),
  };
  const line = loadFigures(state, 1);
  const quadratic = loadFigures(state, 2);
  if (!line.ok || !quadratic.ok) throw new Error('no fit');

  test('then the quadratic is advised, as the handbook ends with it', () => {
    expect(degreeAdvice(line.value, quadratic.value).degree).toBe(2);
    expect(quadratic.value.residual_percent).toBeLessThan(line.value.residual_percent / 5);
  });

  test('then repeatability at each load is the published one, as a part of the span', () => {
    // Published: 100 |y1 − y2| / mean of the two, largest 0.299 % (at the smallest load). Of the span that is less.
    const perLoad = loads.slice(0, 20).map((_, i) => {
      const [first, second] = [deflections[i]!, deflections[i + 20]!];
      return (100 * Math.abs(first - second)) / ((first + second) / 2);
    });
    expect(Math.max(...perLoad)).toBeCloseTo(published.repeatability.percent_max, 5);
    expect(perLoad[19]).toBeCloseTo(published.repeatability.percent_at_full_load, 5);
    const spread = Math.max(...loads.slice(0, 20).map((_, i) => Math.abs(deflections[i]! - deflections[i + 20]!)));
    const slope = line.value.fit.coefficients[1]!;
    expect(line.value.repeatability_percent).toBeCloseTo((100 * spread * slope) / 3_000_000, 9);
  });

  test('then what two runs upwards do not tell is not known', () => {
    expect(line.value.hysteresis_percent).toBeNaN();
    expect(line.value.zeroReturn_percent).toBeNaN();
  });
});
