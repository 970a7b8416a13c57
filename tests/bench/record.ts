/**
 * Recording: size of the file against the Shannon floor and against the usual
 * ways of keeping such data; processor time and bytes written to the disk
 * against wide rows, both at one durable commit a second.
 *
 * `npm run bench -- record [--seconds 7200] [--noise 1] [--rounds 5]`
 *
 * Sizes are of one recording of that length; processor time and bytes written
 * are medians of the rounds, each of ten minutes, the three ways in turn.
 *
 * "file" is the whole database after a checkpoint: long blocks, levels, times,
 * places in the journal, checksums, indexes, free pages, and the tables
 * themselves. Processor time counts all that the writer does, rewriting and
 * levels included. Baselines keep the same numbers: CSV and wide and narrow rows as
 * engineering values (23.4), which is the plain way; Parquet and a second table
 * of wide rows as the scaled integers (234). None of them keeps levels,
 * checksums, states or places in a journal.
 */
import { join } from 'node:path';
import { constants, gzipSync, zstdCompressSync } from 'node:zlib';
import Database from 'better-sqlite3';
import { ByteWriter, parquetWrite } from 'hyparquet-writer';
import { DATABASE_NAME } from '../../electron/host/store/open-store.ts';
import {
  argument,
  type Cost,
  checkpointedBytes,
  costOf,
  inFolder,
  machine,
  median,
  must,
  mustOpen,
  mustStart,
  round,
  table,
} from './_measure.ts';
import { CHANNELS, decimals, RATE_Hz, signalColumns } from './_stand-signal.ts';
import { type Kept, writeNarrowRows, writeWideRows } from './_wide-rows.ts';

const SEED = 20_261;
/** Narrow rows are slow, and the same per sample from the first minutes on. */
const NARROW_SECONDS = 120;
const ROUND_SECONDS = 600;

export async function run(args: readonly string[]): Promise<Record<string, unknown>> {
  const seconds = argument(args, 'seconds', 7200);
  const noise = argument(args, 'noise', 1);
  const rounds = argument(args, 'rounds', 5);
  const n = seconds * RATE_Hz;
  const samples = n * CHANNELS;
  const { columns, floor_bits } = signalColumns(noise, SEED, n);
  const floor = floor_bits / 8 / samples;
  console.log(`${seconds} s of ${CHANNELS} channels at ${RATE_Hz} Hz, noise x${noise}, seed ${SEED}; ${machine()}`);

  const long = recordOurs(columns, n);
  const wideBytes = recordWide(columns, n, 'REAL').bytes;
  const wideIntegerBytes = recordWide(columns, n, 'INTEGER').bytes;
  const short = Math.min(n, ROUND_SECONDS * RATE_Hz);
  const ours: ReturnType<typeof recordOurs>[] = [];
  const wides: { cost: Cost }[] = [];
  const wideIntegers: { cost: Cost }[] = [];
  for (let each = 0; each < rounds; each++) {
    ours.push(recordOurs(columns, short));
    wides.push(recordWide(columns, short, 'REAL'));
    wideIntegers.push(recordWide(columns, short, 'INTEGER'));
  }
  const narrowSeconds = Math.min(NARROW_SECONDS, seconds);
  const narrow = inFolder((folder) => {
    const path = join(folder, 'narrow.sqlite');
    const cost = costOf(() => writeNarrowRows(path, columns, narrowSeconds * RATE_Hz));
    return { cost, bytes: checkpointedBytes(path) };
  });
  const narrowSamples = narrowSeconds * RATE_Hz * CHANNELS;
  const csv = csvBytes(columns, n);
  const parquet = parquetBytes(columns);
  const { bytes, parts } = long;
  const roundSamples = short * CHANNELS;
  const cpu = (costs: readonly { cost: Cost }[]) => (1e6 * median(costs.map(({ cost }) => cost.cpu_s))) / roundSamples;
  const disk = (costs: readonly { cost: Cost }[]) => median(costs.map(({ cost }) => cost.disk_bytes)) / roundSamples;
  const size = (each: number, of = samples) => [round(each / of, 3), round(each / of / floor, 2)];
  console.log(
    table([
      ['', 'B/sample', 'x floor', 'CPU us/sample', 'disk B/sample'],
      ['floor', round(floor, 4), 1, '', ''],
      ['our file', ...size(bytes), round(cpu(ours), 4), round(disk(ours), 2)],
      ['  of it long blocks', ...size(parts.blocks), '', ''],
      ['  of it levels', ...size(parts.levels), '', ''],
      ['  of it the rest', ...size(bytes - parts.blocks - parts.levels), '', ''],
      ['wide rows', ...size(wideBytes), round(cpu(wides), 4), round(disk(wides), 2)],
      ['wide rows of integers', ...size(wideIntegerBytes), round(cpu(wideIntegers), 4), round(disk(wideIntegers), 2)],
      [
        'narrow rows',
        ...size(narrow.bytes, narrowSamples),
        round((1e6 * narrow.cost.cpu_s) / narrowSamples, 3),
        round(narrow.cost.disk_bytes / narrowSamples, 1),
      ],
      ['CSV', ...size(csv.plain), '', ''],
      ['CSV, gzip -6', ...size(csv.gzip), '', ''],
      ['Parquet, INT32 delta, zstd', ...size(parquet), '', ''],
    ]),
  );
  const longest_ms = ours.map((each) => each.longest_ms);
  const packing_ms = ours.map((each) => each.packing_ms);
  console.log(
    `Longest commit of a round, with its sync to the disk: median ${round(median(longest_ms), 1)} ms. ` +
      `Processor time of the last commit, which ends a long block and all levels: median ${round(median(packing_ms), 1)} ms.`,
  );
  return {
    timesFloor: round(bytes / samples / floor, 3),
    timesFloorWithoutLevels: round((bytes - parts.levels) / samples / floor, 3),
    levelsOfBlocks: round(parts.levels / parts.blocks, 4),
    smallerThanGzipCsv: round(csv.gzip / bytes, 2),
    smallerThanParquet: round(parquet / bytes, 3),
    smallerThanWide: round(wideBytes / bytes, 1),
    cpuOfWide: round(cpu(ours) / cpu(wides), 3),
    diskOfWide: round(disk(ours) / disk(wides), 3),
    ofWideIntegers: {
      smaller: round(wideIntegerBytes / bytes, 1),
      cpu: round(cpu(ours) / cpu(wideIntegers), 3),
      disk: round(disk(ours) / disk(wideIntegers), 3),
    },
  };
}

