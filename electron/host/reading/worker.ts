/** The reading room in a worker thread; `reading-client.ts` talks to it. */
import { parentPort, workerData } from 'node:worker_threads';
import { openStoreReadOnly } from '../store/open-store.ts';
import { type ReadingRequest, ReadingRoom, type ReadingShow } from './reading-room.ts';
import { yieldToLive } from './yield-to-live.ts';

export interface WorkerAsk {
  readonly id: number;
  readonly request: ReadingRequest;
}
export type WorkerSays =
  | { readonly kind: 'reply'; readonly id: number; readonly result: Awaited<ReturnType<ReadingRoom['ask']>> }
  | { readonly kind: 'show'; readonly message: ReadingShow };

yieldToLive();
const { folder, exportsFolder } = workerData as { folder: string; exportsFolder: string };
const port = parentPort!;
const say = (what: WorkerSays): void => port.postMessage(what);
const opened = openStoreReadOnly(folder);
const room = opened.ok
  ? new ReadingRoom(opened.value, exportsFolder, (message) => say({ kind: 'show', message }))
  : null;

port.on('message', (ask: WorkerAsk | 'end') => {
  if (ask === 'end') {
    void room?.close();
    if (opened.ok) opened.value.close();
    port.close();
    return;
  }
  if (room === null) {
    const why = opened.ok ? '' : opened.error.kind;
    const error = {
      kind: 'disk',
      sentence: `Recorded sessions cannot be read (${why}).`,
      remedy: 'See the trouble named at the top of the screen.',
    };
    say({ kind: 'reply', id: ask.id, result: { ok: false, error } });
    return;
  }
  room.ask(ask.request).then(
    (result) => say({ kind: 'reply', id: ask.id, result }),
    (thrown: unknown) => {
      const error = {
        kind: 'internal',
        sentence: `Reading failed: ${thrown instanceof Error ? thrown.message : String(thrown)}.`,
        remedy: 'Recording is not touched by this. Try again.',
      };
      say({ kind: 'reply', id: ask.id, result: { ok: false, error } });
    },
  );
});
