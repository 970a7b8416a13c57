/** Results of a back-test, added up over its sessions, in figures and one sentence. Pure. */
import type { BacktestView } from '../../shared-core/bridge/contract.ts';
import type { RuleBackTest, SessionBackTest } from '../../shared-core/limits/back-test.ts';
import { formatNumber } from '../ui/format.ts';

export interface ResultRow {
  readonly session: SessionBackTest;
  readonly result: RuleBackTest;
}

/** Rows of one rule, in the order of the sessions. */
export function rowsOf(view: BacktestView, ruleId: string): readonly ResultRow[] {
  return view.results.flatMap((session) => {
    const result = session.rules.find((each) => each.ruleId === ruleId);
    return result === undefined ? [] : [{ session, result }];
  });
}

export interface BackTestSums {
  readonly sessions: number;
  readonly count: number;
  /** Null where no session held the rule. */
  readonly recorded: number | null;
  readonly caught: number;
  readonly aborts: number;
  readonly unfollowed: number;
  readonly hours: number;
}

export function sumsOf(rows: readonly ResultRow[]): BackTestSums {
  const sum = (of: (row: ResultRow) => number): number => rows.reduce((total, row) => total + of(row), 0);
  return {
    sessions: rows.length,
    count: sum(({ result }) => result.count),
    recorded: rows.some(({ result }) => result.recorded !== null)
      ? sum(({ result }) => result.recorded?.count ?? 0)
      : null,
    caught: sum(({ result }) => result.caught),
    aborts: sum(({ result }) => result.caught + result.missed),
    unfollowed: sum(({ result }) => result.unfollowed),
    hours: sum(({ session }) => session.duration_us) / 3.6e9,
  };
}

/** "In 3 sessions (2.4 h) it would trip 4 times; then it tripped once. …" */
export function sumsWords(sums: BackTestSums): string {
  const sessions = sums.sessions === 1 ? '1 session' : `${sums.sessions} sessions`;
  const first = `In ${sessions} (${formatNumber(sums.hours, sums.hours < 10 ? 2 : 0)}\u2009h) it would ${sums.count === 0 ? 'never trip' : `trip ${times(sums.count)}`}`;
  const then =
    sums.recorded === null
      ? ''
      : `; as it was, it ${sums.recorded === 0 ? 'never tripped' : `tripped ${times(sums.recorded)}`}`;
  const aborts =
    sums.aborts === 0
      ? ''
      : ` It comes before ${sums.caught} of ${sums.aborts} other ${sums.aborts === 1 ? 'abort' : 'aborts'}.`;
  const nothing =
    sums.unfollowed === 0
      ? ''
      : ` ${sums.unfollowed} of its trips ${sums.unfollowed === 1 ? 'was' : 'were'} followed by no other abort.`;
  return `${first}${then}.${aborts}${nothing}`;
}

function times(count: number): string {
  return count === 1 ? 'once' : `${count} times`;
}
