/**
 * A plot of 2,000 pixels of one channel out of a long recording, in any window.
 *
 * `npm run bench -- zoom [--n 1e9] [--folder DIR]`; without --n: 1e6 and 1e7.
 * 1e9 samples of one channel are 116 days at 100 Hz: about 0.8 GB and two
 * minutes to write. With --n the same is done at 1e6 for the ratio.
 *
 * Windows are put at random places, 15 for each width, on a connection of
 * their own as the reading worker has; the pages read come from the system's
 * cache after the first. "worst" is the widest pixel that is read from the
 * samples. Against it: decoding all blocks and scanning, and GROUP BY over
 * narrow rows, both at 1e7. Pixels are held against the samples they stand for.
 */
import { join } from 'node:path';
import Database from 'better-sqlite3';
import { DATABASE_NAME, openStoreReadOnly } from '../../electron/host/store/open-store.ts';
import type { SessionStore, ViewWindow } from '../../electron/host/store/store-contract.ts';
import { baseOfRate_us } from '../../shared-core/series/time-levels.ts';
import { argument, inFolder, machine, median, must, mustOpen, mustStart, round, table } from './_measure.ts';
import { gaussian } from './_stand-signal.ts';

const PIXELS = 2000;
const PERIOD_US = 10_000;
const SEED = 20_261_125;
const BASELINE_SAMPLES = 1e7;
const WINDOWS = 15;
const COMMIT_EVERY = 1_000_000;

const noise = (() => {
  const normal = gaussian(SEED);
  return Int32Array.from({ length: 1 << 20 }, () => Math.round(14 * normal()));
})();

/** The channel: a slow swing, a slower one, and noise of 14 counts; now and then a spike of one sample. */
function sample(i: number): number {
  const slow = 600 * Math.sin(i / 1432) + 2000 * Math.sin(i / 3.1e6);
  const spike = i % 777_777 === 5 ? 9000 : 0;
  // Where in the table changes with each pass, so that it does not repeat.
  return 6000 + Math.round(slow) + noise[(i + 7919 * (i >>> 20)) & 0xf_ffff]! + spike;
}

interface Timed {
  readonly name: string;
  readonly median_ms: number;
  readonly most_ms: number;
}

export async function run(args: readonly string[]): Promise<Record<string, unknown>> {
  const asked = argument(args, 'n', 1e7);
  console.log(`${PIXELS} pixels of one channel, seed ${SEED}; ${machine()}`);
  const small = measured(1e6);
  const large = measured(asked);
  const baseline = inFolder((folder) => baselines(folder, Math.min(asked, BASELINE_SAMPLES)));
  console.log(
    table([
      ['median (most), ms', `n = ${small.n}`, `n = ${large.n}`],
      ...large.times.map((each, i) => [
        each.name,
        `${small.times[i]!.median_ms} (${small.times[i]!.most_ms})`,
        `${each.median_ms} (${each.most_ms})`,
      ]),
      [`decode and scan all, n = ${baseline.n}`, '', round(baseline.scan_ms, 0)],
      [`SQL GROUP BY, n = ${baseline.n}`, '', round(baseline.groupBy_ms, 0)],
      ['written, s', round(small.write_s, 1), round(large.write_s, 1)],
      ['blocks, B/sample', round(small.blockBytes / small.n, 3), round(large.blockBytes / large.n, 3)],
      [
        'levels of blocks',
        round(small.levelBytes / small.blockBytes, 4),
        round(large.levelBytes / large.blockBytes, 4),
      ],
    ]),
  );
  const worst = (times: readonly Timed[]) => Math.max(...times.slice(1).map((each) => each.median_ms));
  console.log(
    `${large.checked} pixels held against a scan of their samples at n = ${large.n}, ${small.checked} at n = ${small.n}.`,
  );
  return {
    n: large.n,
    worst_ms: worst(large.times),
    most_ms: Math.max(...large.times.map((each) => each.most_ms)),
    ratioToSmall: round(worst(large.times) / worst(small.times), 2),
    ratioByView: Object.fromEntries(
      large.times.slice(1).map((each, i) => [each.name, round(each.median_ms / small.times[i + 1]!.median_ms, 2)]),
    ),
    levelsOfBlocks: round(large.levelBytes / large.blockBytes, 4),
    scanTimes: round(baseline.scan_ms / large.times[1]!.median_ms, 0),
    groupByTimes: round(baseline.groupBy_ms / large.times[1]!.median_ms, 0),
  };
}

