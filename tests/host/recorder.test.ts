import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import { Acquisition } from '../../electron/host/acquisition.ts';
import { SimulatorSource } from '../../electron/host/simulator-source.ts';
import { openStore } from '../../electron/host/store/open-store.ts';
import type { SqliteStore } from '../../electron/host/store/sqlite-store.ts';
import { lapwing120 } from '../../shared-core/rig/lapwing.ts';

let folder = '';
let store: SqliteStore;

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'runstand-recorder-'));
  const opened = openStore(folder);
  if (!opened.ok) throw new Error(opened.error.kind);
  store = opened.value;
});
afterEach(() => {
  store.close();
  rmSync(folder, { recursive: true, force: true });
});

describe('given a disk that fills while an engine runs', () => {
  test('when it is full, then the operator is told, the data is held; when room returns, then nothing is missing', async () => {
    const source = new SimulatorSource({ scenario: 'full-throttle', seed: 2, speed: 1 });
    const clock = { now_us: () => source.now_us(), now_epochMs: () => 1_795_000_000_000 + source.now_us() / 1000 };
    const acquisition = new Acquisition({ source, rig: lapwing120, store, clock, log: () => {} });
    acquisition.startUnpaced();
    const pass = (seconds: number): void => {
      for (let i = 0; i < seconds * 50; i++) {
        source.step();
        if (i % 25 === 24) acquisition.commit();
      }
    };
    const recorder = () => acquisition.snapshot([]).recorder;
    pass(3);
    expect(recorder()).toMatchObject({ state: 'recording', sentence: '' });

    // SQLite takes a limit below what there is as what there is: no page more.
    store.limitPages(1);
    pass(20);
    expect(recorder().state).toBe('holding');
    expect(recorder().sentence).toContain('full');
    expect(recorder().remedy).toContain('Free space');
    expect(recorder().held_s).toBeGreaterThan(1);
    const heldAt_us = acquisition.pipeline.now_us;

    store.limitPages(1_000_000);
    pass(2);
    expect(recorder()).toMatchObject({ state: 'recording', sentence: '', held_s: 0 });
    expect(acquisition.pipeline.now_us).toBeGreaterThan(heldAt_us);

    const id = acquisition.session!.id;
    const frames = acquisition.intake.counts;
    await acquisition.close();
    const verified = store.verify(id);
    if (!verified.ok) throw new Error(verified.error.kind);
    expect(verified.value.findings).toEqual([]);
    // 100 and 10 lines a second over 25 s; the first few come before the channel table is known.
    expect(verified.value.frames).toBeGreaterThan(2650);
    expect(frames.missing).toBe(0);
  });
});
