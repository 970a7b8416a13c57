/**
 * Decoding of sample lines: ours against parser-readline + split + Number, with
 * the CRC checked on both sides, on the same bytes. Besides, 1 MB of noise
 * without a newline, which is what a wrong baud rate looks like.
 *
 * Arguments: `rounds=N` (default 7), `lines=N` per round (default 20000).
 */
import { ReadlineParser } from '@serialport/parser-readline';
import { LineDecoder } from '../../shared-core/line/decoder.ts';
import { BenchLineEncoder } from '../../shared-core/line/encoder.ts';
import { BUFFER_BYTES } from '../../shared-core/line/line-buffer.ts';
import type { LineSink } from '../../shared-core/line/messages.ts';

const COLUMNS = 32;
const SEED = 20_261_125;
const NOISE_BYTES = 2 ** 20;
const NOISE_CHUNK_BYTES = 256;
const NOISE_REPEATS = 40;

/** How many lines came out, and the sum of all their values: both sides must agree. */
interface Decoded {
  lines: number;
  sum: number;
}

interface Signal {
  readonly name: 'mixed' | 'steady';
  /** Table and identity, so that ours accepts the samples. */
  readonly table: Uint8Array;
  readonly samples: Uint8Array;
  readonly bytesPerLine: number;
}

export async function run(args: string[]): Promise<Record<string, unknown>> {
  const rounds = argument(args, 'rounds', 7);
  const lines = argument(args, 'lines', 20_000);
  if (rounds < 5) throw new RangeError(`expected at least 5 rounds, got ${rounds}`);
  console.log(`Decode of S lines with ${COLUMNS} fields and CRC, ${lines} lines a round, median of ${rounds} rounds.`);
  console.log('mixed: numbers of 1 to 7 digits at random, some negative. steady: values of a running engine.');
  console.log('');
  console.log('signal   chunk    bytes/line   readline us/line   ours us/line   ratio');
  const ratios: Record<string, number> = {};
  const detail: Record<string, unknown>[] = [];
  for (const signal of [signalOf('mixed', lines), signalOf('steady', lines)]) {
    for (const chunkBytes of [4096, 64]) {
      const row = compare(signal, chunkBytes, lines, rounds);
      ratios[`${signal.name}${chunkBytes}`] = row.ratio;
      detail.push({ signal: signal.name, chunkBytes, bytesPerLine: round(signal.bytesPerLine), ...row });
      console.log(
        `${signal.name.padEnd(8)} ${`${chunkBytes} B`.padEnd(8)} ${signal.bytesPerLine.toFixed(1).padStart(10)} ` +
          `${row.readline_us.toFixed(3).padStart(18)} ${row.ours_us.toFixed(3).padStart(14)} ${row.ratio.toFixed(2).padStart(7)}`,
      );
    }
  }
  const noise = compareNoise();
  console.log('');
  console.log(
    `1 MB of noise without a newline, ${NOISE_CHUNK_BYTES} B chunks: readline ${noise.readline_ms} ms, ` +
      `ours ${noise.ours_ms} ms (${noise.ratio} times). Twice as much takes readline ${noise.readlineDoubling} times as ` +
      `long, ours ${noise.oursDoubling} times. Held at the end: readline ${noise.readlineHeld_B} B, ours ${noise.oursHeld_B} B.`,
  );
  // The signal that is harder for us is the one that counts.
  return { bench: 'decode', ratio: ratios.mixed4096, ratio64: ratios.mixed64, rounds, lines, detail, noise };
}

