/**
 * The simulated engine against what is published and against itself: envelope
 * of power and BSFC, crossing of torque curves, cube law, momentum theory,
 * correction formulas, energy balance, time constants, step size,
 * determinism. The figures are in `validation-data.ts`, the sources beside
 * each test; simulator/VALIDATION.md shows them.
 */
import { createHash } from 'node:crypto';
import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { faultIds } from '../../simulator/faults.ts';
import { zeroThrustAdvance } from '../../simulator/physics/propeller.ts';
import { SimulatedBench } from '../../simulator/simulated-bench.ts';
import speeds from './data/endurance-speeds.json' with { type: 'json' };
import maps from './data/engine-maps.json' with { type: 'json' };
import zeroThrust from './data/propeller-zero-thrust.json' with { type: 'json' };
import {
  crossing_rpm,
  densityEffect,
  engineTorque_Nm,
  figureOfMerit,
  headTraces,
  loadTorque_Nm,
  refinements,
  refinest,
  rig,
  speedError_rpm,
  steadyAt,
  steadyPoints,
} from './validation-data.ts';
import { validationPlots } from './validation-plots.ts';

const full = steadyAt(100);

describe('given the survey of two-strokes and the digitised map (data/engine-maps.json)', () => {
  test('then specific power at full throttle lies within the survey', () => {
    // VictorAlulema/UAVs-propulsion-systems-Database (doi:10.2514/6.2019-4304): makers' claims, 50 to 184.6 W/cm³.
    const specific_WPercm3 = (1000 * full.power_kW) / rig.engine.displacement_cm3;
    expect(specific_WPercm3).toBeGreaterThan(maps.survey_two_stroke.specific_power_W_per_cm3.min);
    expect(specific_WPercm3).toBeLessThan(maps.survey_two_stroke.specific_power_W_per_cm3.max);
  });

  test('then power lies between the weakest and the strongest engine of 100 to 150 cm³ in it', () => {
    const near = maps.survey_two_stroke.rows.filter((row) => row[1]! >= 100 && row[1]! <= 150).map((row) => row[2]!);
    expect(near.length).toBeGreaterThan(3);
    expect(full.power_kW).toBeGreaterThan(Math.min(...near));
    expect(full.power_kW).toBeLessThan(Math.max(...near));
  });

  test('then BSFC from 30 % throttle up lies within the map of a 288 cm³ twin, in whose range of speeds it is', () => {
    // SaadVSP96/Piston-Wankel-Parametric-PerfModel: maker's chart, digitised by hand: 272.7 to 512.6 g/(kW·h).
    const all = maps.twin_288cc.bsfc_gPerkWh.flatMap((row) => row.slice(1));
    const [least, most] = [Math.min(...all), Math.max(...all)];
    expect([least, most]).toEqual([272.7, 512.6]);
    for (const point of steadyPoints.filter((each) => each.throttle_percent >= 30)) {
      expect(point.bsfc_gPerkWh).toBeGreaterThan(least);
      expect(point.bsfc_gPerkWh).toBeLessThan(most);
    }
  });

  test('then BSFC is worst at small throttle, as in the map at its lowest powers', () => {
    const rows = maps.twin_288cc;
    const cheapest = Math.min(...rows.bsfc_gPerkWh.flatMap((row) => row.slice(1)));
    expect(rows.bsfc_gPerkWh[0]![1]!).toBeGreaterThan(cheapest);
    expect(steadyAt(10).bsfc_gPerkWh).toBeGreaterThan(1.5 * steadyAt(55).bsfc_gPerkWh);
  });
});

describe('given the torque curves of engine and propeller', () => {
  test('then they cross once, and full throttle runs there to 1 %', () => {
    // Equilibrium: a steady shaft has no net torque (Newton's second law for rotation).
    const signs: boolean[] = [];
    for (let rpm = 2000; rpm <= 8000; rpm += 100) signs.push(engineTorque_Nm(rpm) > loadTorque_Nm(rpm));
    const changes = signs.filter((sign, i) => i > 0 && sign !== signs[i - 1]).length;
    expect(changes).toBe(1);
    expect(Math.abs(full.speed_rpm / crossing_rpm(1) - 1)).toBeLessThan(0.01);
  });

  test('then it is the stated full-throttle speed of the rig, 6,300 rpm within 150', () => {
    expect(Math.abs(full.speed_rpm - 6300)).toBeLessThan(150);
  });
});

