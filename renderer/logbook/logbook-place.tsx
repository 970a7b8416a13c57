/**
 * The Logbook place: every recorded session with its runs, engine hours, and
 * what can be done with a session. Opening one to look into it is Review's.
 */
import { useMemo, useState } from 'react';
import type { SessionRow } from '../../shared-core/bridge/contract.ts';
import { goTo } from '../app/use-address.ts';
import { Button } from '../ui/button.tsx';
import { Empty } from '../ui/empty.tsx';
import { formatBytes, formatClock, formatWallTime } from '../ui/format.ts';
import { LevelMark } from '../ui/level-mark.tsx';
import { Progress } from '../ui/progress.tsx';
import { type Column, Table } from '../ui/table.tsx';
import { engineHours, filterSessions, hoursWords, noFilter, type RunTime } from './hours.ts';
import './logbook.css';
import { SessionDetail } from './session-detail.tsx';
import { useFreshSessions } from './session-list.ts';
import { retentionSentence } from './session-words.ts';

const columns: readonly Column<SessionRow>[] = [
  {
    key: 'date',
    title: 'Began',
    cell: (row) => (
      <>
        {formatWallTime(row.startedAt_epochMs)}
        {row.isOpen && <span className="muted below">being recorded</span>}
        {row.breakNote !== '' && (
          <span className="below break-note">
            <span className="hatch" aria-hidden="true" /> broke off
          </span>
        )}
      </>
    ),
  },
  { key: 'duration', title: 'Lasts', isNumber: true, cell: (row) => formatClock(row.duration_us / 1e6) },
  {
    key: 'source',
    title: 'Source',
    cell: (row) => (
      <>
        <span className="frame-small" data-provenance={row.provenance}>
          {row.provenance}
        </span>
        <span className="muted below">{row.detail}</span>
      </>
    ),
  },
  { key: 'rig', title: 'Rig sheet', cell: (row) => `${row.rigName}, v${row.rigVersion}` },
  { key: 'runs', title: 'Runs', isNumber: true, cell: (row) => row.runs.length || '' },
  { key: 'alarms', title: 'Alarms', isNumber: true, cell: (row) => row.alarms || '' },
  {
    key: 'aborts',
    title: 'Aborts',
    isNumber: true,
    cell: (row) =>
      row.aborts > 0 ? (
        <span className="abort-count">
          <LevelMark level="abort" size={16} /> {row.aborts}
        </span>
      ) : (
        ''
      ),
  },
  { key: 'marks', title: 'Marks', isNumber: true, cell: (row) => row.marks || '' },
  { key: 'size', title: 'Size', isNumber: true, cell: (row) => formatBytes(row.bytes) },
  {
    key: 'kept',
    title: 'Kept',
    cell: (row) => (row.isKept ? 'by hand' : row.runs.length + row.aborts > 0 ? 'by rule' : ''),
  },
  { key: 'note', title: 'Note', cell: (row) => <span className="note-cell">{row.note}</span> },
];

export function LogbookPlace({ rest }: { readonly rest: readonly string[] }) {
  const rows = useFreshSessions();
  const [filter, setFilter] = useState(noFilter);
  const shown = useMemo(() => filterSessions(rows ?? [], filter, formatWallTime), [rows, filter]);
  const hours = useMemo(() => engineHours(rows ?? []), [rows]);

  if (rows === null) {
    return (
      <div className="pane">
        <Progress label="Reading the log book" value={null} />
      </div>
    );
  }
  if (rows.length === 0) {
    return (
      <Empty
        title="No session has been recorded yet"
        data-testid="logbook-empty"
        action={
          <div className="session-acts">
            <Button tone="solid" onClick={() => goTo('rig')}>
              Connect a bench
            </Button>
            <Button onClick={() => goTo('train')}>Start the simulator</Button>
          </div>
        }
      >
        Recording begins by itself with the link: connect a bench in Rig, or choose a scenario in Train.
      </Empty>
    );
  }
  const chosen = shown.find((row) => row.id === rest[0]) ?? shown[0] ?? null;
  return (
    <div className="logbook" data-testid="logbook">
      <div className="logbook-main">
        <div className="logbook-head">
          <h1>Logbook</h1>
          <p className="hours" data-testid="engine-hours">
            Engine hours <b>{hoursWords(hours.engine.time_s)}</b> in {countOfRuns(hours.engine)}
            {hours.engine.unended > 0 &&
              `, ${hours.engine.unended} of them without a recorded stop, counted to the end of the session`}
          </p>
          <p className="hours muted" data-testid="simulated-hours">
            Simulated, never counted as engine hours: {hoursWords(hours.simulated.time_s)} in{' '}
            {countOfRuns(hours.simulated)}
          </p>
        </div>
        {/* biome-ignore lint/a11y/useSemanticElements: <search> is not yet known to every reader. */}
        <div className="logbook-filter" role="search">
          <label className="sr-only" htmlFor="logbook-text">
            Filter by text
          </label>
          <input
            id="logbook-text"
            className="input"
            type="search"
            placeholder="Filter: date, source, rig, note"
            value={filter.text}
            onChange={(e) => setFilter({ ...filter, text: e.target.value })}
            data-testid="filter-text"
          />
          <label className="check">
            <input
              type="checkbox"
              checked={filter.onlyWithRuns}
              onChange={(e) => setFilter({ ...filter, onlyWithRuns: e.target.checked })}
              data-testid="filter-runs"
            />
            Only with runs
          </label>
          <label className="check">
            <input
              type="checkbox"
              checked={filter.onlyKept}
              onChange={(e) => setFilter({ ...filter, onlyKept: e.target.checked })}
              data-testid="filter-kept"
            />
            Only kept by hand
          </label>
          <span className="muted" role="status" data-testid="filter-count">
            {shown.length === rows.length
              ? rows.length === 1
                ? '1 session'
                : `${rows.length} sessions`
              : `${shown.length} of ${rows.length} sessions`}
          </span>
        </div>
        {/* biome-ignore lint/a11y/noNoninteractiveTabindex: a list that scrolls must be reachable by keyboard. */}
        <section className="logbook-list" tabIndex={0} aria-label="Sessions">
          {shown.length === 0 ? (
            <Empty
              title="No session fits the filter"
              action={
                <Button onClick={() => setFilter(noFilter)} data-testid="filter-clear">
                  Show all
                </Button>
              }
            />
          ) : (
            <Table
              caption="Recorded sessions, newest first"
              columns={columns}
              rows={shown}
              keyOf={(row) => row.id}
              selected={chosen?.id ?? null}
              onSelect={(row) => goTo('logbook', row.id)}
              data-testid="sessions"
            />
          )}
        </section>
        <p className="retention muted" data-testid="retention">
          {retentionSentence}
        </p>
      </div>
      {chosen && <SessionDetail key={chosen.id} row={chosen} />}
    </div>
  );
}

function countOfRuns(time: RunTime): string {
  return time.runs === 1 ? '1 run' : `${time.runs} runs`;
}
