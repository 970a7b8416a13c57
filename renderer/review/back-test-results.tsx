/** When a tried limit would have tripped, against what happened: one lane of time per session, and the figures. */
import type { BacktestView, SessionRow } from '../../shared-core/bridge/contract.ts';
import type { LimitRule } from '../../shared-core/limits/rules.ts';
import { addressOf } from '../app/places.ts';
import { Button } from '../ui/button.tsx';
import { formatClock, formatNumber, formatWallTime, NO_VALUE } from '../ui/format.ts';
import { LevelMark } from '../ui/level-mark.tsx';
import { type Column, Table } from '../ui/table.tsx';
import { type ResultRow, rowsOf, sumsOf, sumsWords } from './back-test-sums.ts';

export interface BackTestResultsProps {
  readonly view: BacktestView;
  readonly rule: LimitRule;
  /** The session that is open. */
  readonly id: string;
  readonly sessions: readonly SessionRow[];
  readonly onPick: (t_us: number) => void;
}

export function BackTestResults({ view, rule, id, sessions, onPick }: BackTestResultsProps) {
  const rows = rowsOf(view, rule.id);
  const nameOf = (session: string): string => {
    const row = sessions.find((each) => each.id === session);
    return row === undefined ? session : formatWallTime(row.startedAt_epochMs);
  };
  const here = rows.find((row) => row.session.session === id);
  return (
    <div className="back-test-results" data-testid="back-test-results" data-state={view.state}>
      {view.sentence !== '' && <p role="status">{view.sentence}</p>}
      {view.state === 'cancelled' && <p role="status">Cancelled. What is shown was done before.</p>}
      {rows.length > 0 && (
        <p className="back-test-sum" data-testid="back-test-sum">
          {sumsWords(sumsOf(rows))}
        </p>
      )}
      {rows.map((row) => (
        <Lane key={row.session.session} row={row} name={nameOf(row.session.session)} />
      ))}
      {rows.length > 0 && (
        <Table
          caption="Back-test by session"
          columns={columnsFor(id, nameOf, onPick)}
          rows={rows}
          keyOf={(row) => row.session.session}
        />
      )}
      {rows.some((row) => !row.result.isJudged) && (
        <p>Where “not judged” stands, nothing on that bench feeds the limit.</p>
      )}
      {here !== undefined && here.result.trips.length > 0 && (
        <p className="back-test-times">
          In this session it would trip at{' '}
          {here.result.trips.slice(0, 20).map((trip) => (
            <Button small key={`${trip.alarmId}@${trip.t_us}`} onClick={() => onPick(trip.t_us)}>
              {formatClock(trip.t_us / 1e6)}
            </Button>
          ))}
          {here.result.count > 20 && ` and ${here.result.count - 20} times more.`}
        </p>
      )}
    </div>
  );
}

/** Above the line what it would have done, below it what happened. */
function Lane({ row: { session, result }, name }: { readonly row: ResultRow; readonly name: string }) {
  const tripped_us = result.recorded?.trips_us ?? [];
  const left = (t_us: number): string => `${((100 * t_us) / Math.max(1, session.duration_us)).toFixed(3)}%`;
  const others = session.aborts.filter((abort) => !tripped_us.includes(abort.t_us));
  return (
    <div className="back-test-lane" data-testid={`lane-${session.session}`}>
      <div className="lane-head">
        <b>{name}</b>
        <span className="muted">{formatClock(session.duration_us / 1e6)}</span>
      </div>
      <div
        className="lane-track"
        role="img"
        aria-label={`${name}: would trip ${result.count} times; tripped then ${result.recorded?.count ?? 0} times; other aborts ${others.length}`}
      >
        {result.trips.map((trip) => (
          <i key={`${trip.alarmId}@${trip.t_us}`} className="lane-would" style={{ left: left(trip.t_us) }} />
        ))}
        {tripped_us.map((t_us) => (
          <i key={t_us} className="lane-then" style={{ left: left(t_us) }} />
        ))}
        {others.map((abort) => (
          <span
            key={`${abort.id}@${abort.t_us}`}
            className="lane-abort"
            style={{ left: left(abort.t_us) }}
            title={abort.title}
          >
            <LevelMark level="abort" size={14} />
          </span>
        ))}
      </div>
    </div>
  );
}

/** What the marks of the lanes mean. */
export function LaneKey() {
  return (
    <p className="lane-key muted">
      <i className="lane-would" aria-hidden="true" /> would trip <i className="lane-then" aria-hidden="true" /> tripped
      then <LevelMark level="abort" size={14} /> another abort
    </p>
  );
}

function columnsFor(
  id: string,
  nameOf: (session: string) => string,
  onPick: (t_us: number) => void,
): readonly Column<ResultRow>[] {
  return [
    {
      key: 'session',
      title: 'Session',
      cell: ({ session, result }) => (
        <>
          {nameOf(session.session)}
          {session.session === id ? ' (this one)' : ''}
          {result.isJudged ? '' : ', not judged'}
        </>
      ),
    },
    { key: 'count', title: 'Would trip', isNumber: true, cell: ({ result }) => result.count },
    { key: 'was', title: 'Tripped then', isNumber: true, cell: ({ result }) => result.recorded?.count ?? NO_VALUE },
    {
      key: 'first',
      title: 'First at',
      isNumber: true,
      cell: ({ session, result }) => {
        if (result.first_us === null) return NO_VALUE;
        const at = formatClock(result.first_us / 1e6);
        const first_us = result.first_us;
        return session.session === id ? (
          <button type="button" className="link" onClick={() => onPick(first_us)}>
            {at}
          </button>
        ) : (
          <a href={addressOf('review', session.session, String(first_us))}>{at}</a>
        );
      },
    },
    { key: 'earlier', title: 'Earlier by, s', isNumber: true, cell: ({ result }) => seconds(result.earlier_s) },
    { key: 'lead', title: 'Before an abort, s', isNumber: true, cell: ({ result }) => seconds(result.medianLead_s) },
    {
      key: 'caught',
      title: 'Other aborts told',
      isNumber: true,
      cell: ({ result }) =>
        result.caught + result.missed === 0 ? NO_VALUE : `${result.caught} of ${result.caught + result.missed}`,
    },
    { key: 'unfollowed', title: 'Not followed', isNumber: true, cell: ({ result }) => result.unfollowed },
  ];
}

function seconds(value_s: number | null): string {
  return value_s === null ? NO_VALUE : formatNumber(value_s, 1);
}
