/** Measurement between two cursors, windows of the overview, and flags that fall together. */
import { describe, expect, test } from 'vitest';
import type { TrendFlag } from '../../../renderer/plots/flags.ts';
import {
  measured,
  pannedStretch,
  SHORTEST_US,
  thinned,
  within,
  zoomedStretch,
} from '../../../renderer/review/measure.ts';

describe('given columns of a view', () => {
  test('when some are gaps, then they count for nothing', () => {
    const found = measured({
      min: Float64Array.of(NaN, 10, NaN, 20, NaN),
      max: Float64Array.of(NaN, 14, NaN, 30, NaN),
    });
    expect(found).toEqual({ atA: 12, atB: 25, min: 10, max: 30, mean: 18.5, columns: 2 });
  });
  test('when all are gaps, then nothing is known', () => {
    const found = measured({ min: Float64Array.of(NaN), max: Float64Array.of(NaN) });
    expect(found).toEqual({ atA: NaN, atB: NaN, min: NaN, max: NaN, mean: NaN, columns: 0 });
  });
  test('when the values are negative, then least and most keep their sign', () => {
    const found = measured({ min: Float64Array.of(-5, -9), max: Float64Array.of(-3, -7) });
    expect(found.min).toBe(-9);
    expect(found.max).toBe(-3);
  });
});

describe('given a window on a session of 100 s', () => {
  const duration_us = 100e6;
  const whole = { from_us: 0, to_us: duration_us };

  test('when zoomed in, then the time under the pointer stays in its place', () => {
    const next = zoomedStretch(whole, 0.5, 25e6, duration_us);
    expect(next).toEqual({ from_us: 12.5e6, to_us: 62.5e6 });
  });
  test('when zoomed out beyond the session, then it is the whole session', () => {
    expect(zoomedStretch({ from_us: 80e6, to_us: 90e6 }, 100, 85e6, duration_us)).toEqual(whole);
  });
  test('when zoomed in without end, then it stops at the shortest window', () => {
    let now = whole;
    for (let i = 0; i < 40; i++) now = zoomedStretch(now, 0.5, 50e6, duration_us);
    expect(now.to_us - now.from_us).toBeCloseTo(SHORTEST_US, 3);
    expect(now.from_us).toBeLessThan(50e6);
    expect(now.to_us).toBeGreaterThan(50e6);
  });
  test('when moved past an end, then it stops there and keeps its length', () => {
    expect(pannedStretch({ from_us: 80e6, to_us: 90e6 }, 50e6, duration_us)).toEqual({ from_us: 90e6, to_us: 100e6 });
    expect(pannedStretch({ from_us: 5e6, to_us: 15e6 }, -50e6, duration_us)).toEqual({ from_us: 0, to_us: 10e6 });
  });
  test('when a stretch is longer than the session, then it is cut', () => {
    expect(within({ from_us: -50e6, to_us: 150e6 }, duration_us)).toEqual(whole);
  });
});

describe('given flags', () => {
  const flag = (id: string, t_us: number, level: TrendFlag['level']): TrendFlag => ({
    id,
    t_us,
    kind: level === null ? 'mark' : 'alarm',
    level,
    text: id,
  });

  test('when two fall together, then the graver stands for both', () => {
    const groups = thinned([flag('mark', 0, null), flag('caution', 5, 'caution'), flag('abort', 9, 'abort')], 10);
    expect(groups.map((g) => [g.flag.id, g.count])).toEqual([['abort', 3]]);
  });
  test('when they are just far enough apart, then each stands for itself', () => {
    expect(thinned([flag('b', 10, 'caution'), flag('a', 0, 'caution')], 10).map((g) => g.flag.id)).toEqual(['a', 'b']);
  });
  test('when equals fall together, then the first of them leads', () => {
    expect(thinned([flag('a', 0, 'caution'), flag('b', 1, 'caution')], 10)[0]?.flag.id).toBe('a');
  });
});
