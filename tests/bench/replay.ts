/**
 * Reading back: all of a session in its order, and a seek to a random instant;
 * against the same in wide rows (`_wide-rows.ts`).
 *
 * `npm run bench -- replay [--seconds 1200] [--rounds 5]`
 *
 * Sequential, ours: `SessionStore.replay` into a sink that adds up what it
 * gets, so checksums, order and the row of each frame are paid for. Wide rows:
 * the same sum over `SELECT … ORDER BY t_us`, rows as arrays, one at a time.
 *
 * Seek, as a person makes it: from a random instant until the board is whole
 * again, which is the value of each of the 32 channels at that instant and the
 * board's usual window of 120 s behind it, as extremes of 1,200 pixels, of all 32.
 * Ours as the reading worker does it (`stored-views.ts`), with no block opened
 * before. Wide rows the faster of two plain ways: the rows of the window by the
 * key, extremes gathered in a loop; or extremes by GROUP BY in the database.
 *
 * Besides, the narrow figure: one second of all channels from anywhere, every
 * sample as a value in memory. A long block is fetched whole for it and each
 * column read from its last restart, so here rows are about as fast.
 */
import { join } from 'node:path';
import Database from 'better-sqlite3';
import { openBlock } from '../../electron/host/store/block-file.ts';
import { OpenBlocks } from '../../electron/host/store/open-blocks.ts';
import { DATABASE_NAME } from '../../electron/host/store/open-store.ts';
import { StoredBlocks } from '../../electron/host/store/stored-blocks.ts';
import { StoredLevels } from '../../electron/host/store/stored-levels.ts';
import { rawView } from '../../electron/host/store/stored-views.ts';
import { argument, inFolder, machine, median, must, mustOpen, mustStart, round, table } from './_measure.ts';
import { CHANNELS, decimals, gaussian, RATE_Hz, signalColumns } from './_stand-signal.ts';
import { writeWideRows } from './_wide-rows.ts';

const SEED = 20_261;
const SEEKS = 400;
const BOARD_SEEKS = 30;
const SECOND_US = 1_000_000;
/** Of the board's trends, when nobody has chosen otherwise, and about their width. */
const WINDOW_US = 120_000_000;
const PIXELS = 1200;
const PIXEL_US = WINDOW_US / PIXELS;

