import { describe, expect, test } from 'vitest';
import { newDelayed } from '../../shared-core/limits/delayed.ts';
import type { ThresholdRule } from '../../shared-core/limits/rules.ts';
import { isBeyond, isInside, stepThreshold } from '../../shared-core/limits/threshold.ts';
import { rule } from '../pipeline-support.ts';

const high = { direction: 'high', trip: 230, reset: 220 } as const;
const low = { direction: 'low', trip: 11.5, reset: 11.8 } as const;

describe('given a high limit, trip 230 and reset 220', () => {
  test.each([
    { sample: 219.9, beyond: false, inside: true },
    { sample: 220, beyond: false, inside: false },
    { sample: 230, beyond: false, inside: false },
    { sample: 230.1, beyond: true, inside: false },
    { sample: NaN, beyond: true, inside: false },
    { sample: Number.POSITIVE_INFINITY, beyond: true, inside: false },
  ])('when $sample arrives, then beyond $beyond and inside $inside', ({ sample, beyond, inside }) => {
    expect(isBeyond(high, sample)).toBe(beyond);
    expect(isInside(high, sample)).toBe(inside);
  });
});

describe('given a low limit, trip 11.5 and reset 11.8', () => {
  test.each([
    { sample: 11.81, beyond: false, inside: true },
    { sample: 11.8, beyond: false, inside: false },
    { sample: 11.5, beyond: false, inside: false },
    { sample: 11.49, beyond: true, inside: false },
    { sample: NaN, beyond: true, inside: false },
  ])('when $sample arrives, then beyond $beyond and inside $inside', ({ sample, beyond, inside }) => {
    expect(isBeyond(low, sample)).toBe(beyond);
    expect(isInside(low, sample)).toBe(inside);
  });
});

/** States after each sample, samples 100 ms apart. */
function states(draft: Partial<ThresholdRule>, samples: readonly number[]): boolean[] {
  const each = rule.threshold('cht', { trip: 230, reset: 220, ...draft }) as ThresholdRule;
  const delayed = newDelayed();
  return samples.map((sample, i) => stepThreshold(each, delayed, i * 100_000, sample));
}
function trips(found: readonly boolean[]): number {
  return found.filter((isTripped, i) => isTripped && found[i - 1] !== true).length;
}

describe('given no delays', () => {
  test('when the channel chatters between reset and just over trip, then it trips once', () => {
    const chatter = Array.from({ length: 100 }, (_, i) => (i % 2 === 0 ? 230.5 : 220.5));
    expect(trips(states({}, chatter))).toBe(1);
  });
  test('when it leaves the deadband downwards each time, then it trips each time', () => {
    const wild = Array.from({ length: 10 }, (_, i) => (i % 2 === 0 ? 230.5 : 219));
    expect(trips(states({}, wild))).toBe(5);
  });
});

describe('given an on-delay of 300 ms', () => {
  test('when a spike is shorter, then it does not trip', () => {
    expect(states({ onDelay_ms: 300 }, [200, 240, 240, 240, 200])).toEqual([false, false, false, false, false]);
  });
  test('when it lasts exactly so long, then it trips with that sample', () => {
    expect(states({ onDelay_ms: 300 }, [200, 240, 240, 240, 240])).toEqual([false, false, false, false, true]);
  });
  test('when a spike falls into the deadband and stays there, then it does not trip', () => {
    expect(trips(states({ onDelay_ms: 300 }, [200, 240, 225, 225, 225, 225, 225, 225]))).toBe(0);
  });
  test('when two spikes are short, then their times are not added', () => {
    expect(trips(states({ onDelay_ms: 300 }, [240, 240, 240, 225, 240, 240, 240, 225]))).toBe(0);
  });
  test('when NaN lasts so long, then it trips', () => {
    expect(states({ onDelay_ms: 300 }, [NaN, NaN, NaN, NaN])).toEqual([false, false, false, true]);
  });
});

describe('given an off-delay of 200 ms', () => {
  test('when it is inside for less, then it stays tripped', () => {
    expect(states({ offDelay_ms: 200 }, [240, 210, 210, 225, 210, 210])).toEqual([true, true, true, true, true, true]);
  });
  test('when it is inside for so long, then it returns with that sample', () => {
    expect(states({ offDelay_ms: 200 }, [240, 210, 210, 210])).toEqual([true, true, true, false]);
  });
});
