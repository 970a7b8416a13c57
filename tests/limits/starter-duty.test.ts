import { describe, expect, test } from 'vitest';
import { dutyExcess, newDuty, starterView, stepDuty } from '../../shared-core/limits/starter-duty.ts';

/** Common practice: at most 8 s of cranking, then at least 120 s of rest; two seconds of grace. */
const limits = { attempt_s: 8, rest_s: 120 };
const s = 1_000_000;

/** Worked by hand: seconds, starter, exceeded, then what the operator is told. */
function play(timeline: readonly (readonly [t_s: number, isEngaged: boolean])[]) {
  const duty = newDuty();
  return timeline.map(([t_s, isEngaged]) => {
    const isExceeded = stepDuty(limits, duty, t_s * s, isEngaged);
    const view = starterView(limits, duty, t_s * s);
    return [t_s, isExceeded, view.attempt_s, view.left_s, view.restLeft_s];
  });
}

describe('given 8 s of attempt and 120 s of rest', () => {
  test('when never cranked, then the whole attempt is left and no rest is owed', () => {
    expect(play([[500, false]])).toEqual([[500, false, 0, 8, 0]]);
  });

  test('when cranked for 8 s, then not exceeded; beyond it is, until let go', () => {
    expect(
      play([
        [10, true],
        [13, true],
        [18, true],
        [18.1, true],
        [19, false],
      ]),
    ).toEqual([
      [10, false, 0, 8, 0],
      [13, false, 3, 5, 0],
      [18, false, 8, 0, 0],
      [18.1, true, expect.closeTo(8.1), 0, 0],
      [19, false, 9, 0, 120],
    ]);
  });

  test('when let go for up to 2 s, then the attempt counts on', () => {
    expect(
      play([
        [0, true],
        [5, false],
        [7, true],
        [10, true],
        [10.1, true],
      ]),
    ).toEqual([
      [0, false, 0, 8, 0],
      [5, false, 5, 3, 120],
      [7, false, 5, 3, 0],
      [10, false, 8, 0, 0],
      [10.1, true, expect.closeTo(8.1), 0, 0],
    ]);
  });

  test('when the grace is over, then nothing is left until the rest is', () => {
    expect(
      play([
        [0, true],
        [5, false],
        [7.1, false],
        [60, false],
        [124.9, false],
        [125, false],
      ]),
    ).toEqual([
      [0, false, 0, 8, 0],
      [5, false, 5, 3, 120],
      [7.1, false, 0, 0, expect.closeTo(117.9)],
      [60, false, 0, 0, 65],
      [124.9, false, 0, 0, expect.closeTo(0.1)],
      [125, false, 0, 8, 0],
    ]);
  });

  test('when engaged before the rest is over, then exceeded at once; the rest begins anew', () => {
    expect(
      play([
        [0, true],
        [5, false],
        [60, true],
        [61, false],
        [180, false],
        [181, true],
      ]),
    ).toEqual([
      [0, false, 0, 8, 0],
      [5, false, 5, 3, 120],
      [60, true, 0, 0, 120],
      [61, false, 1, 0, 120],
      [180, false, 0, 0, 1],
      [181, false, 0, 8, 0],
    ]);
  });

  test('when the rest was exactly as long as it must be, then the next attempt is good', () => {
    expect(
      play([
        [0, true],
        [5, false],
        [125, true],
        [133, true],
      ]).map(([, isExceeded]) => isExceeded),
    ).toEqual([false, false, false, false]);
  });

  test('when asked between two samples, then the attempt has gone on', () => {
    const duty = newDuty();
    stepDuty(limits, duty, 0, true);
    expect(starterView(limits, duty, 2.5 * s)).toEqual({ isEngaged: true, attempt_s: 2.5, left_s: 5.5, restLeft_s: 0 });
  });
});

/**
 * Attempts of 8 s with 120 s of rest between them, heat with a time constant of 300 s, worked by hand:
 * an attempt of 8 s from heat h ends at 300 − (300 − h)·e^(−8/300), a rest of 120 s leaves e^(−0.4) of it.
 *   attempt 1: 7.8942, left 5.2917     attempt 2: 13.0467, left 8.7455     attempt 3: 16.4097, left 10.9997
 *   attempt 4: 18.6046, left 12.4711   attempt 5: 20.0372
 */
describe('given heat of at most 20 s of cranking, with a time constant of 300 s', () => {
  const heated = { ...limits, heat: { most_s: 20, tau_s: 300 } };
  const ends = [7.8942, 13.0467, 16.4097, 18.6046, 20.0372];
  test('when cranked for 8 s each 128 s, then the heat is carried over, and the fifth attempt exceeds', () => {
    const duty = newDuty();
    ends.forEach((end_s, i) => {
      const at_s = i * 128;
      expect(stepDuty(heated, duty, at_s * s, true)).toBe(false);
      stepDuty(heated, duty, (at_s + 8) * s, true);
      expect(duty.heat_s).toBeCloseTo(end_s, 3);
      expect(dutyExcess(heated, duty)).toBe(end_s > 20 ? 'heat' : null);
      stepDuty(heated, duty, (at_s + 8) * s, false);
    });
  });
  test('when asked before the fifth, then what is left of it is what the heat leaves', () => {
    const duty = newDuty();
    for (let i = 0; i < 4; i++) {
      stepDuty(heated, duty, i * 128 * s, true);
      stepDuty(heated, duty, (i * 128 + 8) * s, false);
    }
    const view = starterView(heated, duty, 512 * s);
    expect(view.heat_s).toBeCloseTo(12.4711, 3);
    expect(view.left_s).toBeCloseTo(20 - 12.4711, 3);
  });
});

describe('given at most 3 attempts in an hour', () => {
  const counted = { ...limits, attemptsPerHour: 3 };
  const crank = (duty: ReturnType<typeof newDuty>, at_s: number) => {
    const isExceeded = stepDuty(counted, duty, at_s * s, true);
    stepDuty(counted, duty, (at_s + 2) * s, false);
    return isExceeded;
  };
  test('when the fourth begins within the hour of the first, then it exceeds; an hour after the first it does not', () => {
    const early = newDuty();
    expect([0, 200, 400, 3599].map((at_s) => crank(early, at_s))).toEqual([false, false, false, true]);
    const late = newDuty();
    expect([0, 200, 400, 3600].map((at_s) => crank(late, at_s))).toEqual([false, false, false, false]);
  });
  test('when all are used, then nothing is left until the first is an hour old', () => {
    const duty = newDuty();
    for (const at_s of [0, 200, 400]) crank(duty, at_s);
    expect(starterView(counted, duty, 1000 * s)).toMatchObject({ left_s: 0, restLeft_s: 2600, attemptsLeft: 0 });
    expect(starterView(counted, duty, 3600 * s)).toMatchObject({ left_s: 8, restLeft_s: 0, attemptsLeft: 1 });
  });
  test('when let go for less than the grace, then it is the same attempt', () => {
    const duty = newDuty();
    crank(duty, 0);
    stepDuty(counted, duty, 3 * s, true);
    expect(duty.attempts_us).toEqual([0]);
  });
});
