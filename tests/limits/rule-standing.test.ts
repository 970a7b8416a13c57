/** A limit against one moment: at its edge, either side, and with NaN, without its delays. */
import { describe, expect, test } from 'vitest';
import { ruleId } from '../../shared-core/base/ids.ts';
import { type Moment, standingNow } from '../../shared-core/limits/rule-standing.ts';
import type { LimitRule } from '../../shared-core/limits/rules.ts';
import { lapwing120 } from '../../shared-core/rig/lapwing.ts';

const words = { consequence: 'c', operatorAction: 'o', timeToAct_s: 20 };
const base = { id: ruleId('r'), title: 'R', level: 'caution', when: [], latch: false, ...words } as const;
const delays = { onDelay_ms: 500, offDelay_ms: 500 };

function moment(values: Readonly<Record<string, number>>, more: Partial<Moment> = {}): Moment {
  return {
    sampleOf: (key) => values[key] ?? null,
    rangeOf: () => ({ low: 0, high: 100 }),
    inputOf: (key) => (key === 'stop' ? 1 : key === 'cage' ? 'X' : null),
    state: 'running',
    state_s: 10,
    silentFor_ms: 20,
    drift_ppm: NaN,
    recorder: null,
    hours: { total_h: 40, sinceLocked_h: 30, longestRun_h: 2, run_h: 1 },
    ...more,
  };
}

describe('given a high limit at 100 that resets below 90', () => {
  const rule: LimitRule = {
    ...base,
    ...delays,
    kind: 'threshold',
    channel: 'a',
    direction: 'high',
    trip: 100,
    reset: 90,
  };
  test.each([
    { a: 100.001, verdict: 'beyond' },
    { a: 100, verdict: 'between' },
    { a: 90, verdict: 'between' },
    { a: 89.999, verdict: 'inside' },
    { a: NaN, verdict: 'beyond' },
  ])('when the value is $a, then it is $verdict, and the room is what is left to the trip', ({ a, verdict }) => {
    const standing = standingNow(rule, moment({ a }));
    expect(standing.verdict).toBe(verdict);
    if (Number.isNaN(a)) expect(standing.room).toBeNull();
    else expect(standing.room).toBeCloseTo(100 - a, 9);
  });
  test('when the bench has no such channel, then there is nothing to say', () => {
    expect(standingNow(rule, moment({})).verdict).toBe('nothing');
  });
  test('when it is a low limit, then room is counted upwards', () => {
    const low: LimitRule = { ...rule, direction: 'low', trip: 10, reset: 12 } as LimitRule;
    expect(standingNow(low, moment({ a: 9.5 }))).toMatchObject({ verdict: 'beyond', room: -0.5 });
    expect(standingNow(low, moment({ a: 13 }))).toMatchObject({ verdict: 'inside', room: 3 });
  });
});

describe('given a limit judged only when running for 5 s', () => {
  const rule: LimitRule = {
    ...base,
    ...delays,
    kind: 'threshold',
    channel: 'a',
    direction: 'high',
    trip: 100,
    reset: 90,
    when: ['running'],
    whenFor_s: 5,
  };
  test.each([
    { state: 'running', state_s: 5, isResting: false },
    { state: 'running', state_s: 4.99, isResting: true },
    { state: 'cooling', state_s: 60, isResting: true },
  ] as const)('when it is $state for $state_s s, then resting is $isResting', ({ state, state_s, isResting }) => {
    expect(standingNow(rule, moment({ a: 101 }, { state, state_s })).isResting).toBe(isResting);
  });
});

