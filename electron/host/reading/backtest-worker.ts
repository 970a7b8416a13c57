/** The back-test room in a worker thread with its own read connection; `reading-client.ts` talks to it. */
import { parentPort, workerData } from 'node:worker_threads';
import { openStoreReadOnly } from '../store/open-store.ts';
import { type BacktestRequest, BacktestRoom } from './backtest-room.ts';

const { folder } = workerData as { folder: string };
const port = parentPort!;
const opened = openStoreReadOnly(folder);
const room = opened.ok ? new BacktestRoom(opened.value) : null;

port.on('message', (ask: { id: number; request: BacktestRequest } | 'end') => {
  if (ask === 'end') {
    void (room?.close() ?? Promise.resolve()).then(() => {
      if (opened.ok) opened.value.close();
      port.close();
    });
    return;
  }
  const { id, request } = ask;
  const reply = (result: unknown): void => port.postMessage({ kind: 'reply', id, result });
  const fail = (kind: string, sentence: string): void =>
    reply({ ok: false, error: { kind, sentence, remedy: 'Recording is not touched by this. Try again.' } });
  if (room === null) {
    fail('disk', `Recorded sessions cannot be read (${opened.ok ? '' : opened.error.kind}).`);
    return;
  }
  room.ask(request).then(reply, (thrown: unknown) => {
    fail('internal', `The back-test failed: ${thrown instanceof Error ? thrown.message : String(thrown)}.`);
  });
});
