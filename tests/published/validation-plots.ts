/**
 * The plots of simulator/VALIDATION.md, from the same figures that the tests
 * judge: `node tests/published/validation-plots.ts --out simulator/validation`.
 */
import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { staticCoefficients } from '../../simulator/physics/propeller.ts';
import { type Chart, chartSvg } from './chart-svg.ts';
import maps from './data/engine-maps.json' with { type: 'json' };
import statics from './data/propeller-static.json' with { type: 'json' };
import {
  densityEffect,
  engineTorque_Nm,
  figureOfMerit,
  headTraces,
  loadTorque_Nm,
  refinements,
  responseTimes_s,
  rig,
  speedError_rpm,
  steadyAt,
  steadyPoints,
} from './validation-data.ts';

type Point = readonly [number, number];

const full = steadyAt(100);
const range = (from: number, to: number, step: number): number[] =>
  Array.from({ length: Math.floor((to - from) / step + 1e-9) + 1 }, (_, i) => from + i * step);

function torqueCurves(): Chart {
  const speeds = range(1500, 7500, 100);
  return {
    title: 'Torque of the engine at full throttle, and of its propeller',
    x: { title: 'rpm', from: 1500, to: 7500, step: 1000 },
    y: { title: 'torque, N·m', from: 0, to: 16, step: 2 },
    series: [
      {
        name: 'engine, full throttle, by its equations',
        kind: 'line',
        colour: 1,
        points: speeds.map((n): Point => [n, engineTorque_Nm(n)]),
      },
      {
        name: 'propeller',
        kind: 'line',
        colour: 2,
        points: speeds.map((n): Point => [n, loadTorque_Nm(n)]).filter(([, q]) => q <= 16),
      },
      {
        name: 'runs, 0 to 100 % throttle',
        kind: 'dots',
        colour: 0,
        points: steadyPoints.map((each): Point => [each.speed_rpm, each.torque_Nm]),
      },
    ],
  };
}

function cubeLaw(): Chart {
  return {
    title: 'Power against rpm: the cube law',
    x: { title: 'rpm, percent of full throttle', from: 25, to: 105, step: 10 },
    y: { title: 'power, percent of full throttle', from: 1, to: 200, step: 10, isLog: true },
    series: [
      {
        name: 'cube',
        kind: 'dashed',
        colour: 4,
        points: range(25, 105, 2).map((x): Point => [x, 100 * (x / 100) ** 3]),
      },
      {
        name: 'runs',
        kind: 'dots',
        colour: 0,
        points: steadyPoints.map(
          (each): Point => [(100 * each.speed_rpm) / full.speed_rpm, (100 * each.power_kW) / full.power_kW],
        ),
      },
    ],
  };
}

function bsfc(): Chart {
  const { grid_rpm, bsfc_gPerkWh } = maps.twin_288cc;
  return {
    title: 'BSFC against a digitised map',
    x: { title: 'rpm', from: 1500, to: 6500, step: 500 },
    y: { title: 'BSFC, g/(kW·h)', from: 200, to: 800, step: 100 },
    series: [
      ...bsfc_gPerkWh.map((row) => ({
        name: '288 cm³ twin, 20 to 100 % throttle (digitised)',
        kind: 'line' as const,
        colour: 4 as const,
        points: grid_rpm.map((rpm, i): Point => [rpm, row[i + 1] ?? Number.NaN]),
      })),
      {
        name: 'runs from 20 % throttle up, on the propeller',
        kind: 'dots',
        colour: 0,
        points: steadyPoints
          .filter((each) => each.throttle_percent >= 20)
          .map((each): Point => [each.speed_rpm, each.bsfc_gPerkWh]),
      },
    ],
  };
}

