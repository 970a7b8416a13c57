/**
 * One store per stream (live, replay): what the host last said, plus the ring
 * of display steps. Steps change the ring and the present values in place;
 * `beat` tells the numbers to look again, at most five times a second.
 * Talking to the host is in `bridge-client.ts`.
 */
import { create, type StoreApi, type UseBoundStore } from 'zustand';
import type { DisplayBatch, Layout, LimitMark, Snapshot, StreamName } from '../../shared-core/bridge/contract.ts';
import type { Channel, ChannelKey, Quantity } from '../../shared-core/channels/channel.ts';
import { type AlarmSight, sightBySubject } from './alarm-sight.ts';
import { DisplayRing } from './display-ring.ts';
import {
  emptyPresent,
  type Present,
  type Reading,
  readingOf,
  STALE_AFTER_US,
  staleTimes_us,
  takeStep,
} from './reading.ts';

export interface StreamState {
  readonly layout: Layout | null;
  readonly snapshot: Snapshot | null;
  readonly byKey: ReadonlyMap<ChannelKey, Channel>;
  readonly limitsByKey: ReadonlyMap<ChannelKey, readonly LimitMark[]>;
  readonly staleByKey_us: ReadonlyMap<ChannelKey, number>;
  /** Gravest standing alarm by channel or input key. */
  readonly sights: ReadonlyMap<string, AlarmSight>;
  /** Changed in place: read it, do not compare it. Null before the first layout. */
  readonly ring: DisplayRing | null;
  readonly present: Present | null;
  /** Steps that were merged for want of a credit, since the layout came. */
  readonly mergedSteps: number;
  /** Page clock when that last happened, ms; −Infinity for never. */
  readonly mergedAt_ms: number;
  /** Page clock when the newest message of this stream came, ms. */
  readonly heardAt_ms: number;
  /** Goes up when numbers should be looked at again: at most 5 times a second. */
  readonly beat: number;
}

export type StreamStore = UseBoundStore<StoreApi<StreamState>>;

const empty: StreamState = {
  layout: null,
  snapshot: null,
  byKey: new Map(),
  limitsByKey: new Map(),
  staleByKey_us: new Map(),
  sights: new Map(),
  ring: null,
  present: null,
  mergedSteps: 0,
  mergedAt_ms: -Infinity,
  heardAt_ms: 0,
  beat: 0,
};

const stores: Record<StreamName, StreamStore> = { live: create(() => empty), replay: create(() => empty) };

/** Numbers are drawn at most this often: faster cannot be read. */
export const BEAT_MS = 200;

const waiting: Record<StreamName, boolean> = { live: false, replay: false };
const beatAt_ms: Record<StreamName, number> = { live: 0, replay: 0 };

export function streamStore(stream: StreamName): StreamStore {
  return stores[stream];
}

/** Hook: `useStream('live', (s) => s.snapshot)`. */
export function useStream<T>(stream: StreamName, select: (state: StreamState) => T): T {
  return stores[stream](select);
}

function byChannel(limits: readonly LimitMark[]): ReadonlyMap<ChannelKey, readonly LimitMark[]> {
  const map = new Map<ChannelKey, LimitMark[]>();
  for (const limit of limits) {
    const list = map.get(limit.channel);
    if (list) list.push(limit);
    else map.set(limit.channel, [limit]);
  }
  return map;
}

/** A new channel list: the ring begins anew, since ordinals may mean something else. */
export function takeLayout(layout: Layout, pageNow_ms: number): void {
  const store = stores[layout.stream];
  const before = store.getState();
  const isSame =
    before.layout?.layoutVersion === layout.layoutVersion &&
    before.layout.rig.id === layout.rig.id &&
    before.layout.channels.map((c) => c.key).join() === layout.channels.map((c) => c.key).join();
  store.setState({
    layout,
    byKey: new Map(layout.channels.map((c) => [c.key, c])),
    limitsByKey: byChannel(layout.limits),
    staleByKey_us: staleTimes_us(layout.rig.rules),
    ring: isSame && before.ring ? before.ring : new DisplayRing(layout.channels.length),
    present: isSame && before.present ? before.present : emptyPresent(layout.channels.length),
    mergedSteps: isSame ? before.mergedSteps : 0,
    heardAt_ms: pageNow_ms,
    beat: before.beat + 1,
  });
}