function compare(signal: Signal, chunkBytes: number, lines: number, rounds: number) {
  const chunks = chunksOf(signal.samples, chunkBytes);
  const readline_ms: number[] = [];
  const ours_ms: number[] = [];
  // One round more than counted, for the compiler to warm up.
  for (let i = 0; i <= rounds; i++) {
    const theirs = timed(() => byReadline(chunks));
    const ours = timed(() => byOurs(signal.table, chunks));
    if (theirs.value.lines !== lines || ours.value.lines !== lines || theirs.value.sum !== ours.value.sum) {
      throw new Error(`the two sides differ: ${JSON.stringify([theirs.value, ours.value])}`);
    }
    if (i === 0) continue;
    readline_ms.push(theirs.elapsed_ms);
    ours_ms.push(ours.elapsed_ms);
  }
  const perLine_us = 1000 / lines;
  const readline_us = median(readline_ms) * perLine_us;
  const ours_us = median(ours_ms) * perLine_us;
  return { readline_us: round(readline_us), ours_us: round(ours_us), ratio: round(readline_us / ours_us) };
}

/** The plain way: a string per line, split, Number; CRC by a table of 256. */
function byReadline(chunks: readonly Buffer[]): Decoded {
  const decoded: Decoded = { lines: 0, sum: 0 };
  const parser = new ReadlineParser({ delimiter: '\n' });
  const values = new Float64Array(COLUMNS);
  parser.on('data', (data: string | Buffer) => {
    const line = data.toString();
    const tilde = line.lastIndexOf('~');
    if (Number.parseInt(line.slice(tilde + 1), 16) !== crcOfText(line, tilde)) return;
    const fields = line.slice(0, tilde).split(' ');
    for (let i = 0; i < COLUMNS; i++) values[i] = Number(fields[i + 4]);
    for (let i = 0; i < COLUMNS; i++) decoded.sum += values[i] ?? Number.NaN;
    decoded.lines++;
  });
  for (const chunk of chunks) parser.write(chunk);
  return decoded;
}

/** The whole decoder as the host uses it: form, running number, time and table are judged as well. */
function byOurs(table: Uint8Array, chunks: readonly Buffer[]): Decoded {
  const decoded: Decoded = { lines: 0, sum: 0 };
  const decoder = new LineDecoder();
  const sink: LineSink = {
    ...silentSink,
    samples(_group, _time, raw, columns) {
      for (let i = 0; i < columns; i++) decoded.sum += raw[i] ?? Number.NaN;
      decoded.lines++;
    },
  };
  decoder.push(table, sink);
  for (const chunk of chunks) decoder.push(chunk, sink);
  return decoded;
}

function compareNoise() {
  const half = chunksOf(noiseBytes(NOISE_BYTES / 2), NOISE_CHUNK_BYTES);
  const whole = chunksOf(noiseBytes(NOISE_BYTES), NOISE_CHUNK_BYTES);
  const readline: number[][] = [[], []];
  const ours: number[][] = [[], []];
  let readlineHeld_B = 0;
  for (let i = 0; i < 5; i++) {
    for (const [size, chunks] of [half, whole].entries()) {
      const parser = new ReadlineParser({ delimiter: '\n' });
      parser.on('data', () => {});
      readline[size]?.push(
        timed(() => {
          for (const chunk of chunks) parser.write(chunk);
        }).elapsed_ms,
      );
      readlineHeld_B = parser.buffer.length;
      // Half a millisecond alone is too short to time.
      ours[size]?.push(
        timed(() => {
          for (let again = 0; again < NOISE_REPEATS; again++) {
            const decoder = new LineDecoder();
            for (const chunk of chunks) decoder.push(chunk, silentSink);
          }
        }).elapsed_ms / NOISE_REPEATS,
      );
    }
  }
  const [readlineHalf_ms = 0, readline_ms = 0] = readline.map(median);
  const [oursHalf_ms = 0, ours_ms = 0] = ours.map(median);
  return {
    bytes: NOISE_BYTES,
    readline_ms: round(readline_ms),
    ours_ms: round(ours_ms),
    ratio: Math.round(readline_ms / ours_ms),
    readlineDoubling: round(readline_ms / readlineHalf_ms),
    oursDoubling: round(ours_ms / oursHalf_ms),
    readlineHeld_B,
    // The whole of its fixed buffer, whether bytes are waiting in it or not.
    oursHeld_B: BUFFER_BYTES,
  };
}