function survey(): Chart {
  return {
    title: 'Power against displacement: two-strokes of a survey',
    x: { title: 'displacement, cm³', from: 10, to: 1000, step: 10, isLog: true },
    y: { title: 'power, kW', from: 0.5, to: 50, step: 10, isLog: true },
    series: [
      {
        name: 'two-strokes, makers’ claims',
        kind: 'rings',
        colour: 4,
        points: maps.survey_two_stroke.rows.map((row): Point => [row[1] ?? Number.NaN, row[2] ?? Number.NaN]),
      },
      { name: rig.title, kind: 'dots', colour: 2, points: [[rig.engine.displacement_cm3, full.power_kW]] },
    ],
  };
}

function density(): Chart {
  const pressures = range(800, 1040, 20);
  return {
    title: 'Full-throttle power against air pressure, 20 °C, dry',
    x: { title: 'pressure, hPa', from: 800, to: 1040, step: 40 },
    y: { title: 'power over that at 1013 hPa', from: 0.7, to: 1.1, step: 0.05 },
    series: [
      {
        name: 'engine by its equations',
        kind: 'dots',
        colour: 0,
        points: pressures.map((p): Point => [p, densityEffect('din-70020', 20, p).ours]),
      },
      {
        name: 'DIN 70020, inverted',
        kind: 'line',
        colour: 1,
        points: pressures.map((p): Point => [p, densityEffect('din-70020', 20, p).standard]),
      },
    ],
  };
}

function temperature(): Chart {
  const temperatures = range(-10, 45, 5);
  return {
    title: 'Full-throttle power against air temperature, 1013 hPa, dry',
    x: { title: 'temperature, °C', from: -10, to: 45, step: 5 },
    y: { title: 'power over that at 20 °C', from: 0.85, to: 1.2, step: 0.05 },
    series: [
      {
        name: 'engine by its equations',
        kind: 'dots',
        colour: 0,
        points: temperatures.map((t): Point => [t, densityEffect('din-70020', t, 1013).ours]),
      },
      {
        name: 'DIN 70020, inverted',
        kind: 'line',
        colour: 1,
        points: temperatures.map((t): Point => [t, densityEffect('din-70020', t, 1013).standard]),
      },
    ],
  };
}

function energy(): Chart {
  const runs = steadyPoints;
  const flow = (
    name: string,
    colour: 0 | 1 | 2 | 3 | 4 | 5,
    keys: readonly ('unburnt_J' | 'exhaust_J' | 'coolingAir_J' | 'propeller_J' | 'generator_J' | 'pumping_J')[],
  ) => ({
    name,
    kind: 'line' as const,
    colour,
    points: runs.map(
      (each): Point => [
        each.throttle_percent,
        (100 * keys.reduce((sum, key) => sum + each.energy[key], 0)) / each.energy.fuel_J,
      ],
    ),
  });
  return {
    title: 'Where the energy of the fuel goes',
    x: { title: 'throttle, %', from: 0, to: 100, step: 10 },
    y: { title: 'share of the fuel’s heat, %', from: 0, to: 70, step: 10 },
    series: [
      flow('unburnt, with the exhaust', 4, ['unburnt_J']),
      flow('heat with the exhaust', 2, ['exhaust_J']),
      flow('cooling air', 1, ['coolingAir_J']),
      flow('propeller', 3, ['propeller_J']),
      flow('generator and pumping', 5, ['generator_J', 'pumping_J']),
    ],
  };
}

function momentum(): Chart {
  const thrusts = steadyPoints.filter((each) => each.thrust_N > 1);
  return {
    title: 'Thrust for power, against the limit of momentum theory',
    x: { title: 'thrust, N', from: 0, to: 300, step: 50 },
    y: { title: 'thrust over power, N/kW', from: 0, to: 240, step: 40 },
    series: [
      {
        name: 'limit: √(2ρA/T)',
        kind: 'line',
        colour: 4,
        points: range(20, 300, 10).map((t): Point => {
          const at = thrusts[0]!;
          // From one run: ideal N/kW goes with 1/√T.
          const ideal = (at.thrust_N / at.power_kW / figureOfMerit(at)) * Math.sqrt(at.thrust_N / t);
          return [t, ideal];
        }),
      },
      {
        name: 'runs',
        kind: 'dots',
        colour: 0,
        points: thrusts.map((each): Point => [each.thrust_N, each.thrust_N / each.power_kW]),
      },
    ],
  };
}

