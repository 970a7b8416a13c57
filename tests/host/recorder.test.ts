import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import { Acquisition } from '../../electron/host/acquisition.ts';
import { Recorder } from '../../electron/host/recorder.ts';
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

describe('given a recorder that may hold 400 kB', () => {
  const start = { id: 'r', startedAt_epochMs: 0, source: 'simulator', detail: '', rig: lapwing120 } as const;
  const noSummary = { duration_us: 0, runs: [], alarms: 0, aborts: 0, marks: 0 };
  let now_epochMs = 0;
  const clock = { now_us: () => now_epochMs * 1000, now_epochMs: () => now_epochMs };
  const raw = new Int32Array(64);
  let ord = 0;

  function begin(): Recorder {
    ord = 0;
    now_epochMs = 0;
    const started = store.start(start);
    if (!started.ok) throw new Error(started.error.kind);
    return new Recorder(store, started.value, clock, () => noSummary, 400_000);
  }

  /** A second of 100 frames that do not pack, then a commit. */
  function second(recorder: Recorder): void {
    for (let i = 0; i < 100; i++, ord++) {
      for (let c = 0; c < raw.length; c++) raw[c] = Math.imul(ord + 1, 2_654_435_761 + c) >> 3;
      recorder.frame(ord, ord * 10_000, 1, raw, raw.length);
    }
    now_epochMs += 1000;
    recorder.commit();
  }

  test('when the disk is full for long, then it says how long memory lasts, then that it no longer records; with room it goes on', () => {
    const recorder = begin();
    second(recorder);
    store.limitPages(1);
    for (let i = 0; i < 3; i++) second(recorder);
    expect(recorder.health.state).toBe('holding');
    expect(recorder.health.sentence).toMatch(/is full\. .*Memory lasts about \d+ s more\.$/);
    for (let i = 0; i < 40 && recorder.health.state === 'holding'; i++) second(recorder);
    expect(recorder.health.state).toBe('stopped');
    expect(recorder.health.sentence).toContain('what comes now is NOT recorded');
    const stoppedAt = ord;
    second(recorder);
    store.limitPages(1_000_000);
    second(recorder);
    expect(recorder.health).toMatchObject({ state: 'recording', sentence: '' });
    second(recorder);
    recorder.close();
    // What was held is there, what came while it was stopped is not, and verify says which.
    const verified = store.verify('r');
    if (!verified.ok) throw new Error(verified.error.kind);
    expect(verified.value.findings).toHaveLength(1);
    expect(verified.value.findings[0]).toMatch(new RegExp(`^ord ${stoppedAt} to \\d+ missing$`));
  });

  test('when it has recorded for a minute, then the room on the disk is forecast, at the rate at which the session grows', () => {
    const recorder = begin();
    for (let i = 0; i < 55; i++) second(recorder);
    expect(recorder.health.forecast_h).toBeNull();
    for (let i = 0; i < 30; i++) second(recorder);
    const { freeBytes, sessionBytes, forecast_h } = recorder.health;
    const expected_h = freeBytes / (sessionBytes / 85) / 3600;
    expect(forecast_h! / expected_h).toBeGreaterThan(0.8);
    expect(forecast_h! / expected_h).toBeLessThan(1.2);
    recorder.close();
  });
});