/** @returns true when the session of the stream is another than before */
export function takeSnapshot(snapshot: Snapshot, pageNow_ms: number): boolean {
  const store = stores[snapshot.stream];
  const before = store.getState();
  const isOther = sessionOf(before.snapshot) !== sessionOf(snapshot);
  if (isOther && before.ring) {
    before.ring.clear();
    store.setState({ present: emptyPresent(before.ring.channels) });
  }
  const sights = before.snapshot?.alarms === snapshot.alarms ? before.sights : sightBySubject(snapshot.alarms);
  store.setState({ snapshot, sights, heardAt_ms: pageNow_ms });
  scheduleBeat(snapshot.stream, pageNow_ms);
  return isOther;
}

/** @returns `dropped` when the step belongs to no known layout, `moved` when time went back */
export function takeBatch(batch: DisplayBatch, pageNow_ms: number): 'taken' | 'moved' | 'dropped' {
  const store = stores[batch.stream];
  const { layout, ring, present, mergedSteps } = store.getState();
  if (!layout || !ring || !present || batch.layoutVersion !== layout.layoutVersion) return 'dropped';
  const wentBack = ring.push(batch);
  takeStep(present, batch);
  if (batch.merged > 1) store.setState({ mergedSteps: mergedSteps + batch.merged - 1, mergedAt_ms: pageNow_ms });
  scheduleBeat(batch.stream, pageNow_ms);
  return wentBack ? 'moved' : 'taken';
}

/** Session whose data the stream shows, as the `view` request wants it. */
export function sessionOf(snapshot: Snapshot | null): string | null {
  return snapshot?.replay?.sessionId ?? snapshot?.session?.id ?? null;
}

export function scheduleBeat(stream: StreamName, pageNow_ms: number): void {
  if (waiting[stream]) return;
  waiting[stream] = true;
  const wait_ms = Math.max(0, beatAt_ms[stream] + BEAT_MS - pageNow_ms);
  setTimeout(() => {
    waiting[stream] = false;
    beatAt_ms[stream] = pageNow_ms + wait_ms;
    stores[stream].setState((s) => ({ beat: s.beat + 1 }));
  }, wait_ms);
}

/**
 * Session time now, as far as the page can know: the newest that was heard,
 * plus, for the live stream, the page's own wait since then, so that values
 * grow old on screen when the host falls silent.
 */
export function sessionNow_us(state: StreamState, stream: StreamName, pageNow_ms: number): number {
  const heard_us = Math.max(state.present?.t_us ?? 0, state.snapshot?.now_us ?? 0);
  const silent_ms = pageNow_ms - state.heardAt_ms;
  // Below this the wait is the ordinary rhythm of snapshots, not silence.
  return stream === 'live' && silent_ms > 1500 ? heard_us + silent_ms * 1000 : heard_us;
}

/** Present reading of a channel; looks again with every beat. */
export function useReading(stream: StreamName, key: ChannelKey): Reading {
  stores[stream]((s) => s.beat);
  const state = stores[stream].getState();
  const channel = state.byKey.get(key);
  return readingOf(
    channel ? state.present : null,
    channel?.ordinal ?? -1,
    sessionNow_us(state, stream, performance.now()),
    state.staleByKey_us.get(key) ?? STALE_AFTER_US,
    state.sights.get(key),
  );
}

/** Key of the hottest cylinder head now: the highest good head temperature, or the first head. */
/** The bench's own key of the first channel of a quantity; null where it has none. */
export function firstOf(state: StreamState, quantity: Quantity): ChannelKey | null {
  return state.layout?.channels.find((channel) => channel.quantity === quantity)?.key ?? null;
}

export function hottestHead(state: StreamState): ChannelKey | null {
  let key: ChannelKey | null = null;
  let highest = -Infinity;
  for (const channel of state.layout?.channels ?? []) {
    if (channel.quantity !== 'head-temperature') continue;
    const value = state.present?.quality[channel.ordinal] === 0 ? (state.present.value[channel.ordinal] ?? NaN) : NaN;
    if (key === null || value > highest) {
      key = channel.key;
      if (!Number.isNaN(value)) highest = value;
    }
  }
  return key;
}
