/** Views of a long session against the fold itself, value by value. */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { Acquisition } from '../../../electron/host/acquisition.ts';
import { ReadingRoom } from '../../../electron/host/reading/reading-room.ts';
import { SessionViews } from '../../../electron/host/reading/session-views.ts';
import { SimulatorSource } from '../../../electron/host/simulator-source.ts';
import { openStore } from '../../../electron/host/store/open-store.ts';
import type { SqliteStore } from '../../../electron/host/store/sqlite-store.ts';
import type { SeriesView } from '../../../shared-core/bridge/contract.ts';
import { Pipeline } from '../../../shared-core/pipeline.ts';
import { lapwing120 } from '../../../shared-core/rig/lapwing.ts';

const SECONDS = 640;
/** One that falls, so that lowest and highest change places. */
const rig = {
  ...lapwing120,
  calibrations: [
    ...lapwing120.calibrations.filter((each) => each.channel !== 'cht2'),
    { channel: 'cht2', a0: 400, a1: -1, a2: 0, tare: 0, date: '', who: '', method: '', note: '' },
  ],
};

interface Track {
  readonly t_us: number[];
  readonly value: number[];
}

let folder: string;
let store: SqliteStore;
let acquisition: Acquisition;
let source: SimulatorSource;
let id: string;
const tracks = new Map<string, Track>();

beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'runstand-views-'));
  const opened = openStore(folder);
  if (!opened.ok) throw new Error(opened.error.kind);
  store = opened.value;
  source = new SimulatorSource({ scenario: 'full-throttle', seed: 3, speed: 1 });
  const clock = { now_us: () => source.now_us(), now_epochMs: () => 1_795_000_000_000 + source.now_us() / 1000 };
  acquisition = new Acquisition({ source, rig, store, clock, log: () => {} });
  acquisition.startUnpaced();
  for (let i = 0; i < SECONDS * 50; i++) {
    source.step();
    if (i % 25 === 24) acquisition.commit();
  }
  id = acquisition.session!.id;
  const seen = new Map<string, number>();
  const pipeline = new Pipeline(rig, {
    onValues(_t_us, view) {
      const { channels, value, quality, updated_us } = view.values;
      channels.forEach(({ key }, i) => {
        if (quality[i] !== 0 || updated_us[i]! <= (seen.get(key) ?? -1)) return;
        seen.set(key, updated_us[i]!);
        let track = tracks.get(key);
        if (track === undefined) {
          track = { t_us: [], value: [] };
          tracks.set(key, track);
        }
        track.t_us.push(updated_us[i]!);
        track.value.push(value[i]!);
      });
    },
    onOutput() {},
  });
  store.replay(id, pipeline);
}, 120_000);
afterAll(async () => {
  store.close();
  rmSync(folder, { recursive: true });
});

const windows = [
  { title: 'all of it', from_us: 0, to_us: SECONDS * 1e6, pixels: 50 },
  { title: 'four minutes', from_us: 30.5e6, to_us: 270e6, pixels: 300 },
  { title: 'ten seconds', from_us: 400e6, to_us: 410e6, pixels: 100 },
];

describe.each(windows)('given a session of eleven minutes and a window of $title', ({ from_us, to_us, pixels }) => {
  test('when channels of the bench are viewed while it is recorded, then each column is what the fold gave between its edges', () => {
    const series = viewed(['rpm', 'cht1', 'cht2', 'fuel_flow', 'air_press'], from_us, to_us, pixels);
    for (const each of series) expectTrack(each, to_us, 0);
  });

  test('when derived channels are viewed, then each column has what the fold gave, and little more', () => {
    const series = viewed(['brake_power', 'cht_max', 'bsfc'], from_us, to_us, pixels);
    // A short window is folded from a minute before: what looks back further may differ there.
    for (const each of series) expectTrack(each, to_us, to_us - from_us < 60e6 ? 2e-2 : 2 ** -14);
  });
});

test('given a channel that the session does not have, when viewed, then it is all gaps', () => {
  const [series] = viewed(['oil_colour'], 0, SECONDS * 1e6, 10);
  expect([...series!.min].every(Number.isNaN)).toBe(true);
});

test('given one plot that asks again and again, when answered, then only the newest view is read', async () => {
  const room = new ReadingRoom(store, folder, () => {});
  const ask = (to_us: number) =>
    room.ask({ method: 'view', params: { session: id, channels: ['rpm'], from_us: 0, to_us, pixels: 100 } });
  const answers = await Promise.all([ask(100e6), ask(200e6), ask(300e6)]);
  expect(answers.map((each) => each.ok)).toEqual([false, false, true]);
  expect(answers[0]).toMatchObject({ error: { kind: 'superseded' } });
  expect(answers[2]).toMatchObject({ value: [{ to_us: 300e6 }] });
  await room.close();
});

function viewed(keys: string[], from_us: number, to_us: number, pixels: number): SeriesView[] {
  const views = SessionViews.of(store, id);
  if (!views.ok || views.value === null) throw new Error('expected a long session');
  const series = views.value.view(keys, from_us, to_us, pixels);
  if (!series.ok || series.value === null) throw new Error('expected series');
  expect(series.value.map((each) => each.channel)).toEqual(keys);
  return series.value;
}

function expectTrack({ channel, t_us, min, max }: SeriesView, to_us: number, tolerance: number): void {
  const track = tracks.get(channel)!;
  let i = 0;
  let columnsWithValues = 0;
  for (let p = 0; p < min.length; p++) {
    const edge_us = p + 1 < t_us.length ? t_us[p + 1]! : to_us;
    while (i < track.t_us.length && track.t_us[i]! < t_us[p]!) i++;
    let low = Number.NaN;
    let high = Number.NaN;
    for (; i < track.t_us.length && track.t_us[i]! < edge_us; i++) {
      if (!(low <= track.value[i]!)) low = track.value[i]!;
      if (!(high >= track.value[i]!)) high = track.value[i]!;
    }
    const where = `${channel}, column ${p}`;
    if (Number.isNaN(low)) continue;
    columnsWithValues++;
    if (tolerance === 0) expect([where, min[p], max[p]]).toEqual([where, low, high]);
    else {
      // Steps of a fold need not begin at a column's edge: what lies between may stand in the next one.
      const slack = tolerance * Math.max(1, Math.abs(low), Math.abs(high)) + 1e-9;
      expect([where, min[p]! <= low + slack || Number.isNaN(min[p]!)]).toEqual([where, true]);
      expect([where, max[p]! >= high - slack || Number.isNaN(max[p]!)]).toEqual([where, true]);
    }
  }
  expect(columnsWithValues).toBeGreaterThan(3);
}
