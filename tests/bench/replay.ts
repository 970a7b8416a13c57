/**
 * Reading back: all of a session in its order, and one second of all channels
 * at a random instant; against the same in wide rows (`_wide-rows.ts`).
 *
 * `npm run bench -- replay [--seconds 1200] [--rounds 5]`
 *
 * Sequential, ours: `SessionStore.replay` into a sink that adds up what it
 * gets, so checksums, order and the row of each frame are paid for. Wide rows:
 * the same sum over `SELECT … ORDER BY t_us`, rows as arrays, one at a time.
 * Seek: a second from anywhere, not only from the beginning of a block, every
 * channel as values in memory.
 */
import { join } from 'node:path';
import Database from 'better-sqlite3';
import { openBlock } from '../../electron/host/store/block-file.ts';
import { DATABASE_NAME } from '../../electron/host/store/open-store.ts';
import { StoredBlocks } from '../../electron/host/store/stored-blocks.ts';
import { argument, inFolder, machine, median, must, mustOpen, mustStart, round, table } from './_measure.ts';
import { CHANNELS, gaussian, RATE_Hz, signalColumns } from './_stand-signal.ts';
import { writeWideRows } from './_wide-rows.ts';

const SEED = 20_261;
const SEEKS = 400;
const SECOND_US = 1_000_000;

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
    }
    store.close();
    db.close();
    wide.close();
    const perSecond = (times: readonly number[]) => round((n * CHANNELS) / median(times) / 1e6, 1);
    console.log(
      table([
        ['', 'ours', 'wide rows'],
        ['all in order, Msample/s', perSecond(ours_s), perSecond(wide_s)],
        ['one second of all channels, us (median)', round(median(oursSeek_us), 0), round(median(wideSeek_us), 0)],
      ]),
    );
    console.log(`${checked} seconds held against the signal.`);
    return {
      readTimes: round(median(wide_s) / median(ours_s), 2),
      seekTimes: round(median(wideSeek_us) / median(oursSeek_us), 2),
    };
  });
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
