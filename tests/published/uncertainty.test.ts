/** Worked examples of the GUM (JCGM 100:2008, annex H and table G.2). */
import { describe, expect, test } from 'vitest';
import { polynomialFit, polynomialUncertaintyAt } from '../../shared-core/fit/least-squares.ts';
import { tFactor } from '../../shared-core/fit/student-t.ts';
import {
  combined,
  distributions,
  effectiveDegreesOfFreedom,
  expanded,
  propagated,
} from '../../shared-core/fit/uncertainty.ts';
import { univariate } from '../../shared-core/fit/univariate.ts';
import published from './data/gum.json' with { type: 'json' };

describe('given H.1, the end gauge', () => {
  const { inputs, contributions_nm, result } = published.h1_end_gauge;
  const by = new Map(inputs.map((each) => [each.name, each]));
  const nm = (name: string) => {
    const each = by.get(name)!;
    return {
      name,
      value: each.unit === 'mm' ? each.value * 1e6 : each.value,
      u: each.u,
      degreesOfFreedom: each.dof ?? Number.POSITIVE_INFINITY,
    };
  };
  // l = ls + d − ls(δα·θ + αs·δθ), all lengths in nm.
  const got = propagated(
    ([ls, d, alpha, theta, dAlpha, dTheta]) => ls! + d! - ls! * (dAlpha! * theta! + alpha! * dTheta!),
    ['ls', 'd', 'alpha_s', 'theta', 'dalpha', 'dtheta'].map(nm),
  );

  test('then length, uncertainty and each contribution are those printed', () => {
    expect(got.value / 1e6).toBeCloseTo(result.l_mm, 6);
    expect(Math.round(got.u)).toBe(result.u_c_nm);
    for (const [name, u] of Object.entries(contributions_nm)) {
      expect(got.contributions.find((each) => each.name === name)!.u, name).toBeCloseTo(u, 0);
    }
  });

  test('then degrees of freedom, coverage factor and expanded uncertainty are those printed', () => {
    expect(Math.floor(got.degreesOfFreedom)).toBe(result.nu_eff);
    const { k, U } = expanded(got, 0.99);
    expect(k).toBeCloseTo(result.k_99, 2);
    // The GUM multiplies the rounded 32 nm; the unrounded 31.7 nm gives 92.5.
    expect(Math.abs(U - result.U_99_nm)).toBeLessThan(1);
  });

  test('then the parts of d combine to its uncertainty and degrees of freedom', () => {
    // H.1.3.2: 5.8 nm (24), 3.9 nm (5), 6.7 nm (8).
    const parts = [
      { name: 'readings', u: 5.8, degreesOfFreedom: 24 },
      { name: 'random effects of the comparator', u: 3.9, degreesOfFreedom: 5 },
      { name: 'systematic effects of the comparator', u: 6.7, degreesOfFreedom: 8 },
    ];
    const d = by.get('d')!;
    expect(combined(parts).u).toBeCloseTo(d.u, 1);
    // The GUM goes on from the rounded 9.7 nm.
    expect(effectiveDegreesOfFreedom(d.u, parts)).toBeCloseTo(d.dof!, 1);
  });
});

describe('given H.2, voltage, current and phase measured together', () => {
  const { V, I_mA, phi_rad, result, u, correlation } = published.h2_impedance;
  const rows = [V, I_mA.map((each) => each / 1000), phi_rad];
  const statistics = rows.map(univariate);
  const r = (a: number, b: number) => {
    const [x, y] = [statistics[a]!, statistics[b]!];
    const sum = rows[a]!.reduce((total, each, i) => total + (each - x.mean) * (rows[b]![i]! - y.mean), 0);
    return sum / ((x.count - 1) * x.sd * y.sd);
  };
  const names = ['V', 'I', 'phi'];
  const inputs = statistics.map((each, k) => ({
    name: names[k]!,
    value: each.mean,
    u: each.sd / Math.sqrt(each.count),
    degreesOfFreedom: each.count - 1,
  }));
  const correlations = [
    { between: ['V', 'I'] as const, r: r(0, 1) },
    { between: ['V', 'phi'] as const, r: r(0, 2) },
    { between: ['I', 'phi'] as const, r: r(1, 2) },
  ];

  test('then uncertainties and correlations of the means are those printed', () => {
    expect(inputs[0]!.u).toBeCloseTo(u.V, 4);
    expect(inputs[1]!.u * 1000).toBeCloseTo(u.I_mA, 4);
    expect(inputs[2]!.u).toBeCloseTo(u.phi, 5);
    expect(correlations.map((each) => each.r.toFixed(2))).toEqual(
      ['V,I', 'V,phi', 'I,phi'].map((pair) => (correlation as Record<string, number>)[pair]!.toFixed(2)),
    );
  });

  test.each([
    { name: 'R', model: (v: readonly number[]) => (v[0]! / v[1]!) * Math.cos(v[2]!), is: result.R_ohm, u: result.u_R },
    { name: 'X', model: (v: readonly number[]) => (v[0]! / v[1]!) * Math.sin(v[2]!), is: result.X_ohm, u: result.u_X },
    { name: 'Z', model: (v: readonly number[]) => v[0]! / v[1]!, is: result.Z_ohm, u: result.u_Z },
  ])('then $name is $is, uncertain by $u', ({ model, is, u: uncertainty }) => {
    const got = propagated(model, inputs, correlations);
    expect(got.value).toBeCloseTo(is, 2);
    expect(Math.abs(got.u - uncertainty)).toBeLessThan(0.0055);
  });
});

describe('given H.3, the thermometer', () => {
  const { t_C, b_C, t0_C, result } = published.h3_thermometer;
  const fitted = polynomialFit(
    t_C.map((each) => each - t0_C),
    b_C,
    1,
  );
  if (!fitted.ok) throw new Error(fitted.error.kind);
  const fit = fitted.value;

  test('then line, uncertainties and correlation are those printed', () => {
    expect(fit.coefficients[0]).toBeCloseTo(result.y1_C, 4);
    expect(fit.standardErrors[0]).toBeCloseTo(result.u_y1, 4);
    expect(fit.coefficients[1]).toBeCloseTo(result.y2, 5);
    expect(fit.standardErrors[1]).toBeCloseTo(result.u_y2, 5);
    expect(fit.covariance[0]![1]! / (fit.standardErrors[0]! * fit.standardErrors[1]!)).toBeCloseTo(result.r, 2);
    expect(fit.residualSumOfSquares / result.sum_squared_residuals).toBeCloseTo(1, 9);
    expect(fit.degreesOfFreedom).toBe(result.dof);
  });

  test('then the correction at 30 °C and its uncertainty are those printed', () => {
    expect(fit.coefficients[0]! + 10 * fit.coefficients[1]!).toBeCloseTo(result.b_at_30C, 4);
    expect(polynomialUncertaintyAt(fit, 10)).toBeCloseTo(result.u_b_at_30C, 4);
  });
});

test.each(published.table_g2_t_factors.rows as [number | 'inf', number, number][])(
  'table G.2: %s degrees of freedom, p = %f gives %f',
  (dof, p, k) => {
    expect(tFactor(p, dof === 'inf' ? Number.POSITIVE_INFINITY : dof)).toBeCloseTo(k, 2);
  },
);

test('half-widths become standard uncertainties by their distribution', () => {
  expect(distributions.rectangular(3) ** 2).toBeCloseTo(3, 12);
  expect(distributions.triangular(6) ** 2).toBeCloseTo(6, 12);
  expect(distributions.arcsine(2) ** 2).toBeCloseTo(2, 12);
});
