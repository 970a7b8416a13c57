/**
 * What is open in Review: the session, its events, the speed, the measuring
 * cursors. Kept while another place is shown. The replay itself runs in the
 * host; where it stands comes with the snapshots of stream `replay`.
 */
import { create } from 'zustand';
import type { JournalEvent } from '../../shared-core/journal.ts';
import { ask, refill, request } from '../app/bridge-client.ts';
import { EventFeed } from '../app/event-feed.ts';
import { tellError } from '../app/messages.ts';
import { streamStore } from '../app/stream-store.ts';

export const replaySpeeds = [1, 2, 5, 10, 20, 50, 200] as const;

export interface ReviewState {
  readonly id: string | null;
  /** `lost`: the connection went while it was open. */
  readonly state: 'opening' | 'ready' | 'failed' | 'lost';
  /** What the host said when it could not be opened. */
  readonly failure: string;
  readonly events: readonly JournalEvent[];
  readonly speed: number;
  /** Measuring cursors, session time. */
  readonly a_us: number | null;
  readonly b_us: number | null;
}

const noEvents: readonly JournalEvent[] = [];
let feed: EventFeed | null = null;

export const useReview = create<ReviewState>(() => ({
  id: null,
  state: 'opening',
  failure: '',
  events: noEvents,
  speed: 1,
  a_us: null,
  b_us: null,
}));

/** Opens a session for replay. With `at_us`, goes there. Does nothing but go there when it is open already. */
export async function openSession(id: string, at_us: number | null): Promise<void> {
  const before = useReview.getState();
  const shown = streamStore('replay').getState().snapshot;
  const isSame = before.id === id && shown?.replay?.sessionId === id;
  let goTo_us = at_us;
  if (!isSame || before.state !== 'ready') {
    if (isSame && before.state === 'lost') goTo_us = shown.now_us;
    const cursors = isSame ? {} : { a_us: null, b_us: null };
    useReview.setState({ id, state: 'opening', failure: '', events: noEvents, ...cursors });
    feed = new EventFeed(id, (params) => request('sessions.events', params));
    const [opened, events] = await Promise.all([request('replay.open', { id }), feed.refresh()]);
    if (useReview.getState().id !== id) return;
    if (!opened.ok || !events.ok) {
      const error = !opened.ok ? opened.error : !events.ok ? events.error : null;
      useReview.setState({ state: 'failed', failure: error ? `${error.sentence} ${error.remedy}` : '' });
      return;
    }
    useReview.setState({ state: 'ready', events: events.value });
  }
  if (goTo_us !== null) await goToTime(goTo_us);
}

/** The session that is open has been recorded further: its events, too. */
export async function followEvents(): Promise<void> {
  const asked = feed;
  const events = await asked?.refresh();
  // What could not be asked now is asked with the next second that is recorded.
  if (events?.ok && asked === feed && useReview.getState().state === 'ready') {
    useReview.setState({ events: events.value });
  }
}

export function closeSession(): void {
  feed = null;
  useReview.setState({ id: null, state: 'opening', events: noEvents, a_us: null, b_us: null });
  forgetReplay();
  void request('replay.close', {});
}

/** Nothing is open here: what the page still holds of a replay must not stand in the top line. */
export function forgetReplay(): void {
  streamStore('replay').setState({ snapshot: null });
}

export function play(): void {
  void ask('replay.play', { speed: useReview.getState().speed });
}

export function pause(): void {
  void ask('replay.pause', {});
}

export function chooseSpeed(speed: number): void {
  useReview.setState({ speed });
  if (streamStore('replay').getState().snapshot?.replay?.isPlaying) play();
}

/** Above this the trends have a hole where the replay jumped; they are drawn anew from the recording. */
const JUMP_US = 2_500_000;

/** Moves the replay to a time and resolves when it is there. */
export async function goToTime(t_us: number): Promise<void> {
  const before = streamStore('replay').getState().snapshot;
  const duration_us = before?.replay?.duration_us ?? Infinity;
  const target_us = Math.round(Math.max(0, Math.min(duration_us, t_us)));
  const moved = await request('replay.seek', { t_us: target_us });
  if (!moved.ok) return tellError(moved.error);
  if (Math.abs(target_us - (before?.now_us ?? 0)) > JUMP_US) refill('replay');
}

/** By so much from where the replay stands; negative for back. */
export function stepBy(by_us: number): void {
  void goToTime((streamStore('replay').getState().snapshot?.now_us ?? 0) + by_us);
}

export function setCursor(letter: 'a' | 'b', t_us: number | null): void {
  useReview.setState(letter === 'a' ? { a_us: t_us } : { b_us: t_us });
}
