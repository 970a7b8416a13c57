/** The arithmetic of the rules that watch by themselves: at the edge, either side of it, and with NaN. */
import { describe, expect, test } from 'vitest';
import { isDrifting } from '../../shared-core/limits/clock-drift.ts';
import { newDelayed } from '../../shared-core/limits/delayed.ts';
import { deviationOf, stepDeviation } from '../../shared-core/limits/deviation.ts';
import { isLockingDue } from '../../shared-core/limits/endurance.ts';
import { newStillness, stepStillness } from '../../shared-core/limits/frozen.ts';
import { fuelLeft_min, smoothed, stepFuelTime } from '../../shared-core/limits/fuel-time.ts';
import { stepRange } from '../../shared-core/limits/range.ts';
import { stepRate } from '../../shared-core/limits/rate.ts';
import { isRecorderIll } from '../../shared-core/limits/recorder-health.ts';
import { stepSpread } from '../../shared-core/limits/spread.ts';
import { rule } from '../pipeline-support.ts';

const s = 1_000_000;

describe('rate: rising by more than 4 K/s, back below 2', () => {
  const rising = rule.rate('rise');
  test.each([
    { was: false, slope: 3.9, is: false },
    { was: false, slope: 4, is: false },
    { was: false, slope: 4.1, is: true },
    { was: false, slope: -9, is: false },
    { was: true, slope: 2, is: true },
    { was: true, slope: 1.9, is: false },
    { was: false, slope: NaN, is: true },
    { was: true, slope: NaN, is: true },
  ])('given tripped $was, when the slope is $slope, then $is', ({ was, slope, is }) => {
    expect(stepRate(rising, newDelayed(was), 0, slope)).toBe(is);
  });
  test.each([
    { slope: -4, is: false },
    { slope: -4.1, is: true },
    { slope: 9, is: false },
  ])('given it is about falling, when the slope is $slope, then $is', ({ slope, is }) => {
    expect(stepRate(rule.rate('fall', { direction: 'falling' }), newDelayed(), 0, slope)).toBe(is);
  });
});

describe('spread: more than 40 apart, back below 30', () => {
  test.each([
    { was: false, spread: 40, is: false },
    { was: false, spread: 40.1, is: true },
    { was: true, spread: 30, is: true },
    { was: true, spread: 29.9, is: false },
    { was: false, spread: NaN, is: true },
  ])('given tripped $was, when $spread, then $is', ({ was, spread, is }) => {
    expect(stepSpread(rule.spread('apart'), newDelayed(was), 0, spread)).toBe(is);
  });
});

describe('deviation: 10 times the demand plus 100, by more than 20, back below 10', () => {
  const follows = rule.deviation('follows');
  test.each([
    { was: false, value: 620, is: false },
    { was: false, value: 620.1, is: true },
    { was: false, value: 579.9, is: true },
    { was: true, value: 610, is: true },
    { was: true, value: 609.9, is: false },
    { was: false, value: NaN, is: true },
  ])('given tripped $was and demand 50, when the channel reads $value, then $is', ({ was, value, is }) => {
    expect(stepDeviation(follows, newDelayed(was), 0, deviationOf(follows, value, 50))).toBe(is);
  });
  test('given a demand that is not known, then it trips', () => {
    expect(stepDeviation(follows, newDelayed(), 0, deviationOf(follows, 600, NaN))).toBe(true);
  });
});

describe('frozen: not the least change for 5 s', () => {
  const frozen = rule.frozen('frozen');
  test('when the same for just under 5 s, then not; at 5 s it is; with one count of change it returns', () => {
    const still = newStillness();
    expect(stepStillness(frozen, still, 0, 6000)).toBe(false);
    expect(stepStillness(frozen, still, 5 * s - 1, 6000)).toBe(false);
    expect(stepStillness(frozen, still, 5 * s, 6000)).toBe(true);
    expect(stepStillness(frozen, still, 6 * s, 6001)).toBe(false);
    expect(stepStillness(frozen, still, 10.9 * s, 6001)).toBe(false);
    expect(stepStillness(frozen, still, 11 * s, 6001)).toBe(true);
  });
  test('when it changes within the time, then never', () => {
    const still = newStillness();
    for (let i = 0; i < 20; i++) expect(stepStillness(frozen, still, i * 4 * s, i % 2)).toBe(false);
  });
  test('when NaN, then at once; with the first good value it returns', () => {
    const still = newStillness();
    expect(stepStillness(frozen, still, 0, NaN)).toBe(true);
    expect(stepStillness(frozen, still, 9 * s, NaN)).toBe(true);
    expect(stepStillness(frozen, still, 10 * s, 6000)).toBe(false);
  });
});

