import { describe, expect, test } from 'vitest';
import { inListOrder, sightBySubject } from '../../renderer/app/alarm-sight.ts';
import { emptyPresent, readingOf, staleTimes_us, takeStep } from '../../renderer/app/reading.ts';
import { ruleId } from '../../shared-core/base/ids.ts';
import type { DisplayBatch } from '../../shared-core/bridge/contract.ts';
import { type QualityCode, quality } from '../../shared-core/channels/quality.ts';
import type { Alarm } from '../../shared-core/limits/rules.ts';
import { lapwing120 } from '../../shared-core/rig/lapwing.ts';

function batch(to_us: number, last: number, code: QualityCode, updated_us: number): DisplayBatch {
  return {
    stream: 'live',
    layoutVersion: 1,
    from_us: to_us - 50_000,
    to_us,
    merged: 1,
    min: Float64Array.of(last),
    max: Float64Array.of(last),
    last: Float64Array.of(last),
    quality: Uint8Array.of(code),
    updated_us: Float64Array.of(updated_us),
    arrivedAt_epochMs: 0,
  };
}

describe('given a channel that was good at 10 s', () => {
  function good() {
    const present = emptyPresent(1);
    takeStep(present, batch(10e6, 182.5, quality.good, 10e6));
    return present;
  }

  test.each([
    { now_us: 12e6, state: 'good' },
    { now_us: 12e6 + 1, state: 'stale' },
  ])('when it is $now_us µs and it may be 2 s old, then it is $state', ({ now_us, state }) => {
    expect(readingOf(good(), 0, now_us, 2e6, undefined).state).toBe(state);
  });

  test('when a step has no sample of it, then its value and age are kept', () => {
    const present = good();
    takeStep(present, batch(10.5e6, NaN, quality.good, 10e6));
    expect(readingOf(present, 0, 10.5e6, 2e6, undefined)).toMatchObject({ state: 'good', value: 182.5, age_s: 0.5 });
  });

  test.each([
    { code: quality.open, fault: 'open circuit' },
    { code: quality.short, fault: 'short circuit' },
    { code: quality.over, fault: 'over range' },
    { code: quality.under, fault: 'under range' },
  ])('when its sensor is said to be $fault, then it has failed, aged since the last good value', ({ code, fault }) => {
    const present = good();
    takeStep(present, batch(14e6, NaN, code, 14e6));
    expect(readingOf(present, 0, 14e6, 2e6, undefined)).toMatchObject({
      state: 'failed',
      fault,
      value: 182.5,
      age_s: 4,
    });
  });

  test('when the bench itself says that it is stale, then it is, however young', () => {
    const present = good();
    takeStep(present, batch(10.1e6, NaN, quality.stale, 10.1e6));
    expect(readingOf(present, 0, 10.1e6, 2e6, undefined).state).toBe('stale');
  });
});

test('given a channel that never spoke, when it is read, then it is absent and has no value', () => {
  expect(readingOf(emptyPresent(1), 0, 5e6, 2e6, undefined)).toMatchObject({ state: 'absent', value: NaN });
  expect(readingOf(null, -1, 5e6, 2e6, undefined).state).toBe('absent');
});

test('given the demo rig, when stale times are asked, then rpm has the 500 ms of its sensor rule', () => {
  expect(staleTimes_us(lapwing120.rules).get('rpm')).toBe(500_000);
});

function alarm(over: Partial<Alarm>): Alarm {
  return {
    id: 'a',
    rule: ruleId('a'),
    level: 'caution',
    title: 'CHT 1 high',
    subject: 'cht1',
    state: 'active-unacknowledged',
    trippedAt_us: 0,
    returnedAt_us: null,
    acknowledgedAt_us: null,
    value: 191,
    limit: 190,
    unit: '°C',
    isFirstOut: false,
    consequence: '',
    operatorAction: '',
    ...over,
  };
}

describe('given several alarms', () => {
  test('when two stand on one channel, then the graver marks it, and blinks by its own state', () => {
    const sights = sightBySubject([
      alarm({ id: 'a', level: 'abort', state: 'active-acknowledged' }),
      alarm({ id: 'b', level: 'caution', state: 'active-unacknowledged' }),
    ]);
    expect(sights.get('cht1')).toEqual({ level: 'abort', isBlinking: false });
  });

  test.each(['returned-unacknowledged', 'latched'] as const)(
    'when one is %s, then it marks the list but not the value',
    (state) => {
      expect(sightBySubject([alarm({ state })]).size).toBe(0);
    },
  );

  test('when they are listed, then standing leads, then grave, then first-out, then new', () => {
    const order = inListOrder([
      alarm({ id: 'old', trippedAt_us: 1 }),
      alarm({ id: 'new', trippedAt_us: 2 }),
      alarm({ id: 'gone', level: 'abort', state: 'latched' }),
      alarm({ id: 'grave', level: 'warning' }),
      alarm({ id: 'first', isFirstOut: true }),
    ]);
    expect(order.map((a) => a.id)).toEqual(['grave', 'first', 'new', 'old', 'gone']);
  });
});
