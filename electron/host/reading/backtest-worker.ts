/** The back-test room in a worker thread with its own read connection; `backtest-client.ts` talks to it. */
import { parentPort, workerData } from 'node:worker_threads';
import type { BacktestView } from '../../../shared-core/bridge/contract.ts';
import type { LimitRule } from '../../../shared-core/limits/rules.ts';
import { openStoreReadOnly } from '../store/open-store.ts';
import { BacktestRoom, backtestId } from './backtest-room.ts';
import { yieldToLive } from './yield-to-live.ts';

/** Each slice opens its blocks anew; in between only the end of the worker waits. */
const SLICE_MS = 2000;

export interface BacktestStart {
  readonly number: number;
  readonly sessions: readonly string[];
  readonly rules: readonly LimitRule[];
}

yieldToLive();
const { folder, cancelled } = workerData as { folder: string; cancelled: Int32Array<SharedArrayBuffer> };
const port = parentPort!;
const tell = (view: BacktestView): void => port.postMessage(view);
const opened = openStoreReadOnly(folder);
const room = opened.ok
  ? new BacktestRoom(opened.value, {
      slice_ms: SLICE_MS,
      // All up to this number are cancelled.
      isCancelled: (number) => number <= Atomics.load(cancelled, 0),
      onView: tell,
    })
  : null;

port.on('message', (ask: BacktestStart | 'end') => {
  if (ask === 'end') {
    void (room?.close() ?? Promise.resolve()).then(() => {
      if (opened.ok) opened.value.close();
      port.close();
    });
    return;
  }
  const { number, sessions, rules } = ask;
  const failed = (sentence: string): void =>
    tell({ id: backtestId(number), state: 'failed', progress: 0, session: null, sentence, results: [] });
  if (room === null) {
    failed(`Recorded sessions cannot be read (${opened.ok ? '' : opened.error.kind}).`);
    return;
  }
  room.start(number, sessions, rules).catch((thrown: unknown) => {
    failed(`The back-test failed: ${thrown instanceof Error ? thrown.message : String(thrown)}.`);
  });
});