describe('range: 0 to 300', () => {
  const range = { low: 0, high: 300 };
  test.each([
    { value: 0, is: false },
    { value: -0.1, is: true },
    { value: 300, is: false },
    { value: 300.1, is: true },
    { value: NaN, is: true },
  ])('when $value, then $is', ({ value, is }) => {
    expect(stepRange(rule.range('range'), range, newDelayed(), 0, value)).toBe(is);
  });
  test('given an end that is not known, then that side is not judged', () => {
    expect(stepRange(rule.range('range'), { low: NaN, high: 300 }, newDelayed(), 0, -1e9)).toBe(false);
  });
});

describe('clock drift: more than 500 ppm, back below 300', () => {
  test.each([
    { was: false, drift: 500, is: false },
    { was: false, drift: 500.1, is: true },
    { was: false, drift: -500.1, is: true },
    { was: true, drift: 300, is: true },
    { was: true, drift: -299, is: false },
    { was: false, drift: NaN, is: true },
  ])('given tripped $was, when $drift ppm, then $is', ({ was, drift, is }) => {
    expect(isDrifting(rule.clockDrift('drift'), was, drift)).toBe(is);
  });
});

describe('recorder: holding for more than 10 s, or less than 500 MB', () => {
  const recorder = rule.recorder('recorder');
  const good = { state: 'recording', held_s: 0, freeBytes: 500e6 } as const;
  test.each([
    { facts: good, is: false },
    { facts: { ...good, freeBytes: 499e6 }, is: true },
    { facts: { ...good, freeBytes: NaN }, is: true },
    { facts: { ...good, state: 'holding', held_s: 10 }, is: false },
    { facts: { ...good, state: 'holding', held_s: 10.1 }, is: true },
    { facts: { ...good, state: 'holding', held_s: NaN }, is: true },
    { facts: { ...good, state: 'stopped' }, is: true },
  ] as const)('when $facts, then $is', ({ facts, is }) => {
    expect(isRecorderIll(recorder, facts)).toBe(is);
  });
});

describe('fuel time', () => {
  test.each([
    { level: 1, flow: 6, left: 10 },
    { level: 0, flow: 6, left: 0 },
    { level: -0.01, flow: 6, left: 0 },
    { level: 1, flow: 0, left: Number.POSITIVE_INFINITY },
    { level: 1, flow: -0.01, left: Number.POSITIVE_INFINITY },
    { level: NaN, flow: 6, left: NaN },
    { level: 1, flow: NaN, left: NaN },
  ])('given $level L at $flow L/h, then $left minutes', ({ level, flow, left }) => {
    expect(fuelLeft_min(level, flow)).toBe(left);
  });
  test.each([
    { was: false, left: 10, is: false },
    { was: false, left: 9.9, is: true },
    { was: true, left: 12, is: true },
    { was: true, left: 12.1, is: false },
    { was: true, left: Number.POSITIVE_INFINITY, is: false },
    { was: false, left: NaN, is: true },
  ])('given tripped $was and a limit of 10 min, back above 12, when $left, then $is', ({ was, left, is }) => {
    expect(stepFuelTime(rule.fuelTime('fuel'), newDelayed(was), 0, left)).toBe(is);
  });
  test('given a step of the flow, then after one window 63.2 % of it is taken', () => {
    // 1 − 1/e.
    expect(smoothed(0, 10, 20, 20)).toBeCloseTo(6.3212, 4);
    expect(smoothed(NaN, 10, NaN, 20)).toBe(10);
  });
});

describe('endurance: more than 6 h in one run, or 30 h since locked', () => {
  const fasteners = rule.endurance('fasteners');
  const hours = { total_h: 0, sinceLocked_h: 0, longestRun_h: 0, run_h: 0 };
  test.each([
    { change: {}, is: false },
    { change: { longestRun_h: 6 }, is: false },
    { change: { longestRun_h: 6.001 }, is: true },
    { change: { sinceLocked_h: 30 }, is: false },
    { change: { sinceLocked_h: 30.001 }, is: true },
    { change: { sinceLocked_h: NaN }, is: true },
    { change: { longestRun_h: NaN }, is: true },
    { change: { total_h: 500 }, is: false },
  ])('when $change, then $is', ({ change, is }) => {
    expect(isLockingDue(fasteners, { ...hours, ...change })).toBe(is);
  });
});
