/**
 * The page's end of the bridge: requests with typed answers, credits granted
 * as steps are consumed, the stream stores fed, and an endless reconnect.
 * How bytes get here is the carrier's matter (`carrier.ts`).
 */
import { create } from 'zustand';
import type { Result } from '../../shared-core/base/result.ts';
import {
  type BridgeError,
  CONTRACT_VERSION,
  type HostMessage,
  type Method,
  type RendererCarrier,
  type RendererMessage,
  type Requests,
  type StreamName,
} from '../../shared-core/bridge/contract.ts';
import type { OperatorAction } from '../../shared-core/journal.ts';
import type { BenchCommand } from '../../shared-core/line/messages.ts';
import { tellError } from './messages.ts';
import { watchPageSeen } from './page-seen.ts';
import { measureStep } from './screen-latency.ts';
import { signedOn } from './settings.ts';
import { scheduleBeat, sessionOf, streamStore, takeBatch, takeLayout, takeSnapshot } from './stream-store.ts';

export interface Connection {
  readonly state: 'connecting' | 'open' | 'lost' | 'other-version';
  /** Failed attempts since the connection was last open. */
  readonly attempts: number;
  readonly nextAttemptAt_ms: number | null;
  readonly lostAt_ms: number | null;
  readonly hello: Extract<HostMessage, { type: 'hello' }> | null;
  /** Why the last attempt failed, in the carrier's words. */
  readonly fault: { readonly sentence: string; readonly remedy: string } | null;
}

export const useConnection = create<Connection>(() => ({
  state: 'connecting',
  attempts: 0,
  nextAttemptAt_ms: null,
  lostAt_ms: null,
  hello: null,
  fault: null,
}));

/** Steps that may be under way at once: enough to bridge one slow redraw. */
const CREDITS = 4;
const FIRST_WAIT_MS = 500;
const LONGEST_WAIT_MS = 5000;
/** What the trends show at first comes first, and finely; then the rest of half an hour that can be looked back on. */
const NEAR = { back_us: 150e6, columns: 1200 } as const;
/** Between the request and its answer a stream goes on by less. */
const ELSEWHERE_US = 5e6;
const FAR = { back_us: 30 * 60e6, columns: 1800 } as const;

type Answer = (result: Result<unknown, BridgeError>) => void;

let carrier: RendererCarrier | null = null;
let sayWhetherSeen = (): void => {};
let connectAgain: (() => void) | null = null;
let nextId = 1;
const answers = new Map<number, Answer>();
const backfillTimers: Record<StreamName, ReturnType<typeof setTimeout> | null> = { live: null, replay: null };

const lostError: BridgeError = {
  kind: 'connection',
  sentence: 'The page has lost the host, so this was not done.',
  remedy: 'Recording does not depend on this page. Wait until it has reconnected, then try again.',
};

/** Starts the bridge. Call once. */
export function startBridge(connect: () => Promise<RendererCarrier>): void {
  const attempt = (): void => {
    connectAgain = null;
    useConnection.setState({ nextAttemptAt_ms: null });
    connect().then(opened, (reason: unknown) => {
      const fault = faultOf(reason);
      useConnection.setState({ fault });
      failed();
    });
  };
  const failed = (): void => {
    const attempts = useConnection.getState().attempts + 1;
    const wait_ms = Math.min(LONGEST_WAIT_MS, FIRST_WAIT_MS * 2 ** (attempts - 1));
    useConnection.setState((c) => ({
      state: 'lost',
      attempts,
      nextAttemptAt_ms: performance.now() + wait_ms,
      lostAt_ms: c.lostAt_ms ?? performance.now(),
    }));
    const timer = setTimeout(attempt, wait_ms);
    connectAgain = () => {
      clearTimeout(timer);
      attempt();
    };
  };
  const opened = (next: RendererCarrier): void => {
    carrier = next;
    next.onMessage((message) => receive(message));
    next.onClose(() => {
      if (carrier !== next) return;
      carrier = null;
      for (const answer of answers.values()) answer({ ok: false, error: lostError });
      answers.clear();
      failed();
    });
  };
  sayWhetherSeen = watchPageSeen((seen) => void request('page.seen', { seen })).sayNow;
  // While the host is silent, values must still grow old on the screen.
  setInterval(() => {
    const now_ms = performance.now();
    if (now_ms - streamStore('live').getState().heardAt_ms > 1000) scheduleBeat('live', now_ms);
  }, 500);
  attempt();
}

/** The carrier's words for a failed attempt; null for a failure without words. */
function faultOf(reason: unknown): Connection['fault'] {
  if (typeof reason !== 'object' || reason === null || !('sentence' in reason) || !('remedy' in reason)) return null;
  return { sentence: String(reason.sentence), remedy: String(reason.remedy) };
}

/** Tries at once instead of waiting for the next attempt. */
export function reconnectNow(): void {
  connectAgain?.();
}

