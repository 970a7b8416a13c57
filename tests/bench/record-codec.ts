/**
 * Size and speed of the block codec on a synthetic stand: 32 channels at
 * 100 Hz whose noise has a known entropy, so that the distance from the
 * physical limit can be stated. `npm run bench -- record-codec [noise=0.25]`.
 *
 * The floor is the entropy of the rounded noise when everything else about the
 * signal is known, averaged over where the true value lies between two counts.
 * The noise is white and Gaussian by assumption; the drifts are not in the
 * floor, so no codec can reach it. Baselines work on the very same numbers.
 */
import { constants, gzipSync, zstdCompressSync } from 'node:zlib';
import { decodeColumn, encodeColumn } from '../../shared-core/series/block-codec.ts';
import { encodeTimes } from '../../shared-core/series/time-codec.ts';

const CHANNELS = 32;
const SECONDS = 300;
const RATE_Hz = 100;

/** Standard deviation in counts, slow swing in counts and its period in seconds, by kind of channel. */
const kinds = [
  { name: 'speed', count: 2, sigma: 14, swing: 600, period_s: 90 },
  { name: 'temperature', count: 10, sigma: 0.45, swing: 300, period_s: 240 },
  { name: 'thrust and torque', count: 4, sigma: 60, swing: 4000, period_s: 90 },
  { name: 'vibration', count: 2, sigma: 900, swing: 0, period_s: 1 },
  { name: 'fuel and electrical', count: 6, sigma: 2.5, swing: 150, period_s: 120 },
  { name: 'air', count: 3, sigma: 0.8, swing: 20, period_s: 300 },
  { name: 'commands and flags', count: 5, sigma: 0, swing: 0, period_s: 1 },
] as const;

function gaussian(seed: number): () => number {
  let state = seed;
  const uniform = () => {
    // xorshift32 (Marsaglia 2003): its low bits are good enough for rounding noise, unlike a congruence's.
    state ^= state << 13;
    state ^= state >>> 17;
    state ^= state << 5;
    return ((state >>> 0) + 0.5) / 2 ** 32;
  };
  return () => Math.sqrt(-2 * Math.log(uniform())) * Math.cos(2 * Math.PI * uniform());
}

function signal(noise: number, seed: number): { columns: Int32Array[]; floor_bits: number } {
  const n = SECONDS * RATE_Hz;
  const normal = gaussian(seed);
  const columns: Int32Array[] = [];
  let floor_bits = 0;
  for (const kind of kinds) {
    const sigma = kind.sigma * noise;
    for (let c = 0; c < kind.count; c++) {
      const column = new Int32Array(n);
      for (let i = 0; i < n; i++) {
        const t_s = i / RATE_Hz;
        const slow =
          kind.sigma === 0
            ? 100 * Math.floor((t_s + 7 * c) / 40)
            : kind.swing * Math.sin((2 * Math.PI * t_s) / kind.period_s + c);
        column[i] = Math.round(5000 + slow + (sigma > 0 ? sigma * normal() : 0));
      }
      columns.push(column);
      floor_bits += n * roundedEntropy_bits(sigma);
    }
  }
  return { columns, floor_bits };
}

/** Entropy of round(m + σ z), mean over m from 0 to 1, in bits. */
function roundedEntropy_bits(sigma: number): number {
  if (sigma === 0) return 0;
  // Far above one count it is the differential entropy.
  if (sigma > 8) return Math.log2(sigma * Math.sqrt(2 * Math.PI * Math.E));
  const places = 64;
  const reach = Math.ceil(9 * sigma) + 2;
  let sum = 0;
  for (let place = 0; place < places; place++) {
    const m = (place + 0.5) / places;
    for (let k = -reach; k <= reach; k++) {
      const p = normalBelow((k + 0.5 - m) / sigma) - normalBelow((k - 0.5 - m) / sigma);
      if (p > 1e-15) sum -= p * Math.log2(p);
    }
  }
  return sum / places;
}

/** Normal distribution function; Abramowitz and Stegun 26.2.17, error below 7.5e-8 (from memory). */
function normalBelow(z: number): number {
  const t = 1 / (1 + 0.2316419 * Math.abs(z));
  const tail =
    (Math.exp((-z * z) / 2) / Math.sqrt(2 * Math.PI)) *
    t *
    (0.31938153 + t * (-0.356563782 + t * (1.781477937 + t * (-1.821255978 + t * 1.330274429))));
  return z > 0 ? 1 - tail : tail;
}

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
    const { columns, floor_bits } = signal(noise, seed);
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
