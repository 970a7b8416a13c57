/**
 * A recorder killed at any instant loses nothing that it has acknowledged.
 * This shows survival of the process's death, not of a power cut.
 */
import { spawn } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { openStore } from '../../../electron/host/store/open-store.ts';
import { BREAK_NOTE } from '../../../electron/host/store/session-table.ts';
import { EntrySink, eventsOf, inputsOf, madeUpJournal, mulberry32 } from '../../support/journal-samples.ts';
import { SECONDS } from './kill-child.ts';

const ROUNDS = 12;
const child = fileURLToPath(new URL('./kill-child.ts', import.meta.url));
let folder: string;

beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'runstand-kill-'));
});
afterAll(() => rmSync(folder, { recursive: true }));

test('given a recorder killed at a random instant, twelve times, when opened again, then every acknowledged commit is there and each session is whole', async () => {
  const seed = Date.now() % 1_000_000;
  console.info(`kill rounds: seed ${seed}`);
  const random = mulberry32(seed);
  for (let round = 0; round < ROUNDS; round++) {
    const id = `round-${round}`;
    // Also before the first commit, where a delay of 0 ms falls.
    const acknowledged = await recordUntilKilled(id, seed + round, random() * 500);

    const opened = openStore(folder);
    if (!opened.ok) throw new Error(`round ${round}: ${opened.error.kind}`);
    const store = opened.value;
    try {
      const listed = store.list();
      expect(listed.ok && listed.value.length).toBe(round + 1);
      expect(listed.ok && listed.value.find((row) => row.id === id)).toMatchObject({
        isOpen: false,
        breakNote: BREAK_NOTE,
      });
      expect(store.verify(id)).toMatchObject({ value: { isWhole: true, findings: [] } });
      const sink = new EntrySink();
      expect(store.replay(id, sink)).toEqual({ ok: true, value: null });
      const loaded = store.load(id);
      const entries = madeUpJournal(SECONDS, seed + round);
      const expected = inputsOf(entries).slice(0, sink.entries.length);
      expect(sink.entries).toEqual(expected);
      const last = sink.entries.at(-1);
      const lastOrd = last === undefined ? -1 : last.kind === 'event' ? last.event.ord : last.ord;
      expect(lastOrd).toBeGreaterThanOrEqual(acknowledged);
      expect(loaded.ok && loaded.value.events).toEqual(eventsOf(entries).filter((event) => event.ord <= lastOrd));
    } finally {
      store.close();
    }
  }
}, 60_000);

/** Last ord that the child acknowledged before it was killed `delay_ms` after its first sign of life. */
function recordUntilKilled(id: string, seed: number, delay_ms: number): Promise<number> {
  return new Promise((resolve, reject) => {
    const victim = spawn(process.execPath, [child, folder, id, String(seed)], { stdio: ['ignore', 'pipe', 'pipe'] });
    let printed = '';
    let complaint = '';
    victim.stderr.on('data', (chunk) => {
      complaint += chunk;
    });
    victim.stdout.on('data', (chunk) => {
      if (printed === '') setTimeout(() => victim.kill('SIGKILL'), delay_ms);
      printed += chunk;
    });
    victim.on('close', (_code, signal) => {
      if (signal !== 'SIGKILL') {
        reject(new Error(`the child ended by itself: ${complaint}`));
        return;
      }
      // The last line may be cut off.
      const lines = printed.split('\n').slice(0, -1);
      resolve(Number(lines.at(-1)));
    });
  });
}
