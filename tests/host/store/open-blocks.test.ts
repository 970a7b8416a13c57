/** Blocks kept for the next look: what is read through them is what is stored, while a recorder makes new ones. */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import { openStore, openStoreReadOnly } from '../../../electron/host/store/open-store.ts';
import type { SqliteStore } from '../../../electron/host/store/sqlite-store.ts';
import type { SessionWriter } from '../../../electron/host/store/store-contract.ts';
import { noSummary, sessionStart } from '../../support/journal-samples.ts';

let folder: string;
let store: SqliteStore;
let reader: SqliteStore;
let writer: SessionWriter;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'runstand-open-blocks-'));
  store = opened(openStore(folder));
  const started = store.start(sessionStart('s'));
  if (!started.ok) throw new Error(started.error.kind);
  writer = started.value;
  reader = opened(openStoreReadOnly(folder));
});
afterEach(() => {
  reader.close();
  store.close();
  rmSync(folder, { recursive: true });
});

function opened<T>(result: { ok: true; value: T } | { ok: false; error: { kind: string } }): T {
  if (!result.ok) throw new Error(result.error.kind);
  return result.value;
}

const PERIOD_US = 10_000;
const valueAt = (i: number): number => (i * 7919) % 1000;

/** Frames `from` to `to` − 1, a commit each second. */
function record(from: number, to: number): void {
  for (let i = from; i < to; i++) {
    writer.frame(i, i * PERIOD_US, 1, Int32Array.of(valueAt(i), -valueAt(i)), 2);
    if (i % 100 === 99) opened(writer.commit({ ...noSummary, duration_us: i * PERIOD_US }));
  }
}

/** The lowest and highest of a column, one frame to a pixel. */
function seen(column: number, from: number, to: number): number[] {
  const window = { from_us: from * PERIOD_US, to_us: to * PERIOD_US, pixels: to - from };
  const view = opened(reader.viewRaw('s', 1, column, window));
  return [...view.min].map((low, pixel) => (view.count[pixel] === 1 && low === view.max[pixel] ? low : Number.NaN));
}

const expected = (from: number, to: number, sign: number): number[] =>
  Array.from({ length: to - from }, (_, i) => sign * valueAt(from + i) + 0);

describe('given a session that is being recorded', () => {
  test('when it is read here and there while it grows, then each look shows what was recorded, new blocks too', () => {
    let recorded = 0;
    for (const seconds of [5, 21, 22, 40, 63, 64, 90]) {
      record(recorded, seconds * 100);
      recorded = seconds * 100;
      for (const [from, to] of [
        [0, 300],
        [recorded - 250, recorded],
        [Math.floor(recorded / 2), Math.floor(recorded / 2) + 240],
      ] as const) {
        expect(seen(0, from, to)).toEqual(expected(from, to, 1));
        // The second column by the blocks that the first one opened.
        expect(seen(1, from, to).map((each) => each + 0)).toEqual(expected(from, to, -1).map((each) => each + 0));
      }
    }
  });

  test('when a session is let go and another takes its number, then the other one is read', () => {
    record(0, 4000);
    opened(writer.close({ ...noSummary, duration_us: 40e6 }, 1));
    expect(seen(0, 1000, 1100)).toEqual(expected(1000, 1100, 1));
    opened(store.prune(Date.now() + 1e12));
    const next = opened(store.start(sessionStart('t')));
    for (let i = 0; i < 4000; i++) next.frame(i, i * PERIOD_US, 1, Int32Array.of(5, 6), 2);
    opened(next.close({ ...noSummary, duration_us: 40e6 }, 1));
    const view = opened(reader.viewRaw('t', 1, 0, { from_us: 10e6, to_us: 11e6, pixels: 10 }));
    expect([...view.min]).toEqual(new Array(10).fill(5));
    expect(reader.viewRaw('s', 1, 0, { from_us: 0, to_us: 1e6, pixels: 1 })).toMatchObject({ ok: false });
  });
});
