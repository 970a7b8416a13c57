/** Which session to review: the recorded ones, newest first. */
import { useEffect } from 'react';
import type { SessionRow } from '../../shared-core/bridge/contract.ts';
import { goTo } from '../app/use-address.ts';
import { useFreshSessions } from '../logbook/session-list.ts';
import { alarmsWords, runsWords } from '../logbook/session-words.ts';
import { Button } from '../ui/button.tsx';
import { Empty } from '../ui/empty.tsx';
import { formatClock, formatWallTime } from '../ui/format.ts';
import { Progress } from '../ui/progress.tsx';
import { type Column, Table } from '../ui/table.tsx';
import { forgetReplay } from './review-store.ts';

const columns: readonly Column<SessionRow>[] = [
  { key: 'date', title: 'Began', cell: (row) => formatWallTime(row.startedAt_epochMs) },
  { key: 'duration', title: 'Lasts', isNumber: true, cell: (row) => formatClock(row.duration_us / 1e6) },
  {
    key: 'provenance',
    title: 'Recorded from',
    cell: (row) => (
      <>
        <span className="frame-small" data-provenance={row.provenance}>
          {row.provenance}
        </span>{' '}
        {row.detail}
        {row.isOpen && <span className="muted"> (being recorded)</span>}
      </>
    ),
  },
  { key: 'runs', title: 'Runs', cell: (row) => runsWords(row) },
  { key: 'alarms', title: 'Alarms', cell: (row) => alarmsWords(row) },
  { key: 'note', title: 'Note', cell: (row) => row.note },
  {
    key: 'open',
    title: <span className="sr-only">Open</span>,
    isNumber: true,
    cell: (row) => (
      <Button
        small
        onClick={() => goTo('review', row.id)}
        aria-label={`Open the session of ${formatWallTime(row.startedAt_epochMs)}`}
        data-testid={`review-open-${row.id}`}
      >
        Open
      </Button>
    ),
  },
];

export function SessionChooser() {
  const rows = useFreshSessions();
  useEffect(forgetReplay, []);
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
        title="There is nothing to review yet"
        data-testid="review-empty"
        action={
          <div className="session-acts">
            <Button tone="solid" onClick={() => goTo('rig')}>
              Connect a bench
            </Button>
            <Button onClick={() => goTo('train')}>Start the simulator</Button>
          </div>
        }
      >
        Every session is recorded from its first moment, so the first one stands here as soon as a link is up.
      </Empty>
    );
  }
  return (
    // biome-ignore lint/a11y/noNoninteractiveTabindex: a list that scrolls must be reachable by keyboard.
    <section className="chooser" data-testid="chooser" aria-label="Sessions" tabIndex={0}>
      <h1>Choose a session to review</h1>
      <p className="panel-lead">
        It opens on the same board as in Run, marked REPLAY. Live acquisition goes on beside it, and an abort advisory
        still comes to the top of this page.
      </p>
      <Table
        caption="Recorded sessions, newest first"
        columns={columns}
        rows={rows}
        keyOf={(row) => row.id}
        selected={null}
        onSelect={(row) => goTo('review', row.id)}
        data-testid="review-sessions"
      />
    </section>
  );
}