function measured(n: number) {
  return inFolder((folder) => {
    const started = performance.now();
    write(folder, n);
    const write_s = (performance.now() - started) / 1000;
    const opened = openStoreReadOnly(folder);
    if (!opened.ok) throw new Error(opened.error.kind);
    const store = opened.value;
    const end_us = n * PERIOD_US;
    const twoSteps = 2 * (baseOfRate_us(100_000) / PERIOD_US);
    const widths: readonly (readonly [string, number])[] = [
      ['full', end_us],
      ['10 %', end_us / 10],
      ['1 %', end_us / 100],
      ['worst', (twoSteps - 1) * PIXELS * PERIOD_US],
      ['1 sample a pixel', PIXELS * PERIOD_US],
    ];
    const coldStarted = performance.now();
    must(store.viewRaw('s', 1, 0, { from_us: 0, to_us: end_us, pixels: PIXELS }));
    const cold_ms = round(performance.now() - coldStarted, 2);
    const random = gaussian(SEED + 1);
    const place = () => Math.abs(random() * 7.3) % 1;
    let checked = 0;
    const times: Timed[] = [{ name: 'first on a new connection, full', median_ms: cold_ms, most_ms: cold_ms }];
    for (const [name, width_us] of widths) {
      const each_ms: number[] = [];
      for (let i = 0; i < WINDOWS; i++) {
        const from_us = Math.floor(place() * (end_us - width_us));
        const window = { from_us, to_us: from_us + width_us, pixels: PIXELS };
        const from = performance.now();
        must(store.viewRaw('s', 1, 0, window));
        each_ms.push(performance.now() - from);
        if (i < 3) checked += check(store, window, n);
      }
      times.push({ name, median_ms: round(median(each_ms), 2), most_ms: round(Math.max(...each_ms), 2) });
    }
    store.close();
    const db = new Database(join(folder, DATABASE_NAME), { readonly: true });
    const sum = (of: string) => db.prepare(`SELECT sum(length(body)) FROM ${of}`).pluck().get() as number;
    const bytes = { blockBytes: sum('block'), levelBytes: sum('level') };
    db.close();
    return { n, times, checked, write_s, ...bytes };
  });
}

function write(folder: string, n: number): void {
  const store = mustOpen(folder);
  const writer = mustStart(store, 's');
  const raw = new Int32Array(1);
  const summary = { duration_us: n * PERIOD_US, runs: [], alarms: 0, aborts: 0, marks: 0 };
  for (let i = 0; i < n; i++) {
    raw[0] = sample(i);
    writer.frame(i, i * PERIOD_US, 1, raw, 1);
    if (i % COMMIT_EVERY === 0) must(writer.commit(summary));
  }
  must(writer.close(summary, 1));
  store.close();
}

/** Pixels here and there, each against all of its samples. Returns how many. */
function check(store: SessionStore, window: ViewWindow, n: number): number {
  const { edges_us, min, max, count } = must(store.viewRaw('s', 1, 0, window));
  let checked = 0;
  for (let p = 0; p < PIXELS; p += 97) {
    const from = Math.ceil(edges_us[p]! / PERIOD_US);
    const to = Math.min(n, Math.ceil(edges_us[p + 1]! / PERIOD_US));
    let low = Number.POSITIVE_INFINITY;
    let high = Number.NEGATIVE_INFINITY;
    for (let i = from; i < to; i++) {
      const value = sample(i);
      if (value < low) low = value;
      if (value > high) high = value;
    }
    if (count[p] !== to - from || (to > from && (min[p] !== low || max[p] !== high))) {
      throw new Error(`pixel ${p} of ${JSON.stringify(window)} is not its samples`);
    }
    checked++;
  }
  return checked;
}

function baselines(folder: string, n: number): { n: number; scan_ms: number; groupBy_ms: number } {
  const ours = join(folder, 'ours');
  write(ours, n);
  const store = mustOpen(ours);
  const low = new Int32Array(PIXELS).fill(2_147_483_647);
  const high = new Int32Array(PIXELS).fill(-2_147_483_648);
  const scanStarted = performance.now();
  must(
    store.replay('s', {
      frame(ord, _t_us, _group, raw) {
        const pixel = Math.floor((ord * PIXELS) / n);
        if (raw[0]! < low[pixel]!) low[pixel] = raw[0]!;
        if (raw[0]! > high[pixel]!) high[pixel] = raw[0]!;
      },
      tick() {},
      event() {},
    }),
  );
  const scan_ms = performance.now() - scanStarted;
  store.close();
  const db = new Database(join(folder, 'narrow.sqlite'));
  db.pragma('journal_mode = OFF');
  db.exec('CREATE TABLE narrow (t_us INTEGER PRIMARY KEY, value INTEGER)');
  const insert = db.prepare('INSERT INTO narrow VALUES (?, ?)');
  db.transaction(() => {
    for (let i = 0; i < n; i++) insert.run(i * PERIOD_US, sample(i));
  })();
  const started = performance.now();
  db.prepare('SELECT t_us * ? / ? AS pixel, min(value), max(value) FROM narrow GROUP BY pixel')
    .raw()
    .all(PIXELS, n * PERIOD_US);
  const groupBy_ms = performance.now() - started;
  db.close();
  return { n, scan_ms, groupBy_ms };
}