function recordOurs(columns: readonly Int32Array[], n: number) {
  return inFolder((folder) => {
    const store = mustOpen(folder);
    const writer = mustStart(store, 'bench');
    const raw = new Int32Array(CHANNELS);
    let longest_ms = 0;
    const cost = costOf(() => {
      for (let i = 0; i < n; i++) {
        for (let c = 0; c < CHANNELS; c++) raw[c] = columns[c]![i]!;
        writer.frame(i, 10_000 * i, 1, raw, CHANNELS);
        if (i % RATE_Hz !== RATE_Hz - 1) continue;
        const started = performance.now();
        must(writer.commit({ duration_us: 10_000 * i, runs: [], alarms: 0, aborts: 0, marks: 0 }));
        longest_ms = Math.max(longest_ms, performance.now() - started);
      }
    });
    const cpu = process.cpuUsage();
    must(writer.close({ duration_us: 10_000 * n, runs: [], alarms: 0, aborts: 0, marks: 0 }, 1));
    const { user, system } = process.cpuUsage(cpu);
    const packing_ms = (user + system) / 1000;
    const verified = must(store.verify('bench'));
    if (!verified.isWhole || verified.frames !== n) throw new Error(`not whole: ${verified.findings.join('; ')}`);
    store.close();
    const path = join(folder, DATABASE_NAME);
    const bytes = checkpointedBytes(path);
    const db = new Database(path, { readonly: true });
    const sum = (name: string) => db.prepare(`SELECT sum(length(body)) FROM ${name}`).pluck().get() as number;
    const parts = { blocks: sum('block'), levels: sum('level') };
    db.close();
    return { cost, bytes, parts, longest_ms, packing_ms };
  });
}

function recordWide(columns: readonly Int32Array[], n: number, kept: Kept) {
  return inFolder((folder) => {
    const path = join(folder, 'wide.sqlite');
    const cost = costOf(() => writeWideRows(path, columns, n, kept));
    return { cost, bytes: checkpointedBytes(path) };
  });
}

/** As an export would be: time in ms, then the values with the bench's decimals. */
function csvBytes(columns: readonly Int32Array[], n: number): { plain: number; gzip: number } {
  const lines: string[] = [];
  for (let i = 0; i < n; i++)
    lines.push(
      `${10 * i},${columns.map((column, c) => (column[i]! / 10 ** decimals[c]!).toFixed(decimals[c])).join(',')}`,
    );
  const text = Buffer.from(`${lines.join('\n')}\n`);
  return { plain: text.length, gzip: gzipSync(text, { level: 6 }).length };
}

function parquetBytes(columns: readonly Int32Array[]): number {
  const writer = new ByteWriter();
  const zstd = (bytes: Uint8Array) => zstdCompressSync(bytes, { params: { [constants.ZSTD_c_compressionLevel]: 3 } });
  const times = Int32Array.from(columns[0]!, (_, i) => 10 * i);
  parquetWrite({
    writer,
    codec: 'ZSTD',
    compressors: { ZSTD: zstd },
    statistics: false,
    rowGroupSize: 100_000,
    columnData: [times, ...columns].map((data, i) => ({
      name: `c${i}`,
      data,
      type: 'INT32' as const,
      encoding: 'DELTA_BINARY_PACKED' as const,
      nullable: false,
    })),
  });
  return writer.offset;
}
