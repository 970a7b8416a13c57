/** The list of recorded sessions as the page last had it, newest first. Kept for Logbook and Review alike. */
import { useEffect } from 'react';
import { create } from 'zustand';
import type { SessionRow } from '../../shared-core/bridge/contract.ts';
import { request, useConnection } from '../app/bridge-client.ts';
import { tellError } from '../app/messages.ts';
import { useStream } from '../app/stream-store.ts';

interface SessionList {
  /** Null until it has first been fetched. */
  readonly rows: readonly SessionRow[] | null;
  /** Those in the bin. */
  readonly binned: readonly SessionRow[];
}

export const useSessionList = create<SessionList>(() => ({ rows: null, binned: [] }));

/** The session being recorded grows; the others change only by hand. */
const LOOK_AGAIN_MS = 10_000;

let isFetching = false;

export async function refreshSessions(): Promise<void> {
  if (isFetching) return;
  isFetching = true;
  const found = await request('sessions.list', { includeBinned: true });
  isFetching = false;
  if (!found.ok) return tellError(found.error);
  const rows = [...found.value].sort((a, b) => b.startedAt_epochMs - a.startedAt_epochMs);
  useSessionList.setState({
    rows: rows.filter((row) => row.binnedAt_epochMs === null),
    binned: rows.filter((row) => row.binnedAt_epochMs !== null),
  });
}

/** Fetches the list when a place that shows it opens, when a session begins or ends, and now and then. */
export function useFreshSessions(): readonly SessionRow[] | null {
  const rows = useSessionList((s) => s.rows);
  const isOpen = useConnection((c) => c.state === 'open');
  const recording = useStream('live', (s) => s.snapshot?.session?.id ?? null);
  const run = useStream('live', (s) => `${s.snapshot?.run.run ?? 0} ${s.snapshot?.run.state ?? ''}`);
  // biome-ignore lint/correctness/useExhaustiveDependencies: a new session, and a run that begins or ends, change the list.
  useEffect(() => {
    if (!isOpen) return;
    void refreshSessions();
    const timer = setInterval(refreshSessions, LOOK_AGAIN_MS);
    return () => clearInterval(timer);
  }, [isOpen, recording, run]);
  return rows;
}
