/**
 * The whole host killed without warning at random instants while it records:
 * the session reopens, at most the last second is missing, the break is marked.
 */
import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { openStoreReadOnly } from '../../../electron/host/store/open-store.ts';
import { startApp } from '../../e2e/support/app.ts';

const ROUNDS = 5;
/** "At most the last second", and the way from the kill to its time stamp here. */
const MOST_MISSING_MS = 1000 + 200;
const root = join(import.meta.dirname, '..', '..', '..');

/** A small generator, so that a failing round can be repeated by its seed. */
function randomOf(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (Math.imul(state, 1_664_525) + 1_013_904_223) >>> 0;
    return state / 2 ** 32;
  };
}

describe('given a host that records', () => {
  const seed = Date.now() % 1_000_000;
  const random = randomOf(seed);
  test.for(Array.from({ length: ROUNDS }, (_, round) => round))(
    `when it is killed at a random instant (seed ${seed}, round %i), then at most the last second is missing`,
    { timeout: 60_000 },
    async () => {
      const folder = mkdtempSync(join(tmpdir(), 'runstand-kill-'));
      try {
        const app = await startApp({ scenario: 'full-throttle', dataFolder: folder });
        await new Promise((done) => setTimeout(done, 1500 + random() * 2500));
        const killedAt_epochMs = Date.now();
        await app.kill();

        const opened = openStoreReadOnly(folder);
        if (!opened.ok) throw new Error(opened.error.kind);
        const listed = opened.value.list();
        if (!listed.ok) throw new Error(listed.error.kind);
        const row = listed.value[0]!;
        const verified = opened.value.verify(row.id);
        opened.value.close();
        if (!verified.ok) throw new Error(verified.error.kind);
        expect(verified.value.findings).toEqual([]);
        const missing_ms = killedAt_epochMs - (row.startedAt_epochMs + row.duration_us / 1000);
        expect(missing_ms).toBeLessThan(MOST_MISSING_MS);
        expect(row.isOpen).toBe(false);

        // The next start marks it, and the command line replays what is there.
        const next = await startApp({ noSource: true, dataFolder: folder });
        await next.stop();
        const again = openStoreReadOnly(folder);
        if (!again.ok) throw new Error(again.error.kind);
        const rows = again.value.list();
        again.value.close();
        expect(rows).toMatchObject({
          ok: true,
          value: [{ id: row.id, breakNote: expect.stringContaining('last second') }],
        });
        const replay = spawnSync(
          process.execPath,
          [join(root, 'electron', 'host', 'cli', 'cli.ts'), 'verify', row.id, '--data', folder],
          { encoding: 'utf8' },
        );
        expect(replay.stdout).toContain('whole and unaltered');
      } finally {
        rmSync(folder, { recursive: true, force: true, maxRetries: 5 });
      }
    },
  );
});
