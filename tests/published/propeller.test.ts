/**
 * Propeller coefficients against rows of the UIUC Propeller Database: from the
 * published CT and CP to thrust and power and back by independent arithmetic,
 * η from J, and the bound of momentum theory.
 */
import { describe, expect, test } from 'vitest';
import { brakePower_kW } from '../../shared-core/derive/power.ts';
import {
  powerCoefficient,
  propellerPower_kW,
  propellerThrust_N,
  propulsiveEfficiency,
  staticFigureOfMerit,
  thrustCoefficient,
  torqueCoefficient,
} from '../../shared-core/derive/propeller.ts';
import { INCH_m } from '../../shared-core/units/factors.ts';
import advance from './data/propeller-advance.json' with { type: 'json' };
import statics from './data/propeller-static.json' with { type: 'json' };

const rho = 1.225;

describe.each(statics.props)('given static rows of the propeller $prop', ({ diameter_in, rows }) => {
  const D = diameter_in * INCH_m;

  test.each(rows as [number, number, number][])('at %f rpm CT %f and CP %f come back', (rpm, CT, CP) => {
    // The definitions written out by hand, with n in rev/s.
    const n = rpm / 60;
    const thrust_N = CT * rho * n ** 2 * D ** 4;
    const torque_Nm = (CP / (2 * Math.PI)) * rho * n ** 2 * D ** 5;
    expect(propellerThrust_N(CT, rho, rpm, D)).toBeCloseTo(thrust_N, 9);
    expect(thrustCoefficient(thrust_N, rho, rpm, D)).toBeCloseTo(CT, 12);
    // By way of the torque that a stand measures: P = 2πnT, hence CQ = CP/2π.
    const power_kW = brakePower_kW(torque_Nm, rpm);
    expect(power_kW).toBeCloseTo(propellerPower_kW(CP, rho, rpm, D), 12);
    expect(powerCoefficient(power_kW, rho, rpm, D)).toBeCloseTo(CP, 12);
    expect(torqueCoefficient(CP)).toBeCloseTo(torque_Nm / (rho * n ** 2 * D ** 5), 12);
  });

  test.each(rows as [number, number, number][])('at %f rpm momentum theory is not beaten', (_rpm, CT, CP) => {
    const merit = staticFigureOfMerit(CT, CP);
    expect(merit).toBeGreaterThan(0.3);
    expect(merit).toBeLessThan(1);
  });
});

describe('given rows with axial speed', () => {
  const rows = advance.runs.flatMap((run) => run.rows) as [number, number, number, number][];
  // CT and CP have three to four digits: where CP is small their rounding moves η by up to 0.009.
  test.each(rows)('J %f, CT %f, CP %f has η %f', (J, CT, CP, eta) => {
    const rounding = Math.abs(J) * (5e-5 / CP) * (1 + Math.abs(CT) / CP) + 5e-4 * Math.abs(CT / CP) + 5e-4;
    expect(Math.abs(propulsiveEfficiency(J, CT, CP) - eta)).toBeLessThan(rounding);
  });
});

test('given an ideal actuator disc, then the figure of merit is 1', () => {
  // Momentum theory: P = T √(T/(2ρA)).
  const D = 0.7;
  const thrust_N = 100;
  const power_W = thrust_N * Math.sqrt(thrust_N / (2 * rho * ((Math.PI * D * D) / 4)));
  const CT = thrustCoefficient(thrust_N, rho, 6000, D);
  const CP = powerCoefficient(power_W / 1000, rho, 6000, D);
  expect(staticFigureOfMerit(CT, CP)).toBeCloseTo(1, 12);
});
