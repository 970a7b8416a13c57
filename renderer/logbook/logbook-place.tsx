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
import { FilterBar } from './filter-bar.tsx';
import { engineHours, hoursWords, type RunTime } from './hours.ts';
import './logbook.css';
import { SessionDetail } from './session-detail.tsx';
import { choicesOf, filterSessions, noFilter } from './session-filter.ts';
import { useFreshSessions, useSessionList } from './session-list.ts';
import { retentionSentence } from './session-words.ts';
import { TakeIn } from './take-in.tsx';

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
  {
    key: 'note',
    title: 'Tags, note',
    cell: (row) => (
      <span className="note-cell">
        {row.tags.map((tag) => (
          <span key={tag} className="tag">
            {tag}
          </span>
        ))}
        {row.note}
      </span>
    ),
  },
];

const noRows: readonly SessionRow[] = [];

export function LogbookPlace({ rest }: { readonly rest: readonly string[] }) {
  const rows = useFreshSessions();
  const [filter, setFilter] = useState(noFilter);
  const binned = useSessionList((s) => s.binned);
  const [isBin, setBin] = useState(false);
  const listed = isBin ? binned : (rows ?? noRows);
  const shown = useMemo(() => filterSessions(listed, filter, formatWallTime), [listed, filter]);
  const choices = useMemo(() => choicesOf(listed), [listed]);
  const hours = useMemo(() => engineHours(rows ?? []), [rows]);

  if (rows === null) {
    return (
      <div className="pane">
        <Progress label="Reading the log book" value={null} />
      </div>
    );
  }
  if (rows.length === 0 && binned.length === 0) {
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
            <TakeIn />
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
          <TakeIn />
        </div>
        <FilterBar
          filter={filter}
          choices={choices}
          onChange={setFilter}
          shown={shown.length}
          all={listed.length}
          binned={binned.length}
          isBin={isBin}
          onBin={setBin}
        />
        {/* biome-ignore lint/a11y/noNoninteractiveTabindex: a list that scrolls must be reachable by keyboard. */}
        <section className="logbook-list" tabIndex={0} aria-label="Sessions">
          {shown.length === 0 ? (
            <NothingShown
              isBin={isBin}
              isEmpty={listed.length === 0}
              onShow={() => {
                setFilter(noFilter);
                // An empty list has its sessions on the other side.
                if (listed.length === 0) setBin(!isBin);
              }}
            />
          ) : (
            <Table
              caption={isBin ? 'Sessions in the bin, newest first' : 'Recorded sessions, newest first'}
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

interface NothingShownProps {
  readonly isBin: boolean;
  /** Nothing at all, not only nothing that fits the filter. */
  readonly isEmpty: boolean;
  readonly onShow: () => void;
}

function NothingShown({ isBin, isEmpty, onShow }: NothingShownProps) {
  const title = !isEmpty
    ? 'No session fits the filter'
    : isBin
      ? 'Nothing is in the bin'
      : 'All sessions are in the bin';
  return (
    <Empty
      title={title}
      action={
        <Button onClick={onShow} data-testid="filter-clear">
          {isEmpty && !isBin ? 'Show the bin' : 'Show all'}
        </Button>
      }
    />
  );
}
