/** Going about in a long replay: from keyframes it shows what folding everything shows, and folds little for it. */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import { afterAll, beforeAll, describe, expect, test, vi } from 'vitest';
import { ReplayPlayer } from '../../../electron/host/reading/replay-player.ts';
import { Recorder } from '../../../electron/host/recorder.ts';
import { KEYFRAME_EVERY_US, packKeyframe, unpackKeyframe } from '../../../electron/host/store/keyframe.ts';
import { DATABASE_NAME, openStore } from '../../../electron/host/store/open-store.ts';
import { exportSession, importSession } from '../../../electron/host/store/session-file.ts';
import type { SqliteStore } from '../../../electron/host/store/sqlite-store.ts';
import type { SessionStore } from '../../../electron/host/store/store-contract.ts';
import { ok } from '../../../shared-core/base/result.ts';
import type { DisplayBatch, Snapshot } from '../../../shared-core/bridge/contract.ts';
import { Intake } from '../../../shared-core/line/intake.ts';
import { Pipeline } from '../../../shared-core/pipeline.ts';
import { lapwing120 } from '../../../shared-core/rig/lapwing.ts';
import { SimulatedBench } from '../../../simulator/simulated-bench.ts';
import { noSummary, sessionStart } from '../../support/journal-samples.ts';

const MINUTES = 33;
const MINUTE_US = 60e6;
const STEP_US = 50_000;
const ID = 'half-an-hour';

let folder: string;
let store: SqliteStore;

beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'runstand-player-'));
  const opened = openStore(folder);
  if (!opened.ok) throw new Error(opened.error.kind);
  store = opened.value;
  const writer = store.start(sessionStart(ID));
  if (!writer.ok) throw new Error(writer.error.kind);
  const summary = () => ({ ...noSummary, duration_us: MINUTES * MINUTE_US });
  const clock = { now_us: () => 0, now_epochMs: () => 0 };
  const recorder = new Recorder(store, writer.value, clock, summary);
  const pipeline = new Pipeline(lapwing120, {
    onValues: (t_us, view) => recorder.values(t_us, view),
    onOutput: (t_us, output) => recorder.output(t_us, output),
  });
  const intake = new Intake({
    frame(ord, t_us, group, raw, columns) {
      recorder.frame(ord, t_us, group, raw, columns);
      pipeline.frame(ord, t_us, group, raw, columns);
      recorder.folded(ord, t_us, pipeline);
    },
    tick(ord, t_us) {
      recorder.tick(ord, t_us);
      pipeline.tick(ord, t_us);
    },
    event(ord, t_us, body) {
      recorder.event(ord, t_us, body);
      pipeline.event(ord, t_us, body);
    },
  });
  const bench = new SimulatedBench({ seed: 7, scenario: 'over-temperature', fast_Hz: 20, slow_Hz: 5 });
  intake.opened(0);
  for (let host_us = STEP_US; host_us <= MINUTES * MINUTE_US; host_us += STEP_US) {
    bench.advance(STEP_US / 1e6);
    intake.bytes(bench.takeBytes(), host_us);
    intake.idle(host_us);
    if (host_us === 4 * MINUTE_US) intake.operator('operator 1', { kind: 'mark', text: 'hot' }, host_us);
    if (host_us === 9 * MINUTE_US) intake.operator('operator 1', { kind: 'capture-point', name: 'P1' }, host_us);
    if (host_us === 14 * MINUTE_US) intake.operator('operator 1', { kind: 'acknowledge-all' }, host_us);
    if (host_us % MINUTE_US === 0) recorder.commit();
  }
  recorder.close();
});
afterAll(() => {
  store.close();
  rmSync(folder, { recursive: true });
});

/** A player that tells what it showed last, and how much it read for it. */
function playerOf(of: SessionStore) {
  const session = of.tables(ID);
  if (!session.ok) throw new Error(session.error.kind);
  const seen: { snapshot: Snapshot | null; batch: DisplayBatch | null; frames: number } = {
    ...{ snapshot: null, batch: null, frames: 0 },
  };
  const counted = Object.create(of) as SessionStore;
  counted.replay = (id, sink, options) =>
    of.replay(
      id,
      {
        frame(...frame) {
          seen.frames++;
          sink.frame(...frame);
        },
        tick: (ord, t_us) => sink.tick(ord, t_us),
        event: (ord, t_us, body) => sink.event(ord, t_us, body),
      },
      options,
    );
  for (const name of ['events', 'keyframeBefore', 'freeBytes'] as const) {
    Object.assign(counted, { [name]: of[name].bind(of) });
  }
  const player = new ReplayPlayer(counted, session.value, {
    onSnapshot: (snapshot) => {
      seen.snapshot = snapshot;
    },
    onDisplay: (batch) => {
      seen.batch = batch;
    },
  });
  return {
    player,
    seen,
    async at(t_us: number) {
      seen.frames = 0;
      await player.seek(t_us);
      const { recorder: _, ...snapshot } = seen.snapshot!;
      const { last, quality, updated_us } = seen.batch!;
      const values = [last, updated_us, quality].map((each) => [...each].join());
      return { shown: JSON.stringify({ snapshot, values }), frames: seen.frames };
    },
  };
}

