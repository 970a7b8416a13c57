/** Results of a back-test over several sessions, added up. */
import { describe, expect, test } from 'vitest';
import { type ResultRow, sumsOf, sumsWords } from '../../../renderer/review/back-test-sums.ts';

function row(over: Partial<ResultRow['result']>, duration_us = 3.6e9): ResultRow {
  return {
    session: { session: 's', duration_us, runs: 1, aborts: [], rules: [] },
    result: {
      ...{ ruleId: 'r', title: 'R', level: 'caution', isJudged: true, count: 0, first_us: null, trips: [] },
      ...{ recorded: null, earlier_s: null, caught: 0, missed: 0, unfollowed: 0, medianLead_s: null },
      ...over,
    },
  };
}

describe('given results of three sessions', () => {
  const rows = [
    row({ count: 2, recorded: { count: 1, first_us: 5, trips_us: [5] }, caught: 1, missed: 0, unfollowed: 1 }),
    row({ count: 0, recorded: { count: 0, first_us: null, trips_us: [] }, missed: 1 }),
    row({ count: 1, unfollowed: 1 }, 1.8e9),
  ];
  test('then they are added up, and a session without the rule counts nothing recorded', () => {
    expect(sumsOf(rows)).toEqual({
      sessions: 3,
      count: 3,
      recorded: 1,
      caught: 1,
      aborts: 2,
      unfollowed: 2,
      hours: 2.5,
    });
  });
  test('then one sentence says so', () => {
    expect(sumsWords(sumsOf(rows))).toBe(
      'In 3 sessions (2.50\u2009h) it would trip 3 times; as it was, it tripped once. It comes before 1 of 2 other aborts. 2 of its trips were followed by no other abort.',
    );
  });
});

test('given a new rule that never trips, when it is summed up, then nothing is said of what was not there', () => {
  expect(sumsWords(sumsOf([row({})]))).toBe('In 1 session (1.00\u2009h) it would never trip.');
});
