/** Engine hours. */
import { describe, expect, test } from 'vitest';
import { engineHours, hoursWords } from '../../../renderer/logbook/hours.ts';
import { run, session } from './session-samples.ts';

describe('given sessions of both kinds', () => {
  test('when hours are added up, then simulated runs are apart and never engine hours', () => {
    const hours = engineHours([
      session({ runs: [run(10, 110), run(200, 260)] }),
      session({ provenance: 'SIMULATED', runs: [run(0, 600)] }),
    ]);
    expect(hours.engine).toEqual({ runs: 2, time_s: 160, unended: 0 });
    expect(hours.simulated).toEqual({ runs: 1, time_s: 600, unended: 0 });
  });
  test('when a run has no stop, then it counts to the end of its session and is named', () => {
    expect(engineHours([session({ runs: [run(500, null)] })]).engine).toEqual({ runs: 1, time_s: 100, unended: 1 });
  });
  test('when there is none, then nothing is counted', () => {
    expect(engineHours([]).engine).toEqual({ runs: 0, time_s: 0, unended: 0 });
  });
});

test.each([
  { s: 0, words: '0\u2009h' },
  { s: 359, words: '5\u2009min 59\u2009s' },
  { s: 360, words: '0.1\u2009h' },
  { s: 5400, words: '1.5\u2009h' },
])('given $s s, then the log book says "$words"', ({ s, words }) => {
  expect(hoursWords(s)).toBe(words);
});