function coefficients(): Chart {
  const ratios = range(0.3, 0.95, 0.05);
  const rows = statics.props
    .filter((prop) => prop.blades === 2)
    .map((prop) => {
      const [diameter, pitch] = prop.prop.match(/[\d.]+/g) ?? [];
      const last = prop.rows.at(-1) ?? [];
      return { ratio: Number(pitch) / Number(diameter), ct: Number(last[1]), cp: Number(last[2]) };
    });
  return {
    title: 'Static coefficients by pitch, two blades',
    x: { title: 'pitch over diameter', from: 0.3, to: 1, step: 0.1 },
    y: { title: 'CT, CP', from: 0, to: 0.18, step: 0.02 },
    series: [
      {
        name: 'CT, UIUC rows at their highest speeds',
        kind: 'rings',
        colour: 1,
        points: rows.map((row): Point => [row.ratio, row.ct]),
      },
      { name: 'CP, same rows', kind: 'rings', colour: 2, points: rows.map((row): Point => [row.ratio, row.cp]) },
      { name: 'CT used', kind: 'line', colour: 1, points: ratios.map((x): Point => [x, staticCoefficients(x, 2).ct]) },
      { name: 'CP used', kind: 'line', colour: 2, points: ratios.map((x): Point => [x, staticCoefficients(x, 2).cp]) },
    ],
  };
}

function heads(): Chart {
  return {
    title: 'Hottest head after a change',
    x: { title: 'time, s', from: 0, to: 420, step: 60 },
    y: { title: 'CHT, °C', from: 40, to: 280, step: 40 },
    series: headTraces.map((trace, i) => ({
      name: `${trace.title}: 63 % after ${trace.time63_s} s`,
      kind: 'line' as const,
      colour: (i + 1) as 1 | 2 | 3,
      points: trace.time_s.map((t, k): Point => [t, trace.head_degC[k] ?? Number.NaN]),
    })),
  };
}

function halving(): Chart {
  return {
    title: 'Error of the speed while the throttle opens, by step',
    x: { title: 'shaft step, ms', from: 0.1, to: 1.6, step: 2, isLog: true },
    y: { title: `rms over ${responseTimes_s.length} instants, rpm`, from: 0.1, to: 1000, step: 10, isLog: true },
    series: [
      {
        name: 'against a step of 1/32 ms',
        kind: 'dots',
        colour: 0,
        points: refinements.map((each): Point => [1 / each.refine, speedError_rpm(each)]),
      },
      {
        name: 'in proportion to the step',
        kind: 'dashed',
        colour: 4,
        points: [0.125, 1].map((dt): Point => [dt, speedError_rpm(refinements[0]!) * dt]),
      },
    ],
  };
}

const charts: Readonly<Record<string, () => Chart>> = {
  'torque-curves': torqueCurves,
  'cube-law': cubeLaw,
  bsfc,
  survey,
  density,
  temperature,
  energy,
  momentum,
  coefficients,
  heads,
  halving,
};

/** File name to SVG text. */
export function validationPlots(): Map<string, string> {
  return new Map(Object.entries(charts).map(([name, chart]) => [`${name}.svg`, chartSvg(chart())]));
}

if (process.argv[1] === fileURLToPath(import.meta.url)) {
  const at = process.argv.indexOf('--out');
  const folder = at < 0 ? undefined : process.argv[at + 1];
  if (folder === undefined) {
    process.stderr.write('Where to? node tests/published/validation-plots.ts --out FOLDER\n');
    process.exitCode = 2;
  } else {
    mkdirSync(folder, { recursive: true });
    for (const [name, svg] of validationPlots()) writeFileSync(join(folder, name), svg);
    process.stdout.write(`${Object.keys(charts).length} plots in ${folder}\n`);
  }
}
