/**
 * What the demo rig does as a whole. The expected bands are those of the rig
 * as invented (PHYSICS.md, part 12), not of a real engine.
 */
import { describe, expect, test } from 'vitest';
import type { FaultId } from '../../simulator/faults.ts';
import type { ScenarioId } from '../../simulator/scenarios.ts';
import { SimulatedBench } from '../../simulator/simulated-bench.ts';

const seeds = [1, 2, 3, 4, 5];

function benchAfter(seconds: number, scenario: ScenarioId, seed = 1): SimulatedBench {
  const bench = new SimulatedBench({ seed, scenario });
  bench.advance(seconds);
  return bench;
}

/** Mean, least and most of the true speed over some seconds. */
function speedOver(bench: SimulatedBench, seconds: number): { mean: number; least: number; most: number } {
  let sum = 0;
  let least = Number.POSITIVE_INFINITY;
  let most = 0;
  const count = Math.round(seconds * 100);
  for (let i = 0; i < count; i++) {
    bench.advance(0.01);
    bench.takeBytes();
    const speed = bench.truth.engineSpeed_rpm;
    sum += speed;
    least = Math.min(least, speed);
    most = Math.max(most, speed);
  }
  return { mean: sum / count, least, most };
}

/** Seconds until a condition holds, asked every 100 ms. */
function secondsUntil(bench: SimulatedBench, most_s: number, holds: () => boolean): number {
  for (let i = 0; i < most_s * 10; i++) {
    if (holds()) return i / 10;
    bench.advance(0.1);
    bench.takeBytes();
  }
  return Number.POSITIVE_INFINITY;
}

describe('given a warm engine', () => {
  test('when it idles, then at 1,900 rpm within 60, and steadily', () => {
    const { mean, least, most } = speedOver(benchAfter(30, 'warm-idle'), 20);
    expect(Math.abs(mean - 1900)).toBeLessThan(60);
    expect(most - least).toBeLessThan(120);
    // It is no drawing either: combustion differs from turn to turn.
    expect(most - least).toBeGreaterThan(3);
  });

  test('when at full throttle, then 6,300 rpm within 150, and heads and exhausts in their bands', () => {
    const bench = benchAfter(240, 'full-throttle');
    expect(Math.abs(speedOver(bench, 10).mean - 6300)).toBeLessThan(150);
    for (const cht of bench.truth.cht_degC) {
      expect(cht).toBeGreaterThan(155);
      expect(cht).toBeLessThan(175);
    }
    for (const egt of bench.truth.egt_degC) {
      expect(egt).toBeGreaterThan(560);
      expect(egt).toBeLessThan(610);
    }
  });

  test('when the ignition goes off, then it stands within 5 s', () => {
    const bench = benchAfter(5, 'full-throttle');
    bench.act({ kind: 'ignition', on: false });
    expect(secondsUntil(bench, 5, () => bench.truth.engineSpeed_rpm === 0)).toBeLessThan(5);
    bench.advance(10);
    expect(bench.truth.engineSpeed_rpm).toBe(0);
  });

  test('when the throttle opens at once, then the servo slews and rpm follows within 3 s', () => {
    const bench = benchAfter(5, 'warm-idle');
    bench.act({ kind: 'throttle', percent: 100 });
    bench.advance(0.1);
    expect(bench.truth.throttlePosition).toBeLessThan(0.3);
    expect(secondsUntil(bench, 5, () => bench.truth.engineSpeed_rpm > 6100)).toBeLessThan(3);
  });
});

describe('given a cold engine and the person at the stand', () => {
  test.each(seeds)(
    'when the demonstration runs with seed %i, then one crank of less than 8 s starts it, and it runs to the cut',
    (seed) => {
      const bench = benchAfter(13, 'demonstration', seed);
      const started_s = secondsUntil(bench, 8, () => bench.truth.isRunning);
      expect(started_s).toBeLessThan(8);
      expect(secondsUntil(bench, 400, () => bench.truth.engineSpeed_rpm > 6150)).toBeLessThan(400);
      bench.advance(610 - bench.time_s);
      bench.takeBytes();
      expect(bench.truth.isRunning).toBe(true);
      expect(bench.truth.cht_degC[0]).toBeLessThan(100);
      bench.advance(20);
      expect(bench.truth.engineSpeed_rpm).toBe(0);
      // And again after the pause.
      bench.advance(840 + 30 - bench.time_s);
      expect(bench.truth.isRunning).toBe(true);
    },
  );

  test.each(seeds)('when it is cranked without priming, seed %i, then it starts later but within 8 s', (seed) => {
    const bench = benchAfter(1, 'standing', seed);
    for (const kind of ['supply', 'ignition'] as const) bench.act({ kind, on: true });
    bench.act({ kind: 'starter', on: true });
    const started_s = secondsUntil(bench, 8, () => bench.truth.engineSpeed_rpm > 1200);
    expect(started_s).toBeLessThan(8);
    expect(started_s).toBeGreaterThan(2);
  });

  test('when it is cranked without ignition, then it turns between 300 and 800 rpm, draws current and sags the supply', () => {
    const bench = benchAfter(1, 'standing');
    const resting_V = bench.truth.supply_V;
    bench.act({ kind: 'supply', on: true });
    bench.act({ kind: 'starter', on: true });
    bench.advance(3);
    const { mean } = speedOver(bench, 2);
    expect(mean).toBeGreaterThan(300);
    expect(mean).toBeLessThan(800);
    expect(bench.truth.starterCurrent_A).toBeGreaterThan(8);
    expect(bench.truth.supply_V).toBeLessThan(resting_V - 0.2);
    expect(bench.truth.isRunning).toBe(false);
  });

  test('when it floods by ten primes, then it does not start at once', () => {
    const bench = benchAfter(1, 'standing');
    for (const kind of ['supply', 'ignition'] as const) bench.act({ kind, on: true });
    for (let i = 0; i < 10; i++) bench.act({ kind: 'prime' });
    bench.act({ kind: 'starter', on: true });
    bench.advance(3);
    expect(bench.truth.lambda).toBeLessThan(0.5);
    expect(bench.truth.engineSpeed_rpm).toBeLessThan(900);
  });
});