describe('given the cube law', () => {
  test('then power over the cube of rpm is the same within 8 % from 30 % throttle up', () => {
    // P = CP ρ n³ D⁵ with CP all but constant: UIUC definitions. Waves at the tip raise CP at the top.
    const cubes = steadyPoints
      .filter((each) => each.throttle_percent >= 30)
      .map((each) => each.power_kW / each.speed_rpm ** 3);
    for (const cube of cubes) expect(Math.abs(cube / cubes.at(-1)! - 1)).toBeLessThan(0.08);
  });

  // 14 CFR 33.49(b)(2) to (6), data/endurance-speeds.json: printed speeds are rounded up to half a percent.
  test.each(speeds.rows.map(([power, speed]) => ({ power: power!, speed: speed! })))(
    'then $power % of full power is taken at $speed % of full rpm, to 1.5 points',
    ({ power, speed }) => {
      const at = interpolated(
        steadyPoints.map((each) => (100 * each.power_kW) / full.power_kW),
        steadyPoints.map((each) => (100 * each.speed_rpm) / full.speed_rpm),
        power,
      );
      expect(Math.abs(at - speed)).toBeLessThan(1.5);
    },
  );
});

describe('given momentum theory', () => {
  // Froude's actuator disc: P ≥ T^1.5/√(2ρA). The UIUC 16x8 in at its highest speed reaches
  // CT^1.5/CP √(2/π) = 0.0957^1.5/0.0314 · 0.798 = 0.75; ours is flatter and must not beat it.
  test('then no run gives more thrust for its power than the limit, nor a better figure of merit than a good propeller', () => {
    for (const point of steadyPoints) {
      expect(figureOfMerit(point)).toBeLessThan(0.76);
      expect(figureOfMerit(point)).toBeGreaterThan(0.5);
    }
  });

  // UIUC Propeller Database (data/propeller-zero-thrust.json): CT carried straight to zero from two rows of each run.
  test.each(zeroThrust.props)('then thrust ends for the pitch of the $prop where it does there, to 0.07', (prop) => {
    const ends = prop.runs.map(([, j0, ct0, j1, ct1]) => j1! - (ct1! * (j1! - j0!)) / (ct1! - ct0!));
    expect(ends.length).toBeGreaterThan(0);
    const mean = ends.reduce((sum, each) => sum + each, 0) / ends.length;
    expect(Math.abs(zeroThrustAdvance(prop.pitch_over_diameter) - mean)).toBeLessThan(0.07);
  });
});

describe('given the formulas that correct power for the air (data/power-correction.json)', () => {
  test.each(['iso-1585', 'sae-j1349'] as const)(
    'then by pressure from 850 to 1,040 hPa full-throttle power goes as %s says, to 1.5 %',
    (standard) => {
      for (let pressure = 850; pressure <= 1040; pressure += 10) {
        const { ours, standard: theirs } = densityEffect(standard, 25, pressure);
        expect(Math.abs(ours / theirs - 1)).toBeLessThan(0.015);
      }
    },
  );

  test('then by pressure it falls a little faster than DIN 70020 says, which knows no friction: at most 5 % at 850 hPa', () => {
    const { ours, standard } = densityEffect('din-70020', 20, 850);
    expect(ours).toBeLessThan(standard);
    expect(ours / standard).toBeGreaterThan(0.95);
  });

  test.each(['iso-1585', 'sae-j1349', 'din-70020'] as const)(
    'then by temperature from 0 to 40 °C it goes as %s says, to 2 %',
    (standard) => {
      for (let temperature = 0; temperature <= 40; temperature += 5) {
        const { ours, standard: theirs } = densityEffect(standard, temperature, standard === 'din-70020' ? 1013 : 990);
        expect(Math.abs(ours / theirs - 1)).toBeLessThan(0.02);
      }
    },
  );
});

