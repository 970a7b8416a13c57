/** Engine hours, and what the log book's filter lets through. */
import { describe, expect, test } from 'vitest';
import { engineHours, filterSessions, hoursWords, noFilter } from '../../../renderer/logbook/hours.ts';
import type { RunRow, SessionRow } from '../../../shared-core/bridge/contract.ts';

function run(from_s: number, to_s: number | null): RunRow {
  return { run: 1, from_us: from_s * 1e6, to_us: to_s === null ? null : to_s * 1e6, peakSpeed_rpm: 6000 };
}

function session(change: Partial<SessionRow>): SessionRow {
  return {
    id: '20260304-140509-ab12',
    startedAt_epochMs: Date.UTC(2026, 2, 4, 14, 5, 9),
    duration_us: 600e6,
    provenance: 'LIVE',
    rigName: 'Lapwing 120',
    rigVersion: 1,
    detail: '/dev/ttyUSB0',
    runs: [],
    alarms: 0,
    aborts: 0,
    marks: 0,
    isKept: false,
    isOpen: false,
    breakNote: '',
    note: '',
    bytes: 1000,
    tags: [],
    binnedAt_epochMs: null,
    ...change,
  };
}

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

describe('given a filter', () => {
  const rows = [
    session({ id: 'a', note: 'New propeller, first run', runs: [run(0, 10)] }),
    session({ id: 'b', isKept: true }),
    session({ id: 'c', provenance: 'SIMULATED', detail: 'Warm at idle' }),
  ];
  const idsOf = (filter: Partial<typeof noFilter>) =>
    filterSessions(rows, { ...noFilter, ...filter }, () => '2026-03-04 14:05:09').map((row) => row.id);

  test('when it is empty, then all pass', () => expect(idsOf({})).toEqual(['a', 'b', 'c']));
  test('when words are given in any case and order, then all of them must be there', () => {
    expect(idsOf({ text: 'RUN propeller' })).toEqual(['a']);
    expect(idsOf({ text: 'propeller idle' })).toEqual([]);
  });
  test('when a date or a provenance is given, then it is looked for too', () => {
    expect(idsOf({ text: '2026-03-04 simulated' })).toEqual(['c']);
  });
  test('when only runs or only kept ones are wanted, then only those pass', () => {
    expect(idsOf({ onlyWithRuns: true })).toEqual(['a']);
    expect(idsOf({ onlyKept: true })).toEqual(['b']);
    expect(idsOf({ onlyKept: true, onlyWithRuns: true })).toEqual([]);
  });
});
