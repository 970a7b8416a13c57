import { describe, expect, test } from 'vitest';
import { type RunEvidence, RunTracker } from '../../shared-core/program/run-state.ts';

const detection = { rest_rpm: 60, running_rpm: 1100, runningHold_s: 1, cool_degC: 80 };
const s = 1_000_000;
const still: RunEvidence = { speed_rpm: 0, isStarterEngaged: false, hasHeads: true, hottest_degC: 20 };

/** "state run" after each step: seconds and what differs from an engine at rest. */
function play(steps: readonly (readonly [number, Partial<RunEvidence>])[], tracker = new RunTracker(detection)) {
  return steps.map(([t_s, evidence]) => {
    tracker.step(t_s * s, { ...still, ...evidence });
    return `${tracker.state} ${tracker.run}`;
  });
}
const crank = { isStarterEngaged: true, speed_rpm: 400 };
const run = { speed_rpm: 2000, hottest_degC: 150 };

describe('given an engine at rest', () => {
  test('when it is cranked, runs, stops hot and cools, then the states follow, in one run', () => {
    expect(
      play([
        [0, {}],
        [1, crank],
        [2, { speed_rpm: 1100 }],
        [2.99, { speed_rpm: 1100 }],
        [3, { speed_rpm: 1100 }],
        [60, run],
        [61, { hottest_degC: 150 }],
        [61.49, { hottest_degC: 150 }],
        [61.5, { hottest_degC: 150 }],
        [600, { hottest_degC: 80 }],
        [601, { hottest_degC: 79.9 }],
      ]),
    ).toEqual([
      'standing 0',
      'cranking 1',
      'cranking 1',
      'cranking 1',
      'running 1',
      'running 1',
      'running 1',
      'running 1',
      'cooling 1',
      'cooling 1',
      'standing 1',
    ]);
  });
  test('when an attempt fails, then its number is given back, and the run begins with the crank that led to it', () => {
    const tracker = new RunTracker(detection);
    expect(
      play(
        [
          [1, crank],
          [3, {}],
          [3.5, {}],
          [130, crank],
          [131, { speed_rpm: 1500 }],
          [132, { speed_rpm: 1500 }],
        ],
        tracker,
      ),
    ).toEqual(['cranking 1', 'cranking 1', 'standing 0', 'cranking 1', 'cranking 1', 'running 1']);
    expect(tracker.clock).toEqual({ state: 'running', since_us: 132 * s, run: 1, runStartedAt_us: 130 * s });
  });
  test('when the next attempt after a run fails, then the clock shows the run that was', () => {
    const tracker = new RunTracker(detection);
    const states = play(
      [
        [1, crank],
        [2, run],
        [3, run],
        [60, { hottest_degC: 150 }],
        [61, { hottest_degC: 150 }],
        [62, { ...crank, hottest_degC: 150 }],
        [64, { hottest_degC: 150 }],
        [65, { hottest_degC: 150 }],
      ],
      tracker,
    );
    expect(states.slice(4)).toEqual(['cooling 1', 'cranking 2', 'cranking 2', 'cooling 1']);
    expect(tracker.clock.runStartedAt_us).toBe(1 * s);
  });
  test('when the propeller is swung by hand, then that is cranking, too', () => {
    expect(play([[1, { speed_rpm: 59.9 }]])).toEqual(['standing 0']);
    expect(play([[1, { speed_rpm: 60 }]])).toEqual(['cranking 1']);
  });
  test('when it kicks above running speed for a moment, then it is not running', () => {
    expect(
      play([
        [1, crank],
        [2, { speed_rpm: 1500 }],
        [2.5, { speed_rpm: 900 }],
        [3, { speed_rpm: 1500 }],
        [3.9, { speed_rpm: 1500 }],
      ]).at(-1),
    ).toBe('cranking 1');
  });
});

describe('given a running engine', () => {
  function running() {
    const tracker = new RunTracker(detection);
    play(
      [
        [1, crank],
        [2, run],
        [3, run],
      ],
      tracker,
    );
    return tracker;
  }
  test('when one pulse is missed, then it still runs', () => {
    expect(
      play(
        [
          [4, { speed_rpm: 0 }],
          [4.1, run],
          [4.2, { speed_rpm: 0 }],
          [4.6, { speed_rpm: 0 }],
        ],
        running(),
      ),
    ).toEqual(['running 1', 'running 1', 'running 1', 'running 1']);
  });
  test('when its rpm is not known, then it is taken to run, however long', () => {
    expect(
      play(
        [
          [4, { speed_rpm: NaN }],
          [4000, { speed_rpm: NaN }],
        ],
        running(),
      ),
    ).toEqual(['running 1', 'running 1']);
  });
  test('when no head is known as it stops, then it is not called cool', () => {
    const tracker = running();
    expect(
      play(
        [
          [4, { hottest_degC: NaN }],
          [5, { hottest_degC: NaN }],
        ],
        tracker,
      ).at(-1),
    ).toBe('cooling 1');
    expect(
      play(
        [
          [9, { hottest_degC: NaN }],
          [10, { hottest_degC: 40 }],
        ],
        tracker,
      ),
    ).toEqual(['cooling 1', 'standing 1']);
  });
  test('when the stand has no head sensors, then a stop leads straight to standing', () => {
    const bare = { hasHeads: false, hottest_degC: NaN };
    expect(
      play(
        [
          [4, bare],
          [5, bare],
        ],
        running(),
      ).at(-1),
    ).toBe('standing 1');
  });
});

describe('given a failed pickup at rest', () => {
  test('when the starter is engaged, then cranking is still seen; without it nothing is', () => {
    expect(
      play([
        [1, { speed_rpm: NaN }],
        [2, { speed_rpm: NaN, isStarterEngaged: true }],
      ]),
    ).toEqual(['standing 0', 'cranking 1']);
  });
});
