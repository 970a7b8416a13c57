/** A worker with its own connection reads a session while this thread records it. */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setImmediate as nextTurn } from 'node:timers/promises';
import { Worker } from 'node:worker_threads';
import { expect, test } from 'vitest';
import { openStore } from '../../../electron/host/store/open-store.ts';
import { madeUpJournal, noSummary, record, sessionStart } from '../../support/journal-samples.ts';

test('given a session being recorded, when a worker reads it 20 times, then each reading is whole, in order and no shorter than the last, and no commit fails', async () => {
  const folder = mkdtempSync(join(tmpdir(), 'runstand-read-'));
  const opened = openStore(folder);
  if (!opened.ok) throw new Error(opened.error.kind);
  const store = opened.value;
  try {
    const started = store.start(sessionStart('s1'));
    if (!started.ok) throw new Error(started.error.kind);
    const seen: { entries: number; isInOrder: boolean; isWhole: boolean }[] = [];
    let failure: unknown = null;
    let isDone = false;
    const worker = new Worker(new URL('./read-worker.ts', import.meta.url), {
      workerData: { folder, id: 's1', passes: 20 },
    });
    worker.on('message', (message) => seen.push(message));
    worker.on('error', (error) => {
      failure = error;
    });
    worker.on('exit', () => {
      isDone = true;
    });
    const entries = madeUpJournal(600);
    for (let from = 0; !isDone; from += 25) {
      record(started.value, entries.slice(from, from + 25));
      expect(started.value.commit(noSummary).ok).toBe(true);
      await nextTurn();
    }
    expect(failure).toBeNull();
    expect(seen).toHaveLength(20);
    expect(seen.every((pass) => pass.isInOrder && pass.isWhole)).toBe(true);
    expect(seen.every((pass, i) => i === 0 || pass.entries >= seen[i - 1]!.entries)).toBe(true);
    expect(seen.at(-1)!.entries).toBeGreaterThan(seen[0]!.entries);
  } finally {
    store.close();
    rmSync(folder, { recursive: true });
  }
});
