/**
 * Size and speed of the block codec on a synthetic stand: 32 channels at
 * 100 Hz whose noise has a known entropy, so that the distance from the
 * physical limit can be stated (`_stand-signal.ts`). Baselines work on the very
 * same numbers. `npm run bench -- record-codec [noise=0.25]`.
 */
import { constants, gzipSync, zstdCompressSync } from 'node:zlib';
import { decodeColumn, encodeColumn } from '../../shared-core/series/block-codec.ts';
import { encodeTimes } from '../../shared-core/series/time-codec.ts';
import { CHANNELS, RATE_Hz, signalColumns } from './_stand-signal.ts';

const SECONDS = 300;

interface Measured {
  readonly bytesPerSample: number;
  readonly timesFloor: number;
  readonly encode_MsamplePers: number;
  readonly decode_MsamplePers: number;
}

function measure(columns: readonly Int32Array[], floor_bits: number, block: number): Measured {
  const n = columns[0]!.length;
  const pieces = columns.flatMap((column) => {
    const cut: Int32Array[] = [];
    for (let at = 0; at < n; at += block) cut.push(column.subarray(at, Math.min(n, at + block)));
    return cut;
  });
  const samples = n * columns.length;
  const into = new Int32Array(block);
  const encodeTimes_s: number[] = [];
  const decodeTimes_s: number[] = [];
  let encoded: Uint8Array[] = [];
  for (let round = 0; round < 7; round++) {
    const started = performance.now();
    encoded = pieces.map((piece) => encodeColumn(piece));
    const between = performance.now();
    for (const bytes of encoded) decodeColumn(bytes, into);
    encodeTimes_s.push((between - started) / 1000);
    decodeTimes_s.push((performance.now() - between) / 1000);
  }
  pieces.forEach((piece, i) => {
    const back = decodeColumn(encoded[i]!);
    if (back.some((value, j) => value !== piece[j])) throw new Error(`block ${i} did not come back`);
  });
  const bytes = encoded.reduce((sum, each) => sum + each.length, 0);
  return {
    bytesPerSample: round(bytes / samples, 4),
    timesFloor: round((8 * bytes) / floor_bits, 3),
    encode_MsamplePers: round(samples / median(encodeTimes_s) / 1e6, 1),
    decode_MsamplePers: round(samples / median(decodeTimes_s) / 1e6, 1),
  };
}

/** The same numbers as text lines and as delta bytes, through general compressors. */
function baselines(columns: readonly Int32Array[]): Record<string, number> {
  const n = columns[0]!.length;
  const samples = n * columns.length;
  const lines: string[] = [];
  for (let i = 0; i < n; i++) lines.push(columns.map((column) => column[i]).join(','));
  const csv = Buffer.from(lines.join('\n'));
  const deltas = new Int32Array(samples);
  let at = 0;
  for (const column of columns)
    for (let i = 0; i < n; i++) deltas[at++] = i === 0 ? column[0]! : column[i]! - column[i - 1]!;
  const bytes = new Uint8Array(deltas.buffer);
  const zstd = { params: { [constants.ZSTD_c_compressionLevel]: 3 } };
  return {
    rawInt32: 4,
    csv: round(csv.length / samples, 3),
    csvGzip6: round(gzipSync(csv, { level: 6 }).length / samples, 3),
    deltaInt32Zstd3: round(zstdCompressSync(bytes, zstd).length / samples, 3),
  };
}

export async function run(args: readonly string[] = []): Promise<Record<string, unknown>> {
  const given = args.find((each) => each.startsWith('noise='));
  const noises = given ? [Number(given.slice(6))] : [0.25, 1, 4];
  const seed = 20_261;
  const results: Record<string, unknown>[] = [];
  for (const noise of noises) {
    const { columns, floor_bits } = signalColumns(noise, seed, SECONDS * RATE_Hz);
    const samples = columns.length * columns[0]!.length;
    const second = measure(columns, floor_bits, RATE_Hz);
    const ten = measure(columns, floor_bits, 10 * RATE_Hz);
    const others = baselines(columns);
    results.push({
      noise,
      floor_bytesPerSample: round(floor_bits / 8 / samples, 4),
      block1s: second,
      block10s: ten,
      others,
    });
    console.log(
      `noise x${noise}, floor ${round(floor_bits / 8 / samples, 4)} B/sample, ${CHANNELS} channels, seed ${seed}`,
    );
    for (const [name, m] of [
      ['1 s blocks ', second],
      ['10 s blocks', ten],
    ] as const) {
      console.log(
        `  ${name}  ${m.bytesPerSample} B/sample = ${m.timesFloor} x floor, encode ${m.encode_MsamplePers}, decode ${m.decode_MsamplePers} Msample/s`,
      );
    }
    console.log(`  others, B/sample: ${JSON.stringify(others)}`);
  }
  const times = Float64Array.from({ length: 1000 }, (_, i) => i * 10_000);
  const middle = results.find((each) => each.noise === 1) ?? results[0]!;
  const ten = middle.block10s as Measured;
  return {
    bench: 'record-codec',
    // How many times smaller than gzip'd CSV of the same numbers.
    ratio: round((middle.others as Record<string, number>).csvGzip6! / ten.bytesPerSample, 2),
    timesFloor: ten.timesFloor,
    timesColumn_bytes: encodeTimes(times).length,
    results,
  };
}

function median(values: readonly number[]): number {
  return [...values].sort((a, b) => a - b)[values.length >> 1]!;
}

function round(value: number, digits: number): number {
  return Number(value.toFixed(digits));
}
