/**
 * The Review place: a recorded session on the live board, driven by its
 * recording; trends over the whole of it; what happened, and where.
 */
import { useEffect, useState } from 'react';
import type { RunRow } from '../../shared-core/bridge/contract.ts';
import { AlarmHistory } from '../alarms/alarm-history.tsx';
import { useConnection } from '../app/bridge-client.ts';
import { useStream } from '../app/stream-store.ts';
import { goTo } from '../app/use-address.ts';
import { ExportButton } from '../logbook/exports.tsx';
import '../logbook/logbook.css';
import { useFreshSessions, useSessionList } from '../logbook/session-list.ts';
import { Board } from '../run/board.tsx';
import { Button } from '../ui/button.tsx';
import { Empty } from '../ui/empty.tsx';
import { formatWallTime } from '../ui/format.ts';
import { Progress } from '../ui/progress.tsx';
import { type Tab, Tabs } from '../ui/tabs.tsx';
import { BackTestPanel } from './back-test-panel.tsx';
import { DebriefButton } from './debrief-button.tsx';
import { MeasurePanel } from './measure-panel.tsx';
import './review.css';
import { ReplayAdvisory } from './replay-advisory.tsx';
import { closeSession, followEvents, goToTime, openSession, pause, useReview } from './review-store.ts';
import { SessionChooser } from './session-chooser.tsx';
import { Transport } from './transport.tsx';

export function ReviewPlace({ rest }: { readonly rest: readonly string[] }) {
  const openId = useReview((s) => s.id);
  const id = rest[0] ?? null;
  // Coming back without naming a session means the one that is open.
  useEffect(() => {
    if (id === null && openId !== null) goTo('review', openId);
  }, [id, openId]);
  if (id === null) return openId === null ? <SessionChooser /> : null;
  return <Session key={id} id={id} at={rest[1] ?? null} />;
}

type Panel = 'board' | 'measure' | 'alarms' | 'back-test';
const tabs: readonly Tab<Panel>[] = [
  { id: 'board', title: 'Board' },
  { id: 'measure', title: 'Trends and events' },
  { id: 'alarms', title: 'Alarms' },
  { id: 'back-test', title: 'Back-test' },
];

const noRuns: readonly RunRow[] = [];

function Session({ id, at }: { readonly id: string; readonly at: string | null }) {
  const isConnected = useConnection((c) => c.state === 'open');
  const state = useReview((s) => (s.id === id ? s.state : 'opening'));
  const failure = useReview((s) => s.failure);
  const progress = useStream('replay', (s) => s.snapshot?.replay?.progress ?? null);
  const shownId = useStream('replay', (s) => (s.layout === null ? null : (s.snapshot?.replay?.sessionId ?? null)));
  const isGrowing = useStream('replay', (s) => s.snapshot?.replay?.isGrowing ?? false);
  const rows = useFreshSessions();
  const [panel, setPanel] = useState<Panel>('board');
  const binned = useSessionList((s) => s.binned);
  const row = [...(rows ?? []), ...binned].find((each) => each.id === id) ?? null;

  useEffect(() => {
    if (!isConnected) return;
    const at_us = at === null ? NaN : Number(at);
    void openSession(id, Number.isFinite(at_us) ? at_us : null);
    // A host that was started anew knows nothing of the replay: it is opened again, where it stood.
    return () => {
      if (useConnection.getState().state !== 'open') useReview.setState({ state: 'lost' });
    };
  }, [isConnected, id, at]);
  // Leaving the place leaves the replay where it stands.
  useEffect(
    () => () => {
      if (useReview.getState().state === 'ready') pause();
    },
    [],
  );
  useGrowth(state === 'ready' && shownId === id);
  const another = (): void => {
    closeSession();
    goTo('review');
  };

  if (state === 'failed') {
    return (
      <Empty
        title="This session could not be opened"
        data-testid="review-failed"
        action={
          <Button tone="solid" onClick={another}>
            Choose another session
          </Button>
        }
      >
        {failure}
      </Empty>
    );
  }
  if (state === 'ready' && shownId !== null && shownId !== id) {
    return (
      <Empty
        title="Another window replays another session"
        data-testid="review-taken"
        action={
          <Button tone="solid" onClick={() => void openSession(id, null)}>
            Open this one again
          </Button>
        }
      >
        There is one replay for all windows of this workbench. Opening this session here ends the other replay.
      </Empty>
    );
  }
  if (state !== 'ready' || shownId !== id) {
    return (
      <div className="pane" data-testid="review-opening">
        <Progress label="Opening the session" value={progress} onCancel={another} />
      </div>
    );
  }
  return (
    <div className="review" data-testid="review" data-session={id}>
      <h1 className="sr-only">Review of the session of {row ? formatWallTime(row.startedAt_epochMs) : id}</h1>
      <ReplayAdvisory />
      <Tabs
        label="Views of the session"
        tabs={tabs}
        selected={panel}
        onSelect={setPanel}
        aside={
          <div className="review-head">
            {row && (
              <p>
                <b>{formatWallTime(row.startedAt_epochMs)}</b>{' '}
                <span className="frame-small" data-provenance={row.provenance}>
                  recorded {row.provenance}
                </span>
                {isGrowing && <span className="muted"> still being recorded</span>}
                {row.breakNote !== '' && <span className="break-note"> {row.breakNote}</span>}
              </p>
            )}
            <DebriefButton id={id} />
            <ExportButton key={id} id={id} runs={row?.runs ?? noRuns} />
            <Button small onClick={another} data-testid="another-session">
              Another session
            </Button>
          </div>
        }
      >
        {panel === 'board' && <Board stream="replay" onPick={(t_us) => void goToTime(t_us)} />}
        {panel === 'measure' && <MeasurePanel id={id} row={row} />}
        {panel === 'alarms' && <SessionAlarms />}
        {panel === 'back-test' && (
          <BackTestPanel id={id} sessions={rows ?? []} onPick={(t_us) => void goToTime(t_us)} />
        )}
      </Tabs>
      <Transport row={row} />
    </div>
  );
}

/** While the session is still being recorded, its events are asked for again with all that it grows by. */
function useGrowth(isShown: boolean): void {
  const duration_us = useStream('replay', (s) => s.snapshot?.replay?.duration_us ?? 0);
  const isGrowing = useStream('replay', (s) => s.snapshot?.replay?.isGrowing ?? false);
  // biome-ignore lint/correctness/useExhaustiveDependencies: that it grew, or has just ended, is the reason to ask.
  useEffect(() => {
    if (isShown) void followEvents();
  }, [isShown, duration_us, isGrowing]);
}

/** What the alarms of the whole session were like. */
function SessionAlarms() {
  const events = useReview((s) => s.events);
  const isGrowing = useStream('replay', (s) => s.snapshot?.replay?.isGrowing ?? false);
  const duration_us = useStream('replay', (s) => s.snapshot?.replay?.duration_us ?? 0);
  return (
    <div className="pane">
      <AlarmHistory
        events={events}
        duration_us={duration_us}
        isLive={isGrowing}
        onPick={(t_us) => void goToTime(t_us)}
      />
    </div>
  );
}