describe('given a starter that is held on', () => {
  test('when it turns a dead engine, then the winding heats, cuts out by itself and cools', () => {
    const bench = benchAfter(1, 'standing');
    bench.act({ kind: 'supply', on: true });
    bench.act({ kind: 'starter', on: true });
    bench.advance(8);
    const after8_s = bench.truth.starterWinding_degC - 17;
    expect(after8_s).toBeGreaterThan(2);
    expect(after8_s).toBeLessThan(40);
    const hot_s = secondsUntil(bench, 900, () => bench.truth.isStarterCutOut);
    expect(hot_s).toBeLessThan(900);
    bench.advance(0.1);
    expect(bench.act({ kind: 'starter', on: true })).toBe(false);
    const hot_degC = bench.truth.starterWinding_degC;
    bench.advance(120);
    expect(bench.truth.starterWinding_degC).toBeLessThan(hot_degC - 30);
    expect(bench.truth.isStarterCutOut).toBe(false);
  });
});

describe('given full throttle', () => {
  test('when the fan fails, then the heads pass caution 190 and abort 220 °C within four minutes, and the wash alone keeps them below 280', () => {
    const bench = benchAfter(29, 'over-temperature');
    expect(Math.max(...bench.truth.cht_degC)).toBeLessThan(180);
    const hottest = (): number => Math.max(...bench.truth.cht_degC);
    const caution_s = secondsUntil(bench, 240, () => hottest() > 190);
    const abort_s = caution_s + secondsUntil(bench, 240, () => hottest() > 220);
    expect(caution_s).toBeGreaterThan(5);
    expect(abort_s).toBeLessThan(240);
    expect(abort_s).toBeGreaterThan(30);
    bench.advance(300);
    expect(hottest()).toBeLessThan(280);
    // Idle and fan again: the way out works.
    bench.clear('fan-off');
    bench.act({ kind: 'throttle', percent: 0 });
    expect(secondsUntil(bench, 120, () => hottest() < 150)).toBeLessThan(120);
  });

  test('when the propeller unloads, then rpm passes 7,000 within 2 s while thrust and torque fall, and clearing brings it back', () => {
    const bench = benchAfter(29.9, 'overspeed');
    const before = bench.truth;
    bench.advance(0.1);
    expect(secondsUntil(bench, 10, () => bench.truth.engineSpeed_rpm > 7000)).toBeLessThan(2);
    bench.advance(3);
    expect(bench.truth.thrust_N).toBeLessThan(before.thrust_N);
    expect(bench.truth.engineSpeed_rpm).toBeLessThan(8500);
    bench.clear('overspeed');
    bench.advance(3);
    expect(Math.abs(bench.truth.engineSpeed_rpm - 6300)).toBeLessThan(150);
  });

  test('when fuel stops, then it runs on for some seconds, leans out, and stops', () => {
    const bench = benchAfter(5, 'full-throttle');
    bench.inject('fuel-starvation');
    bench.advance(2);
    expect(bench.truth.engineSpeed_rpm).toBeGreaterThan(6000);
    let leanest = 0;
    secondsUntil(bench, 30, () => {
      leanest = Math.max(leanest, Number.isFinite(bench.truth.lambda) ? bench.truth.lambda : 0);
      return bench.truth.engineSpeed_rpm === 0;
    });
    expect(bench.truth.engineSpeed_rpm).toBe(0);
    expect(leanest).toBeGreaterThan(1.1);
  });

  test('when the generator dies, then the battery carries on, lower and discharging', () => {
    const bench = benchAfter(5, 'full-throttle');
    const before = bench.truth;
    bench.inject('generator-dead' satisfies FaultId);
    bench.advance(60);
    expect(before.supply_V).toBeGreaterThan(13.5);
    expect(bench.truth.supply_V).toBeLessThan(13);
    expect(bench.truth.batteryCharge).toBeLessThan(before.batteryCharge);
  });
});

test('given the four-cylinder rig, when it idles and then opens, then it does so at its own speeds, with four heads', () => {
  const bench = new SimulatedBench({ seed: 1, scenario: 'warm-idle', rig: 'plover-210' });
  expect(Math.abs(speedOver(bench, 10).mean - 1700)).toBeLessThan(80);
  bench.act({ kind: 'throttle', percent: 100 });
  bench.advance(240);
  expect(Math.abs(speedOver(bench, 5).mean - 5900)).toBeLessThan(150);
  expect(bench.truth.cht_degC).toHaveLength(4);
  expect(Math.max(...bench.truth.cht_degC)).toBeLessThan(190);
  expect(Math.max(...bench.truth.egt_degC)).toBeLessThan(640);
});

test('given thinner air, when at full throttle, then less thrust and less fuel at nearly the same speed', () => {
  const high = { name: 'high site', elevation_m: 2000, temperature_degC: 17, pressure_hPa: 795, humidity_percent: 55 };
  const home = new SimulatedBench({ seed: 1, scenario: 'full-throttle' });
  const thin = new SimulatedBench({ seed: 1, scenario: 'full-throttle', site: high });
  home.advance(5);
  thin.advance(5);
  expect(thin.truth.thrust_N / home.truth.thrust_N).toBeLessThan(0.88);
  expect(Math.abs(thin.truth.engineSpeed_rpm - home.truth.engineSpeed_rpm)).toBeLessThan(300);
});
