/** What the log book's filter lets through, and what can be chosen in it. */
import { describe, expect, test } from 'vitest';
import { choicesOf, filterSessions, noFilter, type SessionFilter } from '../../../renderer/logbook/session-filter.ts';
import { binWords, proofWords, takenWords } from '../../../renderer/logbook/session-words.ts';
import { run, session } from './session-samples.ts';

describe('given a filter', () => {
  const rows = [
    session({ id: 'a', note: 'New propeller, first run', runs: [run(0, 10)] }),
    session({ id: 'b', isKept: true, alarms: 2, tags: ['endurance', 'plugs'], engine: 'Boxer 200' }),
    session({ id: 'c', provenance: 'SIMULATED', detail: 'Warm at idle', rigName: 'Barn', tags: ['endurance'] }),
  ];
  const days: Readonly<Record<string, string>> = { a: '2026-03-03', b: '2026-03-04', c: '2026-03-05' };
  const at = rows.map((row, i) => ({ ...row, startedAt_epochMs: i }));
  const idsOf = (filter: Partial<SessionFilter>) =>
    filterSessions(at, { ...noFilter, ...filter }, (epochMs) => `${days[rows[epochMs]!.id]} 14:05:09`).map(
      (row) => row.id,
    );

  test('when it is empty, then all pass', () => expect(idsOf({})).toEqual(['a', 'b', 'c']));
  test('when words are given in any case and order, then all of them must be there', () => {
    expect(idsOf({ text: 'RUN propeller' })).toEqual(['a']);
    expect(idsOf({ text: 'propeller idle' })).toEqual([]);
  });
  test('when a date or a provenance is given, then it is looked for too', () => {
    expect(idsOf({ text: '2026-03-05 simulated' })).toEqual(['c']);
  });
  test('when only runs or only kept ones are wanted, then only those pass', () => {
    expect(idsOf({ onlyWithRuns: true })).toEqual(['a']);
    expect(idsOf({ onlyKept: true })).toEqual(['b']);
    expect(idsOf({ onlyKept: true, onlyWithRuns: true })).toEqual([]);
  });

  test('when a rig sheet, an engine or a tag is chosen, then only sessions with it pass', () => {
    expect(idsOf({ rig: 'Barn' })).toEqual(['c']);
    expect(idsOf({ engine: 'Boxer 200' })).toEqual(['b']);
    expect(idsOf({ tag: 'endurance' })).toEqual(['b', 'c']);
    expect(idsOf({ tag: 'endurance', engine: 'Boxer 200' })).toEqual(['b']);
    expect(idsOf({ text: 'plugs' })).toEqual(['b']);
  });
  test('when only those with alarms are wanted, then only those pass', () => {
    expect(idsOf({ onlyWithAlarms: true })).toEqual(['b']);
  });
  test.each([
    { fromDay: '2026-03-04', toDay: '', ids: ['b', 'c'] },
    { fromDay: '', toDay: '2026-03-04', ids: ['a', 'b'] },
    { fromDay: '2026-03-04', toDay: '2026-03-04', ids: ['b'] },
    { fromDay: '2026-03-06', toDay: '', ids: [] },
  ])('when days from "$fromDay" to "$toDay" are wanted, then both ends are in: $ids', ({ ids, ...filter }) => {
    expect(idsOf(filter)).toEqual(ids);
  });
  test('when choices are offered, then each stands once, in order', () => {
    expect(choicesOf(rows)).toEqual({
      rigs: ['Barn', 'Lapwing 120'],
      engines: ['Boxer 200', 'Lapwing 120'],
      tags: ['endurance', 'plugs'],
    });
  });
});

test('given a session put into the bin, then the log book says since when, and until when it can be restored', () => {
  const dateOf = (epochMs: number): string => new Date(epochMs).toISOString();
  expect(binWords(Date.UTC(2026, 2, 4, 12), dateOf)).toBe(
    'In the bin since 2026-03-04; gone for good after 2026-04-03.',
  );
});

test.each([
  ['one that is new', [false], 'f: 1 session verified and taken in.'],
  ['two that are new', [false, false], 'f: 2 sessions verified and taken in.'],
  ['one of two that is new', [false, true], 'f: 1 session verified and taken in; 1 more was there already.'],
  ['one that is known', [true], 'f: its session was in the log book already, the same in every number.'],
  ['two that are known', [true, true], 'f: its 2 sessions were in the log book already, the same in every number.'],
  ['none', [], 'f holds no session.'],
])('given a session file with %s, when taken in, then it says so', (_, known, words) => {
  expect(
    takenWords(
      'f',
      known.map((wasThere, i) => ({ id: `s${i}`, wasThere })),
    ),
  ).toBe(words);
});

test('given a recording that was verified, when told, then it says what was read, and what helps where it is not whole', () => {
  const read = { blocks: 3, frames: 12_345, events: 7, findings: [] };
  expect(proofWords({ ...read, isWhole: true })).toMatch(
    /^12.345 frames in 3 blocks and 7 events; the checksum of each block and event holds\.$/,
  );
  expect(proofWords({ ...read, isWhole: false })).toContain('salvage');
});
