import { describe, expect, test } from 'vitest';
import { newDuty, starterView, stepDuty } from '../../shared-core/limits/starter-duty.ts';

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