function signalOf(name: 'mixed' | 'steady', lines: number): Signal {
  const random = randomFrom(SEED);
  const encoder = new BenchLineEncoder();
  const layout = '5A10';
  encoder.identity(
    { version: '1.0', bench: 'bench', firmware: '1', boot: '0001', layout, groups: 1, channels: COLUMNS, inputs: 0 },
    0,
  );
  encoder.group(layout, { group: 1, rate_mHz: 1_000_000, columns: COLUMNS }, 0);
  for (let column = 0; column < COLUMNS; column++) {
    const place = { channel: column, group: 1, column, key: `c${column}` };
    encoder.channel(layout, { ...place, quantity: 'x', unit: 'V', decimals: 0, low: -1, high: 1 }, 0);
  }
  const table = encoder.take();
  const raw = new Int32Array(COLUMNS);
  for (let line = 0; line < lines; line++) {
    for (let column = 0; column < COLUMNS; column++) raw[column] = sampleOf(name, column, random);
    encoder.samples(1, (line + 1) * 1000, raw, COLUMNS);
  }
  const samples = encoder.take();
  return { name, table, samples, bytesPerLine: samples.length / lines };
}

/** Levels of the steady signal: 6,123 rpm, 312.55 N, … as scaled integers, each within 2 %. */
const steadyLevels = [6123, 31255, 18234, 1874, 1880, 6021, 6103, 3500, 1280, 412, 355, 94110, 170, 8, 1520, 1402];

function sampleOf(name: 'mixed' | 'steady', column: number, random: () => number): number {
  if (name === 'steady') return Math.round((steadyLevels[column % 16] ?? 0) * (0.98 + 0.04 * random()));
  const value = Math.floor(random() * 10 ** (1 + Math.floor(random() * 6.3)));
  return random() < 0.05 ? -value : value;
}

function noiseBytes(length: number): Uint8Array {
  const random = randomFrom(SEED);
  const noise = Uint8Array.from({ length }, () => Math.floor(random() * 256));
  return noise.map((byte) => (byte === 0x0a ? 0x0b : byte));
}

function chunksOf(bytes: Uint8Array, chunkBytes: number): Buffer[] {
  const chunks: Buffer[] = [];
  for (let at = 0; at < bytes.length; at += chunkBytes) chunks.push(Buffer.from(bytes.subarray(at, at + chunkBytes)));
  return chunks;
}

const crcTable = Uint16Array.from({ length: 256 }, (_, byte) => {
  let crc = byte << 8;
  for (let bit = 0; bit < 8; bit++) crc = crc & 0x8000 ? (crc << 1) ^ 0x1021 : crc << 1;
  return crc;
});

function crcOfText(text: string, length: number): number {
  let crc = 0xffff;
  for (let i = 0; i < length; i++) {
    crc = ((crc << 8) & 0xffff) ^ (crcTable[((crc >>> 8) ^ text.charCodeAt(i)) & 0xff] ?? 0);
  }
  return crc;
}

const silentSink: LineSink = {
  samples() {},
  identity() {},
  table() {},
  input() {},
  answer() {},
  text() {},
  fault() {},
  missing() {},
  wrongVersion() {},
};

function timed<T>(work: () => T): { elapsed_ms: number; value: T } {
  const start_ms = performance.now();
  const value = work();
  return { elapsed_ms: performance.now() - start_ms, value };
}

function median(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted[sorted.length >> 1] ?? Number.NaN;
}

function round(value: number): number {
  return Math.round(value * 1000) / 1000;
}

function argument(args: readonly string[], name: string, otherwise: number): number {
  const found = args.find((each) => each.startsWith(`${name}=`));
  return found === undefined ? otherwise : Number(found.slice(name.length + 1));
}

/** Numerical Recipes' linear congruential generator: the same bytes on every machine. */
function randomFrom(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (Math.imul(state, 1_664_525) + 1_013_904_223) >>> 0;
    return state / 2 ** 32;
  };
}
