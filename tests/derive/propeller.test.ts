import { describe, expect, test } from 'vitest';
import {
  advanceRatio,
  powerCoefficient,
  propulsiveEfficiency,
  staticFigureOfMerit,
  thrustCoefficient,
  tipSpeed_mPers,
} from '../../shared-core/derive/propeller.ts';

describe('given a shaft at or near rest', () => {
  test.each([0, 300, -500, NaN])('at %f rpm there are no coefficients', (speed_rpm) => {
    expect(thrustCoefficient(1, 1.2, speed_rpm, 0.7)).toBeNaN();
    expect(powerCoefficient(1, 1.2, speed_rpm, 0.7)).toBeNaN();
  });

  test('just above, there are; and another threshold holds when asked for', () => {
    expect(thrustCoefficient(1, 1.2, 300.1, 0.7)).toBeGreaterThan(0);
    expect(thrustCoefficient(1, 1.2, 60, 1, 0)).toBeCloseTo(1 / 1.2, 12);
  });
});

test('given no air density or diameter, then there are no coefficients', () => {
  for (const bad of [0, -1, NaN]) {
    expect(thrustCoefficient(1, bad, 6000, 0.7)).toBeNaN();
    expect(powerCoefficient(1, 1.2, 6000, bad)).toBeNaN();
  }
});

test('given thrust that pulls backwards or no power, then there is no figure of merit', () => {
  expect(staticFigureOfMerit(-0.01, 0.04)).toBeNaN();
  expect(staticFigureOfMerit(0.1, 0)).toBeNaN();
  expect(staticFigureOfMerit(NaN, 0.04)).toBeNaN();
  expect(staticFigureOfMerit(0, 0.04)).toBe(0);
});

test('given wind along the axis, then J = V/(nD), and none at rest', () => {
  expect(advanceRatio(10, 6000, 0.5)).toBeCloseTo(0.2, 12);
  expect(advanceRatio(10, 0, 0.5)).toBeNaN();
  expect(propulsiveEfficiency(0.2, 0.1, 0)).toBeNaN();
});

test('given 0.7112 m (28 in) at 6300 rpm, then the tips go at πDn', () => {
  expect(tipSpeed_mPers(6300, 0.7112)).toBeCloseTo(Math.PI * 0.7112 * 105, 10);
  expect(tipSpeed_mPers(NaN, 0.7)).toBeNaN();
});