describe('given the energy ledger', () => {
  // First law: what comes in goes out or is held.
  test.each(steadyPoints.map((point) => ({ throttle: point.throttle_percent, point })))(
    'when it runs at $throttle % throttle, then in, out and held agree within 0.1 %',
    ({ point }) => {
      expect(Math.abs(point.energy.residual_J)).toBeLessThan(0.001 * point.energy.fuel_J);
      // Not by being empty: each way out has taken something.
      for (const key of [
        'unburnt_J',
        'exhaust_J',
        'coolingAir_J',
        'propeller_J',
        'pumping_J',
        'generator_J',
      ] as const) {
        expect(point.energy[key]).toBeGreaterThan(0);
      }
    },
  );

  test('when a cold engine is cranked, runs and is stopped, then they agree too, with the starter, and heat is left in the metal', () => {
    const bench = new SimulatedBench({ seed: 1, scenario: 'standing' });
    for (const kind of ['supply', 'ignition'] as const) bench.act({ kind, on: true });
    // Not primed: the starter has some seconds to work.
    bench.act({ kind: 'crank', most_s: 8 });
    bench.advance(180);
    bench.act({ kind: 'ignition', on: false });
    bench.advance(30);
    bench.takeBytes();
    const { energy } = bench.truth;
    expect(bench.truth.engineSpeed_rpm).toBe(0);
    expect(energy.starter_J).toBeGreaterThan(100);
    expect(energy.metal_J).toBeGreaterThan(10_000);
    expect(Math.abs(energy.residual_J)).toBeLessThan(0.001 * energy.fuel_J);
  });

  test('when faults waste it, then they agree still', () => {
    const bench = new SimulatedBench({ seed: 1, scenario: 'full-throttle' });
    for (const fault of ['plug-fouled', 'tight-piston', 'timing-late', 'cooling-blocked', 'jet-blocked'] as const) {
      bench.inject(fault);
    }
    bench.advance(120);
    bench.takeBytes();
    const { energy } = bench.truth;
    expect(Math.abs(energy.residual_J)).toBeLessThan(0.001 * energy.fuel_J);
  });
});

describe('given a change of throttle or cooling', () => {
  // A lump with conductances answers with C/ΣG (first-order system). What is behind it (barrel, case) is slower.
  test.each(headTraces.map((trace) => ({ title: trace.title, trace })))(
    'when $title, then the head answers with about its C/ΣG, within 30 %',
    ({ trace }) => {
      expect(Math.abs(trace.time63_s / trace.lump_s - 1)).toBeLessThan(0.3);
      expect(trace.lump_s).toBeGreaterThan(40);
      expect(trace.lump_s).toBeLessThan(100);
    },
  );
});

describe('given smaller and smaller steps', () => {
  test('then each halving about halves the error: explicit Euler converges to first order', () => {
    const errors = refinements.map(speedError_rpm);
    for (let i = 1; i < errors.length; i++) {
      expect(errors[i]! / errors[i - 1]!).toBeGreaterThan(0.35);
      expect(errors[i]! / errors[i - 1]!).toBeLessThan(0.65);
    }
  });

  test('then at the step that is used the error is below 0.1 % of full speed, and 0.05 K of a head', () => {
    expect(speedError_rpm(refinements[0]!)).toBeLessThan(6.3);
    expect(Math.abs(refinements[0]!.head_degC - refinest.head_degC)).toBeLessThan(0.5);
  });
});

describe('given one seed', () => {
  /** Two minutes with every fault for a second, cut in pieces of so many ms. */
  function digest(cut_ms: number): string {
    const bench = new SimulatedBench({ seed: 77, scenario: 'full-throttle' });
    const hash = createHash('sha256');
    for (const fault of faultIds) {
      bench.inject(fault);
      for (let ms = 0; ms < 2000; ms += cut_ms) {
        bench.advance(cut_ms / 1000);
        hash.update(bench.takeBytes());
      }
      bench.clear(fault);
    }
    hash.update(JSON.stringify(bench.truth));
    return hash.digest('hex');
  }

  test('then bytes and truth are the same bit for bit from run to run, and however time is cut, through every fault', () => {
    const whole = digest(2000);
    expect(digest(2000)).toBe(whole);
    expect(digest(1)).toBe(whole);
    expect(digest(40)).toBe(whole);
  });
});

describe('given the plots of simulator/VALIDATION.md', () => {
  const folder = new URL('../../simulator/validation/', import.meta.url);
  const plots = validationPlots();

  test.each([...plots.keys()])(
    'then %s is up to date (else: node tests/published/validation-plots.ts --out simulator/validation)',
    (name) => {
      expect(readFileSync(new URL(name, folder), 'utf8')).toBe(plots.get(name));
    },
  );

  test('then the page shows each of them', () => {
    const page = readFileSync(new URL('../VALIDATION.md', folder), 'utf8');
    for (const name of plots.keys()) expect(page).toContain(`(validation/${name})`);
  });
});

function interpolated(xs: readonly number[], ys: readonly number[], x: number): number {
  for (let i = 1; i < xs.length; i++) {
    const [x0, x1, y0, y1] = [xs[i - 1]!, xs[i]!, ys[i - 1]!, ys[i]!];
    if (x >= x0 && x <= x1) return y0 + ((y1 - y0) * (x - x0)) / (x1 - x0);
  }
  return Number.NaN;
}
