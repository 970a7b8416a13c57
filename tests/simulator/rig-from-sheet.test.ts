/** Rig sheets of other engines on the simulator: they start, idle and reach their rated speed, or it says why not. */
import { describe, expect, test } from 'vitest';
import { lapwing120 as demoSheet } from '../../shared-core/rig/lapwing.ts';
import type { RigSheet } from '../../shared-core/rig/rig-sheet.ts';
import { rigFromSheet } from '../../simulator/rig-from-sheet.ts';
import { lapwing120, type SimulatedRig } from '../../simulator/rigs.ts';
import { SimulatedBench } from '../../simulator/simulated-bench.ts';
import { HostEnd } from './host-end.ts';

const INCH_m = 0.0254;

interface Case {
  readonly name: string;
  readonly strokes: 2 | 4;
  readonly cylinders: number;
  readonly displacement_cm3: number;
  readonly idle: number;
  readonly rated: number;
  readonly diameter_in: number;
  readonly pitch_in: number;
  readonly blades: number;
  readonly elevation_m: number;
}

// Invented rigs; power per displacement lies within the survey of tests/published.
const cases: readonly Case[] = [
  {
    name: 'single 60',
    strokes: 2,
    cylinders: 1,
    displacement_cm3: 60,
    idle: 2000,
    rated: 6800,
    diameter_in: 22,
    pitch_in: 10,
    blades: 2,
    elevation_m: 0,
  },
  {
    name: 'twin 170',
    strokes: 2,
    cylinders: 2,
    displacement_cm3: 170,
    idle: 1800,
    rated: 6000,
    diameter_in: 30,
    pitch_in: 12,
    blades: 2,
    elevation_m: 400,
  },
  {
    name: 'three-blade twin',
    strokes: 2,
    cylinders: 2,
    displacement_cm3: 150,
    idle: 1900,
    rated: 6000,
    diameter_in: 27,
    pitch_in: 10,
    blades: 3,
    elevation_m: 1500,
  },
  {
    name: 'four-stroke boxer',
    strokes: 4,
    cylinders: 2,
    displacement_cm3: 300,
    idle: 1700,
    rated: 5500,
    diameter_in: 30,
    pitch_in: 12,
    blades: 2,
    elevation_m: 300,
  },
  {
    name: 'four-cylinder 280',
    strokes: 2,
    cylinders: 4,
    displacement_cm3: 280,
    idle: 1600,
    rated: 5600,
    diameter_in: 36,
    pitch_in: 14,
    blades: 2,
    elevation_m: 0,
  },
];

function sheetOf(each: Case): RigSheet {
  return {
    ...demoSheet,
    id: each.name,
    name: each.name,
    engine: {
      name: each.name,
      strokes: each.strokes,
      cylinders: each.cylinders,
      displacement_cm3: each.displacement_cm3,
      idleSpeed_rpm: each.idle,
      ratedSpeed_rpm: each.rated,
    },
    propeller: {
      name: `${each.diameter_in}x${each.pitch_in}`,
      diameter_m: each.diameter_in * INCH_m,
      pitch_m: each.pitch_in * INCH_m,
      blades: each.blades,
    },
    site: { name: 'somewhere', elevation_m: each.elevation_m },
  };
}

function built(sheet: RigSheet): SimulatedRig {
  const rig = rigFromSheet(sheet);
  if (!rig.ok) throw new Error(rig.error);
  return rig.value;
}

function meanSpeed_rpm(bench: SimulatedBench, seconds: number): number {
  let sum = 0;
  const count = seconds * 100;
  for (let i = 0; i < count; i++) {
    bench.advance(0.01);
    bench.takeBytes();
    sum += bench.truth.engineSpeed_rpm;
  }
  return sum / count;
}

describe.each(cases)('given the sheet of a $name', (each) => {
  const rig = built(sheetOf(each));

  test('when it idles and then opens, then it does so at the speeds of its sheet, and is no hotter than it should be', () => {
    const bench = new SimulatedBench({ seed: 1, scenario: 'warm-idle', rig });
    expect(Math.abs(meanSpeed_rpm(bench, 10) / each.idle - 1)).toBeLessThan(0.06);
    bench.act({ kind: 'throttle', percent: 100 });
    bench.advance(200);
    expect(Math.abs(meanSpeed_rpm(bench, 5) / each.rated - 1)).toBeLessThan(0.03);
    const { truth } = bench;
    expect(truth.cht_degC).toHaveLength(each.cylinders);
    for (const cht of truth.cht_degC) {
      expect(cht).toBeGreaterThan(120);
      expect(cht).toBeLessThan(190);
    }
    for (const egt of truth.egt_degC) {
      expect(egt).toBeGreaterThan(480);
      // Without fresh charge going through, a four-stroke's exhaust is hotter.
      expect(egt).toBeLessThan(each.strokes === 4 ? 850 : 640);
    }
    expect(Math.abs(truth.energy.residual_J / truth.energy.fuel_J)).toBeLessThan(0.001);
  });

  test('when it is cold and a person primes and cranks it, then it starts within 8 s', () => {
    const bench = new SimulatedBench({ seed: 2, scenario: 'first-start', rig });
    bench.advance(16 + 8);
    expect(bench.truth.engineSpeed_rpm).toBeGreaterThan(0.7 * each.idle);
  });

  test('then its table has a CHT and an EGT for each cylinder', () => {
    const host = new HostEnd(new SimulatedBench({ seed: 1, scenario: 'standing', rig }));
    host.run(0.5);
    const keys = host.table?.channels.map((row) => row.key) ?? [];
    expect(keys.filter((key) => key.startsWith('cht'))).toHaveLength(each.cylinders);
    expect(keys.filter((key) => key.startsWith('egt'))).toHaveLength(each.cylinders);
  });
});

test('given the demo sheet, then its rig runs as the built-in one does', () => {
  const rig = built(demoSheet);
  const ours = new SimulatedBench({ seed: 1, scenario: 'full-throttle', rig });
  const builtIn = new SimulatedBench({ seed: 1, scenario: 'full-throttle', rig: lapwing120 });
  for (const bench of [ours, builtIn]) bench.advance(60);
  expect(Math.abs(ours.truth.engineSpeed_rpm - builtIn.truth.engineSpeed_rpm)).toBeLessThan(60);
  expect(Math.abs((ours.truth.cht_degC[0] ?? 0) - (builtIn.truth.cht_degC[0] ?? 0))).toBeLessThan(6);
});

test.each([
  {
    what: 'a propeller that no such engine can turn',
    change: { propeller: { name: 'huge', diameter_m: 2, pitch_m: 1, blades: 4 } },
  },
  { what: 'no cylinder at all', change: { engine: { ...demoSheet.engine, cylinders: 0 } } },
  { what: 'thirteen cylinders', change: { engine: { ...demoSheet.engine, cylinders: 13 } } },
])('given a sheet with $what, then it says so in a sentence', ({ change }) => {
  const rig = rigFromSheet({ ...demoSheet, ...change });
  expect(rig.ok).toBe(false);
  if (!rig.ok) expect(rig.error).toMatch(/\.$/);
});