function post(message: RendererMessage): boolean {
  if (!carrier) return false;
  carrier.post(message);
  return true;
}

function receive(message: HostMessage): void {
  const now_ms = performance.now();
  switch (message.type) {
    case 'hello':
      useConnection.setState({
        state: message.contract === CONTRACT_VERSION ? 'open' : 'other-version',
        attempts: 0,
        nextAttemptAt_ms: null,
        lostAt_ms: null,
        hello: message,
        fault: null,
      });
      if (message.contract !== CONTRACT_VERSION) return;
      sayWhetherSeen();
      post({ type: 'credit', stream: 'live', count: CREDITS });
      post({ type: 'credit', stream: 'replay', count: CREDITS });
      // Steps were missed while the page was away: fetch them from the recording.
      fillSoon('live', true);
      return;
    case 'layout': {
      const before = streamStore(message.layout.stream).getState().ring;
      takeLayout(message.layout, now_ms);
      if (streamStore(message.layout.stream).getState().ring !== before) fillSoon(message.layout.stream, false);
      return;
    }
    case 'snapshot':
      if (takeSnapshot(message.snapshot, now_ms)) fillSoon(message.snapshot.stream, false);
      return;
    case 'display': {
      const taken = takeBatch(message.batch, now_ms);
      measureStep(message.batch);
      post({ type: 'credit', stream: message.batch.stream, count: 1 });
      if (taken === 'moved') fillSoon(message.batch.stream, false);
      return;
    }
    case 'reply': {
      const answer = answers.get(message.id);
      answers.delete(message.id);
      answer?.(message.result);
      return;
    }
  }
}

/**
 * Asks the host for something. The answer is a value either way; a lost
 * connection is an error of kind `connection`. Never rejects.
 */
export function request<M extends Method>(
  method: M,
  params: Requests[M]['params'],
): Promise<Result<Requests[M]['value'], BridgeError>> {
  return new Promise((resolve) => {
    const id = nextId++;
    answers.set(id, resolve as Answer);
    if (!post({ type: 'request', id, method, params } as RendererMessage)) {
      answers.delete(id);
      resolve({ ok: false, error: lostError });
    }
  });
}

/** As `request`, and shows the error as a message; resolves to the value or null. */
export async function ask<M extends Method>(
  method: M,
  params: Requests[M]['params'],
): Promise<Requests[M]['value'] | null> {
  const result = await request(method, params);
  if (result.ok) return result.value;
  tellError(result.error);
  return null;
}

/** An act of the operator who is signed on, recorded by the host. */
export function act(action: OperatorAction): void {
  void ask('operator', { by: signedOn(), action });
}

/** A command to the bench, signed. Its outcome comes in the snapshot's `outputs.commands`. */
export function command(benchCommand: BenchCommand): void {
  void ask('outputs.command', { by: signedOn(), command: benchCommand });
}

/** Draws the past of a stream anew from the recording: after a replay was moved, what the ring holds is elsewhere. */
export function refill(stream: StreamName): void {
  fillSoon(stream, true);
}

/** Soon, not at once: a replay that is being dragged moves many times a second. */
function fillSoon(stream: StreamName, startAnew: boolean): void {
  if (startAnew) streamStore(stream).getState().ring?.clear();
  const timer = backfillTimers[stream];
  if (timer) clearTimeout(timer);
  backfillTimers[stream] = setTimeout(() => {
    backfillTimers[stream] = null;
    void fill(stream, NEAR).then((isFilled) => (isFilled ? fill(stream, FAR) : false));
  }, 200);
}

/** From what the ring holds back to so long before now. Resolves to whether there is more to fill. */
async function fill(stream: StreamName, { back_us, columns }: typeof NEAR | typeof FAR): Promise<boolean> {
  const { snapshot, layout, ring } = streamStore(stream).getState();
  const session = sessionOf(snapshot);
  if (!session || !layout || !ring || !snapshot) return false;
  const to_us = ring.count > 0 ? ring.oldest_us : snapshot.now_us;
  const from_us = Math.max(0, snapshot.now_us - back_us);
  if (!(to_us - from_us > 1e6)) return true;
  const channels = layout.channels.map((c) => c.key);
  const result = await request('view', { session, channels, from_us, to_us, pixels: columns });
  const now = streamStore(stream).getState();
  // The stream may have moved on while the host was reading.
  if (!result.ok || now.ring !== ring || sessionOf(now.snapshot) !== session) return false;
  // A replay that was moved meanwhile: what came is of elsewhere.
  if (ring.count > 0 && Math.abs(ring.oldest_us - to_us) > ELSEWHERE_US) return false;
  const series = result.value.flatMap((view) => {
    const channel = now.byKey.get(view.channel);
    return channel ? [{ ordinal: channel.ordinal, view }] : [];
  });
  if (ring.backfill(series) > 0) scheduleBeat(stream, performance.now());
  return true;
}
