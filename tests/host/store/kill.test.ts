/**
 * A recorder killed at any instant loses nothing that it has acknowledged.
 * This shows survival of the process's death, not of a power cut.
 * Rounds: 10 of each kind; `KILL_ROUNDS=50` for a hundred in all.
 */
import { spawn } from 'node:child_process';
import { mkdirSync, mkdtempSync, rmSync, watch } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import Database from 'better-sqlite3';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { DATABASE_NAME, openStore } from '../../../electron/host/store/open-store.ts';
import { BREAK_NOTE } from '../../../electron/host/store/session-table.ts';
import { EntrySink, eventsOf, inputsOf, madeUpJournal, mulberry32 } from '../../support/journal-samples.ts';
import { type Commits, LONG_SECONDS, SECONDS } from './kill-child.ts';

const ROUNDS = Number(process.env.KILL_ROUNDS ?? 10);
const child = fileURLToPath(new URL('./kill-child.ts', import.meta.url));
let folder: string;

beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'runstand-kill-'));
});
afterAll(() => rmSync(folder, { recursive: true }));

test.each([
  { title: 'while it records', commits: 'short' },
  { title: 'while it rewrites blocks', commits: 'long' },
] as const)(
  'given a recorder killed $title at a random instant, again and again, when opened again, then every acknowledged commit is there and each session is whole',
  async ({ commits }) => {
    const seed = Date.now() % 1_000_000;
    console.info(`kill rounds, ${commits} commits: seed ${seed}`);
    const random = mulberry32(seed);
    const where = join(folder, commits);
    let longBlocks = 0;
    // A machine that others use rewrites fewer blocks in the same time: more rounds, until enough were rewritten.
    const isEnough = (): boolean => commits !== 'long' || longBlocks > 2 * ROUNDS;
    for (let round = 0; round < ROUNDS || (!isEnough() && round < 5 * ROUNDS); round++) {
      const id = `round-${round}`;
      const count = await recordUntilKilled(where, id, seed + round, commits, random() * 500);

      const opened = openStore(where);
      if (!opened.ok) throw new Error(`round ${round}: ${opened.error.kind}`);
      const store = opened.value;
      try {
        const listed = store.list();
        expect(listed.ok && listed.value.length).toBe(round + 1);
        expect(listed.ok && listed.value.find((row) => row.id === id)).toMatchObject({
          isOpen: false,
          breakNote: BREAK_NOTE,
        });
        const verified = store.verify(id);
        expect(verified).toMatchObject({ value: { isWhole: true, findings: [] } });
        const sink = new EntrySink();
        expect(store.replay(id, sink)).toEqual({ ok: true, value: null });
        const loaded = store.load(id);
        if (!loaded.ok) throw new Error(`round ${round}: ${loaded.error.kind}`);
        const entries = madeUpJournal(commits === 'long' ? LONG_SECONDS : SECONDS, seed + round);
        const acknowledged = entries.slice(0, count);
        expect(sink.entries.length).toBeGreaterThanOrEqual(inputsOf(acknowledged).length);
        expect(sink.entries).toEqual(inputsOf(entries).slice(0, sink.entries.length));
        expect(loaded.value.events.length).toBeGreaterThanOrEqual(eventsOf(acknowledged).length);
        expect(loaded.value.events).toEqual(eventsOf(entries).slice(0, loaded.value.events.length));
      } finally {
        store.close();
      }
      const db = new Database(join(where, DATABASE_NAME), { readonly: true });
      longBlocks = db.prepare('SELECT count(*) FROM block').pluck().get() as number;
      db.close();
    }
    // Else the rounds would not have shown what they are for.
    expect(isEnough()).toBe(true);
  },
  20_000 + 15_000 * ROUNDS,
);

test('given a recorder killed while it makes its file, eight times, when opened again, then it opens, with at most that session in it', async () => {
  const seed = Date.now() % 1_000_000;
  console.info(`kill rounds while opening: seed ${seed}`);
  const random = mulberry32(seed);
  for (let round = 0; round < 8; round++) {
    const fresh = join(folder, `fresh-${round}`);
    mkdirSync(fresh);
    // From the instant at which the first file appears: the lock, before the database.
    await new Promise<void>((resolve) => {
      const victim = spawn(process.execPath, [child, fresh, 'only', '1'], { stdio: 'ignore' });
      const watcher = watch(fresh, () => {
        watcher.close();
        setTimeout(() => victim.kill('SIGKILL'), random() * 30);
      });
      victim.on('close', () => resolve());
    });
    const opened = openStore(fresh);
    if (!opened.ok) throw new Error(`round ${round}: ${opened.error.kind}`);
    const listed = opened.value.list();
    expect(listed.ok && listed.value.every((row) => row.id === 'only' && row.breakNote === BREAK_NOTE)).toBe(true);
    if (listed.ok && listed.value.length > 0) {
      expect(opened.value.verify('only')).toMatchObject({ value: { isWhole: true } });
    }
    opened.value.close();
  }
}, 60_000);

/** How many entries the child had acknowledged before it was killed `delay_ms` after its first sign of life. */
function recordUntilKilled(
  folder: string,
  id: string,
  seed: number,
  commits: Commits,
  delay_ms: number,
): Promise<number> {
  return new Promise((resolve, reject) => {
    const victim = spawn(process.execPath, [child, folder, id, String(seed), commits], {
      stdio: ['ignore', 'pipe', 'pipe'],
    });
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