describe('given limits over several channels', () => {
  test('when one of a spread has failed, then it is beyond', () => {
    const rule: LimitRule = { ...base, ...delays, kind: 'spread', channels: ['a', 'b', 'c'], trip: 40, reset: 30 };
    expect(standingNow(rule, moment({ a: 100, b: 141 }))).toMatchObject({ verdict: 'beyond', value: 41, room: -1 });
    expect(standingNow(rule, moment({ a: 100, b: 140 })).verdict).toBe('between');
    expect(standingNow(rule, moment({ a: 100, b: NaN })).verdict).toBe('beyond');
    expect(standingNow(rule, moment({ a: 100 })).verdict).toBe('nothing');
  });
  test('when one sensor is lost, then it is named', () => {
    const rule: LimitRule = { ...base, kind: 'sensor', channels: ['a', 'b'], stale_ms: 500, onDelay_ms: 0 };
    expect(standingNow(rule, moment({ a: 1, b: NaN }))).toMatchObject({ verdict: 'beyond', subject: 'b' });
    expect(standingNow(rule, moment({ a: 1 })).verdict).toBe('inside');
  });
  test('when one is outside its range, then the worst is named, and at the end itself it is inside', () => {
    const rule: LimitRule = { ...base, ...delays, kind: 'range', channels: ['a', 'b'] };
    expect(standingNow(rule, moment({ a: 50, b: 100 }))).toMatchObject({ verdict: 'inside', subject: 'b', room: 0 });
    expect(standingNow(rule, moment({ a: -1, b: 50 }))).toMatchObject({ verdict: 'beyond', subject: 'a', room: -1 });
    expect(standingNow(rule, moment({ a: NaN, b: 50 }))).toMatchObject({ verdict: 'beyond', subject: 'a', room: null });
  });
  test('when two sources disagree, then it is in percent of the larger, and idle below the floor', () => {
    const rule: LimitRule = {
      ...base,
      kind: 'disagreement',
      channels: ['a', 'b'],
      trip_percent: 15,
      reset_percent: 10,
      floor: 0.5,
      onDelay_ms: 0,
    };
    expect(standingNow(rule, moment({ a: 10, b: 8 })).verdict).toBe('beyond');
    expect(standingNow(rule, moment({ a: 10, b: 8.5 })).verdict).toBe('between');
    expect(standingNow(rule, moment({ a: 0.4, b: 0.1 })).verdict).toBe('inside');
    expect(standingNow(rule, moment({ a: 10, b: NaN })).verdict).toBe('beyond');
  });
});

describe('given limits on inputs, link, fuel and hours', () => {
  const input = { ...base, kind: 'input', badState: 0, onDelay_ms: 0 } as const;
  test.each([
    { input: 'stop', verdict: 'inside' },
    { input: 'cage', verdict: 'beyond' },
    { input: 'door', verdict: 'nothing' },
  ])('when the input is $input, then it is $verdict (not known is bad)', ({ input: key, verdict }) => {
    expect(standingNow({ ...input, input: key }, moment({})).verdict).toBe(verdict);
  });
  test('when nothing is burnt, then fuel lasts for ever', () => {
    const rule: LimitRule = {
      ...{
        ...base,
        ...delays,
        kind: 'fuel-time',
        level_L: 'l',
        flow_LPerh: 'f',
        trip_min: 5,
        reset_min: 7,
        window_s: 30,
      },
    };
    expect(standingNow(rule, moment({ l: 1, f: 0 }))).toMatchObject({ verdict: 'inside', room: Infinity });
    expect(standingNow(rule, moment({ l: 1, f: 15 }))).toMatchObject({ verdict: 'beyond', value: 4, room: -1 });
    expect(standingNow(rule, moment({ l: 1, f: 10 }))).toMatchObject({ verdict: 'between', value: 6 });
    expect(standingNow(rule, moment({ l: NaN, f: 10 })).verdict).toBe('beyond');
  });
  test('when 30 h since locked are reached, then they are not yet over', () => {
    const rule: LimitRule = { ...base, kind: 'endurance', run_h: 6, sinceLocked_h: 30 };
    expect(standingNow(rule, moment({})).verdict).toBe('inside');
    const hours = { total_h: 40, sinceLocked_h: 30.01, longestRun_h: 2, run_h: 1 };
    expect(standingNow(rule, moment({}, { hours })).verdict).toBe('beyond');
  });
  test('when the recorder has stopped, then it is beyond whatever the disk', () => {
    const rule: LimitRule = { ...base, kind: 'recorder', held_s: 5, leastFree_MB: 500 };
    const recorder = { state: 'stopped', held_s: 0, freeBytes: 1e12 } as const;
    expect(standingNow(rule, moment({}, { recorder })).verdict).toBe('beyond');
  });
});

test('given every rule of the demo rig, when it stands against a bench that sends nothing, then each says something', () => {
  const verdicts = lapwing120.rules.map((rule) => standingNow(rule, moment({})).verdict);
  expect(verdicts).not.toContain(undefined);
  // A silent bench must not look healthy to a limit that watches a channel.
  lapwing120.rules.forEach((rule, i) => {
    if ('channel' in rule || 'channels' in rule) expect([rule.id, verdicts[i]]).not.toEqual([rule.id, 'inside']);
  });
});