export async function run(args: readonly string[]): Promise<Record<string, unknown>> {
  const seconds = argument(args, 'seconds', 1200);
  const rounds = argument(args, 'rounds', 5);
  const n = seconds * RATE_Hz;
  const { columns } = signalColumns(1, SEED, n);
  console.log(`${seconds} s of ${CHANNELS} channels at ${RATE_Hz} Hz, seed ${SEED}; ${machine()}`);
  return inFolder((folder) => {
    record(folder, columns, n);
    const widePath = join(folder, 'wide.sqlite');
    writeWideRows(widePath, columns, n, 'REAL');
    const store = mustOpen(folder);
    const db = new Database(join(folder, DATABASE_NAME), { readonly: true });
    const wide = new Database(widePath, { readonly: true });
    const all = wide.prepare('SELECT * FROM wide ORDER BY t_us').raw();
    const second = wide.prepare('SELECT * FROM wide WHERE t_us >= ? AND t_us < ? ORDER BY t_us').raw();
    const blocks = new StoredBlocks(db, 1);

    const readOurs = () => {
      let sum = 0;
      const sink = {
        frame(_ord: number, _t_us: number, _group: number, raw: Int32Array, count: number) {
          for (let c = 0; c < count; c++) sum += raw[c]!;
        },
        tick() {},
        event() {},
      };
      must(store.replay('bench', sink));
      return sum;
    };
    const readWide = () => {
      let sum = 0;
      for (const row of all.iterate() as IterableIterator<number[]>) for (let c = 1; c <= CHANNELS; c++) sum += row[c]!;
      return sum;
    };
    const expected = columns.reduce((sum, column) => column.reduce((each, value) => each + value, sum), 0);
    if (readOurs() !== expected) throw new Error('the replay is not what was recorded');
    readWide();
    const ours_s: number[] = [];
    const wide_s: number[] = [];
    const oursSeek_us: number[] = [];
    const wideSeek_us: number[] = [];
    const board = { ours_us: [] as number[], rows_us: [] as number[], groupBy_us: [] as number[] };
    const byPixel = wide.prepare(groupByPixel()).raw();
    const random = gaussian(SEED + 1);
    let checked = 0;
    for (let each = 0; each < rounds; each++) {
      ours_s.push(timed_s(readOurs));
      wide_s.push(timed_s(readWide));
      for (let i = 0; i < SEEKS; i++) {
        const from_us = Math.floor((Math.abs(7.3 * random()) % 1) * (seconds - 2) * SECOND_US);
        let got = new Map<number, Int32Array[]>();
        oursSeek_us.push(1e6 * timed_s(() => (got = seek(blocks, from_us))));
        wideSeek_us.push(1e6 * timed_s(() => second.all(from_us, from_us + SECOND_US)));
        if (i % 40 === 0) checked += checkSeek(got, columns, from_us);
      }
      for (let i = 0; i < BOARD_SEEKS; i++) {
        const at_us = WINDOW_US + Math.floor((Math.abs(7.3 * random()) % 1) * (seconds * SECOND_US - WINDOW_US));
        let ours: Board | null = null;
        let rows: Board | null = null;
        board.ours_us.push(1e6 * timed_s(() => (ours = boardOfOurs(db, blocks, at_us))));
        board.rows_us.push(1e6 * timed_s(() => (rows = boardOfRows(second, at_us))));
        board.groupBy_us.push(1e6 * timed_s(() => byPixel.all(at_us - WINDOW_US, PIXEL_US, at_us - WINDOW_US, at_us)));
        if (i % 10 === 0) checkBoards(ours!, rows!);
      }
    }
    store.close();
    db.close();
    wide.close();
    const isRowsFaster = median(board.rows_us) < median(board.groupBy_us);
    const boardWide_us = isRowsFaster ? board.rows_us : board.groupBy_us;
    const boardOther_us = isRowsFaster ? board.groupBy_us : board.rows_us;
    const ms = (times_us: readonly number[]) => round(median(times_us) / 1000, 2);
    const perSecond = (times: readonly number[]) => round((n * CHANNELS) / median(times) / 1e6, 1);
    console.log(
      table([
        ['', 'ours', 'wide rows'],
        ['all in order, Msample/s', perSecond(ours_s), perSecond(wide_s)],
        ['seek: 32 values, and 120 s behind them at 1,200 px, ms', ms(board.ours_us), ms(boardWide_us)],
        ['  wide rows the other way, ms', '', ms(boardOther_us)],
        ['narrow: one second of all channels, ms', ms(oursSeek_us), ms(wideSeek_us)],
      ]),
    );
    console.log(`${checked} seconds held against the signal.`);
    return {
      readTimes: round(median(wide_s) / median(ours_s), 2),
      seekTimes: round(median(boardWide_us) / median(board.ours_us), 2),
      narrowSeekTimes: round(median(wideSeek_us) / median(oursSeek_us), 2),
    };
  });
}

/** What the board shows after a seek: by channel the value, and the extremes of each pixel behind it. */
interface Board {
  readonly values: Float64Array;
  readonly low: readonly Float64Array[];
  readonly high: readonly Float64Array[];
}

function boardOfOurs(db: Database.Database, stored: StoredBlocks, at_us: number): Board {
  const levels = new StoredLevels(db, 1);
  const open = new OpenBlocks(stored);
  const values = new Float64Array(CHANNELS);
  const low: Float64Array[] = [];
  const high: Float64Array[] = [];
  const window = { from_us: at_us - WINDOW_US, to_us: at_us, pixels: PIXELS };
  for (let c = 0; c < CHANNELS; c++) {
    const view = rawView(levels, open, 1, c, window);
    const scale = 10 ** decimals[c]!;
    const lowest = new Float64Array(PIXELS);
    const highest = new Float64Array(PIXELS);
    for (let p = 0; p < PIXELS; p++) {
      lowest[p] = view.min[p]! / scale;
      highest[p] = view.max[p]! / scale;
    }
    low.push(lowest);
    high.push(highest);
    values[c] = view.ends!.last[PIXELS - 1]! / scale;
  }
  return { values, low, high };
}

