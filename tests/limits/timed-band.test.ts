import { describe, expect, test } from 'vitest';
import type { TimedBandRule } from '../../shared-core/limits/rules.ts';
import { holdTimedBand, newTimedBand, stepTimedBand } from '../../shared-core/limits/timed-band.ts';
import { rule } from '../pipeline-support.ts';

/** Above 6,600 rpm for at most 2 s in a run, counted until back below 6,500. */
const band = rule.band('rated') as TimedBandRule;
const s = 1_000_000;

describe('given 2 s allowed in the band', () => {
  test('when the time is used exactly, then not tripped; a moment more trips', () => {
    const state = newTimedBand();
    expect(stepTimedBand(band, state, 0, 6601, 1)).toBe(false);
    expect(stepTimedBand(band, state, 2 * s, 6601, 1)).toBe(false);
    expect(stepTimedBand(band, state, 2 * s + 1, 6601, 1)).toBe(true);
  });
  test('when at the trip level itself, then no time is used', () => {
    const state = newTimedBand();
    stepTimedBand(band, state, 0, 6600, 1);
    expect(stepTimedBand(band, state, 10 * s, 6600, 1)).toBe(false);
  });
  test('when used in two parts of one run, then they are added up', () => {
    const state = newTimedBand();
    stepTimedBand(band, state, 0, 6700, 1);
    stepTimedBand(band, state, 1.5 * s, 6400, 1);
    stepTimedBand(band, state, 10 * s, 6700, 1);
    expect(stepTimedBand(band, state, 10.5 * s, 6700, 1)).toBe(false);
    expect(stepTimedBand(band, state, 10.6 * s, 6700, 1)).toBe(true);
  });
  test('when between reset and trip, then time in the band goes on, and none begins', () => {
    const begun = newTimedBand();
    stepTimedBand(band, begun, 0, 6700, 1);
    stepTimedBand(band, begun, s, 6550, 1);
    expect(stepTimedBand(band, begun, 2.1 * s, 6550, 1)).toBe(true);
    const fresh = newTimedBand();
    stepTimedBand(band, fresh, 0, 6550, 1);
    expect(stepTimedBand(band, fresh, 10 * s, 6550, 1)).toBe(false);
  });
  test('when it leaves the band, then it returns; on the way back it trips at once', () => {
    const state = newTimedBand();
    stepTimedBand(band, state, 0, 6700, 1);
    expect(stepTimedBand(band, state, 3 * s, 6700, 1)).toBe(true);
    expect(stepTimedBand(band, state, 4 * s, 6499, 1)).toBe(false);
    expect(stepTimedBand(band, state, 5 * s, 6700, 1)).toBe(true);
  });
  test('when a new run begins, then the time is fresh', () => {
    const state = newTimedBand();
    stepTimedBand(band, state, 0, 6700, 1);
    stepTimedBand(band, state, 3 * s, 6700, 1);
    expect(stepTimedBand(band, state, 4 * s, 6700, 2)).toBe(false);
    expect(stepTimedBand(band, state, 5.9 * s, 6700, 2)).toBe(false);
  });
  test('when the value is NaN, then it counts as in the band; held, it does not count', () => {
    const counted = newTimedBand();
    stepTimedBand(band, counted, 0, NaN, 1);
    expect(stepTimedBand(band, counted, 2.1 * s, NaN, 1)).toBe(true);
    const held = newTimedBand();
    stepTimedBand(band, held, 0, 6700, 1);
    holdTimedBand(held, 5 * s);
    expect(stepTimedBand(band, held, 6 * s, 6700, 1)).toBe(false);
  });
});