function withoutKeyframes(): SessionStore {
  const plain = Object.create(store) as SessionStore;
  for (const name of ['replay', 'events', 'freeBytes', 'tables'] as const) {
    Object.assign(plain, { [name]: store[name].bind(store) });
  }
  plain.keyframeBefore = () => ok(null);
  return plain;
}

/** 25 lines a second, as the bench above sends them, and its repeats; keyframes are ten minutes apart. */
const TEN_MINUTES = 1.2 * 600 * 25;

describe('given a session of half an hour', () => {
  test('when it was recorded, then a keyframe was kept each ten minutes', () => {
    const db = new Database(join(folder, DATABASE_NAME), { readonly: true });
    const rows = db.prepare('SELECT t_us, length(body) AS bytes FROM keyframe ORDER BY t_us').all() as {
      t_us: number;
      bytes: number;
    }[];
    db.close();
    expect(rows.map((row) => Math.floor(row.t_us / KEYFRAME_EVERY_US))).toEqual([1, 2, 3]);
    for (const { bytes } of rows) expect(bytes).toBeLessThan(100_000);
  });

  test('when the replay goes far on and back, then it shows what one without keyframes shows, and folds little', async () => {
    const ours = playerOf(store);
    for (const minute of [31, 25.5, 10.001, 3, 29, 14.2, 20, 0.1]) {
      const plain = await playerOf(withoutKeyframes()).at(minute * MINUTE_US);
      const found = await ours.at(minute * MINUTE_US);
      expect({ minute, shown: found.shown }).toEqual({ minute, shown: plain.shown });
      expect(found.frames).toBeLessThan(TEN_MINUTES);
      if (minute > 21) expect(plain.frames).toBeGreaterThan(1.8 * TEN_MINUTES);
    }
  });

  test('when it has no keyframes, then the replay keeps its own on the way, and goes back to them', async () => {
    const player = playerOf(withoutKeyframes());
    await player.at(32 * MINUTE_US);
    for (const minute of [31.5, 17, 16, 30]) {
      const plain = await playerOf(withoutKeyframes()).at(minute * MINUTE_US);
      const found = await player.at(minute * MINUTE_US);
      expect({ minute, shown: found.shown }).toEqual({ minute, shown: plain.shown });
      expect(found.frames).toBeLessThan(1.6 * TEN_MINUTES);
    }
  });

  test('when it is played at 200 times, then a second brings 200 s, read on its way', async () => {
    const { player, seen } = playerOf(store);
    await player.seek(2 * MINUTE_US);
    seen.frames = 0;
    vi.useFakeTimers();
    try {
      player.play(200);
      vi.advanceTimersByTime(1000);
      player.pause();
    } finally {
      vi.useRealTimers();
    }
    expect(seen.snapshot?.now_us).toBe(2 * MINUTE_US + 200e6);
    // 25 lines a second and the repeats; a little ahead of the play head, and no more.
    expect(seen.frames).toBeGreaterThan(200 * 25);
    expect(seen.frames).toBeLessThan(1.2 * 203 * 27);
    player.close();
  });

  test('when it is carried to another folder in a file, then its keyframes go with it', () => {
    const file = join(folder, 'out.runstand');
    expect(exportSession(store, ID, file).ok).toBe(true);
    const other = mkdtempSync(join(tmpdir(), 'runstand-player-other-'));
    const opened = openStore(other);
    if (!opened.ok) throw new Error(opened.error.kind);
    expect(importSession(file, opened.value).ok).toBe(true);
    expect(opened.value.keyframeBefore(ID, 25 * MINUTE_US)).toEqual(store.keyframeBefore(ID, 25 * MINUTE_US));
    expect(store.keyframeBefore(ID, 5 * MINUTE_US)).toEqual({ ok: true, value: null });
    opened.value.close();
    rmSync(other, { recursive: true });
  });
});

describe('given a keyframe', () => {
  const pipeline = new Pipeline(lapwing120);
  const keyframe = packKeyframe(12, 34.5, pipeline.save());

  test('when it is unpacked, then it is what was packed', () => {
    expect(unpackKeyframe(keyframe)).toEqual(pipeline.save());
  });

  test.each([
    [
      'a bit of its body is turned',
      { ...keyframe, body: keyframe.body.map((byte, i) => (i === 40 ? byte ^ 4 : byte)) },
    ],
    ['it stands at another place', { ...keyframe, ord: 13 }],
    ['it stands at another time', { ...keyframe, t_us: 34 }],
    ['its format is another', { ...keyframe, body: keyframe.body.map((byte, i) => (i === 0 ? 2 : byte)) }],
    ['nothing is left of it', { ...keyframe, body: new Uint8Array(3) }],
  ])('when %s, then it is not taken', (_, damaged) => {
    expect(unpackKeyframe(damaged)).toBeNull();
  });
});