function boardOfRows(rows: Database.Statement<unknown[]>, at_us: number): Board {
  const low = Array.from({ length: CHANNELS }, () => new Float64Array(PIXELS).fill(Number.POSITIVE_INFINITY));
  const high = Array.from({ length: CHANNELS }, () => new Float64Array(PIXELS).fill(Number.NEGATIVE_INFINITY));
  const from_us = at_us - WINDOW_US;
  const found = rows.all(from_us, at_us) as number[][];
  for (const row of found) {
    const pixel = Math.floor((row[0]! - from_us) / PIXEL_US);
    for (let c = 0; c < CHANNELS; c++) {
      const value = row[c + 1]!;
      if (value < low[c]![pixel]!) low[c]![pixel] = value;
      if (value > high[c]![pixel]!) high[c]![pixel] = value;
    }
  }
  return { values: Float64Array.from(found.at(-1)!.slice(1)), low, high };
}

function groupByPixel(): string {
  const extremes = Array.from({ length: CHANNELS }, (_, c) => `min(c${c}), max(c${c})`).join(', ');
  return `SELECT CAST((t_us - ?) / ? AS INTEGER) AS pixel, ${extremes} FROM wide WHERE t_us >= ? AND t_us < ? GROUP BY pixel`;
}

function checkBoards(ours: Board, rows: Board): void {
  const isSame = (a: Float64Array, b: Float64Array) => a.every((each, i) => each === b[i]);
  for (let c = 0; c < CHANNELS; c++) {
    if (!isSame(ours.low[c]!, rows.low[c]!) || !isSame(ours.high[c]!, rows.high[c]!)) {
      throw new Error(`channel ${c}: the extremes are not those of the rows`);
    }
  }
  if (!isSame(ours.values, rows.values)) throw new Error('the values are not those of the rows');
}

/** All frames from `from_us` to a second later, by group and column. */
function seek(blocks: StoredBlocks, from_us: number): Map<number, Int32Array[]> {
  const to_us = from_us + SECOND_US;
  const got = new Map<number, Int32Array[]>();
  for (let block = blocks.atTime(from_us); block !== undefined && block.first_us < to_us; ) {
    for (const section of openBlock(block).sections) {
      const from = section.firstAt(from_us);
      const to = section.firstAt(to_us);
      if (from >= to) continue;
      const parts = Array.from({ length: section.columns }, (_, column) => section.part(column, from, to));
      const before = got.get(section.group);
      got.set(section.group, before === undefined ? parts : before.map((part, c) => joined(part, parts[c]!)));
    }
    if (block.last_us >= to_us) break;
    block = blocks.atOrd(block.lastOrd + 1);
  }
  return got;
}

function joined(a: Int32Array, b: Int32Array): Int32Array {
  const both = new Int32Array(a.length + b.length);
  both.set(a);
  both.set(b, a.length);
  return both;
}

function checkSeek(got: Map<number, Int32Array[]>, columns: readonly Int32Array[], from_us: number): number {
  const first = Math.ceil(from_us / 10_000);
  columns.forEach((column, c) => {
    const part = got.get(1)![c]!;
    const isSame = part.length === RATE_Hz && part.every((value, i) => value === column[first + i]);
    if (!isSame) throw new Error(`column ${c} from ${from_us} is not what was recorded`);
  });
  return 1;
}

function record(folder: string, columns: readonly Int32Array[], n: number): void {
  const store = mustOpen(folder);
  const writer = mustStart(store, 'bench');
  const raw = new Int32Array(CHANNELS);
  const summary = { duration_us: 10_000 * n, runs: [], alarms: 0, aborts: 0, marks: 0 };
  for (let i = 0; i < n; i++) {
    for (let c = 0; c < CHANNELS; c++) raw[c] = columns[c]![i]!;
    writer.frame(i, 10_000 * i, 1, raw, CHANNELS);
    if (i % RATE_Hz === RATE_Hz - 1) must(writer.commit(summary));
  }
  must(writer.close(summary, 1));
  store.close();
}

function timed_s(work: () => unknown): number {
  const started = performance.now();
  work();
  return (performance.now() - started) / 1000;
}
