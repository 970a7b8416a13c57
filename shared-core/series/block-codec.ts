/**
 * One block of a recording: a stretch of one channel's raw samples (scaled
 * integers and state codes, `channels/quality.ts`) as few bytes, exactly. Time
 * columns are in `time-codec.ts`; CRCs and page sizes are the container's.
 *
 * BYTES. `u` is an unsigned LEB128 number, `s` a signed one, folded (0, −1, 1,
 * −2 … as 0, 1, 2, 3 …) and then written as `u`.
 *
 *   kind: 1 byte
 *     0x00        raw          u n, then n little-endian 32-bit integers
 *     0x01        constant     u n, s value
 *     0x10 + P    predicted    predictor P, 0 to 5, plus
 *         + 0x20  with states
 *         + 0x40  with a step
 *         + 0x80  with restarts
 *   A predicted block goes on
 *     u n                      samples, 1 to 2²⁰
 *     [states]                 u runs, then for each: u good samples before it since the last run,
 *                              u its length − 1, u its code + 2³¹
 *     s base                   the first good sample
 *     [step]                   u: every good sample is base + step · x
 *     [restarts]               see below
 *     bits                     residuals of the good samples but the first, to the end of the block
 *
 * States are taken out before prediction, so that a lead that breaks for a
 * moment costs a few bytes and disturbs nothing. The first good sample has
 * x = 0. All arithmetic below wraps in 32 bits; `>>` keeps the sign.
 *
 * PREDICTORS, and their residual r:
 *   0         last value         r[i] = x[i] − x[i−1]
 *   1         straight line      r[i] = x[i] − 2 x[i−1] + x[i−2], x[−1] = 0
 *   2 to 5    exponential mean   r[i] = x[i] − ((m + 128) >> 8), then m += ((x[i] << 8) − m) >> (P − 1); m = 0 at first
 *
 * RESTARTS let a reader begin at sample 129, 257 … of a long block without all
 * that is before it. Before each of these the predictor's state is cut to one
 * whole number S: the last x for predictors 0 and 1 (the line goes on level),
 * (m + 128) >> 8 for the means, and m = S << 8. The table has
 *     byte w, byte v, u least
 *     w + v bits for each restart, the last byte filled up with zeros:
 *       length in bits of the sub-block before it, less `least`, in w bits
 *       S less that of the restart before (0 at first), folded, in v bits
 *
 * BITS, highest of each byte first, the last byte filled up with zeros.
 * Residuals are folded and go in sub-blocks of 128, the last one shorter. Each
 * begins with `1` (code as in the sub-block before; 0 at first) or with `0`
 * and five bits of code:
 *   0          all zero; nothing follows
 *   1 to 24    Rice, k = code − 1: q zeros, a one, k low bits, where q = v >> k.
 *              From q = 20 on (32 − k where k > 12) so many zeros and no one, then v in 32 bits.
 *   25 to 30   runs: number of zeros as Rice with k = code − 25; then the value − 1 as Rice with k = 0;
 *              and so on. A run that ends with the sub-block is written, and no value follows it.
 *   31         32 bits each
 *
 * WORKED EXAMPLE. 1200, 1201, 1201, open, open, 1200 (open is −2147483647):
 *   30 06  01 03 01 01  E0 12  04 D0
 *   0x30: predictor 0, with states; n = 6; one run: after 3 good samples, 2 long, code 1;
 *   base 1200 folded is 2400 = 0x12·128 + 0x60; residuals 1, 0, −1 fold to 2, 0, 1:
 *   0 00001 (Rice, k = 0), then 001, 1, 01, filled up with zeros: 00000100 11010000.
 *
 * A block never exceeds 4 n + 4 bytes. Speed and size: tests/bench/record-codec.ts.
 */
import { RAW_MAX } from '../channels/quality.ts';
import { DamagedBlockError } from './damaged-block.ts';
import { bestPredictor, NARROW, PREDICTORS, RESTART, residuals } from './predict.ts';
import { packRestarts, partOf, skipRestarts } from './restarts.ts';
import { riceCapacity, riceWords } from './rice.ts';
import { decodeSamples, type Restoring } from './rice-decoder.ts';
import { encodeRice } from './rice-encoder.ts';
import { readStateRuns, spreadStates, writeStateRuns } from './state-runs.ts';
import { ByteReader, ByteWriter } from './varint.ts';

/** Most samples in one block. Bounds what damaged bytes can make a reader allocate. */
export const MAX_BLOCK_SAMPLES = 1 << 20;

const RAW = 0x00;
const CONSTANT = 0x01;
const PREDICTED = 0x10;
const WITH_STATES = 0x20;
const WITH_STEP = 0x40;
const WITH_RESTARTS = 0x80;
/** A block with fewer bits than this to a sub-block is read through faster than a table is. */
const BITS_WORTH_RESTARTS = 2;
const STATE_BASE = 2_147_483_648;

// Scratch, grown to the largest block seen. Nothing in it outlives a call.
let good = new Int32Array(0);
let folded = new Int32Array(0);
let words = new Uint32Array(0);
let starts = new Int32Array(0);
let restarts = new Int32Array(0);
const writer = new ByteWriter(4096);

/**
 * The first `n` of `values` as one block.
 * @param canSeek with restarts, where they are worth their bytes (about 4 %)
 * @param predictorBefore found good before, to be used where the samples allow it, and with codes found quickly: a
 *   little longer, in two thirds of the time; −1 to look for the best
 * @throws RangeError if n is out of range: the caller's mistake
 */
export function encodeColumn(
  values: Int32Array,
  n: number = values.length,
  canSeek = false,
  predictorBefore = -1,
): Uint8Array {
  return encoded(values, n, canSeek, predictorBefore).slice();
}

/** As `encodeColumn`, put behind what `into` has. Returns the length of the block. */
export function appendColumn(
  into: ByteWriter,
  values: Int32Array,
  n: number,
  canSeek = false,
  predictorBefore = -1,
): number {
  const bytes = encoded(values, n, canSeek, predictorBefore);
  into.append(bytes);
  return bytes.length;
}

/** The block's bytes in scratch: to be copied before the next call. */
function encoded(values: Int32Array, n: number, canSeek: boolean, predictorBefore: number): Uint8Array {
  if (!(Number.isInteger(n) && n >= 0 && n <= values.length && n <= MAX_BLOCK_SAMPLES)) {
    throw new RangeError(`n: expected 0 to ${Math.min(values.length, MAX_BLOCK_SAMPLES)}, got ${n}`);
  }
  if (n === 0) return encodeRaw(values, 0);
  reserve(n);
  writer.clear();

  let count = n;
  let low = 2_147_483_647;
  let high = -2_147_483_648;
  for (let i = 0; i < n; i++) {
    const value = values[i]!;
    if (value < low) low = value;
    if (value > high) high = value;
  }
  let samples = values;
  if (low < -RAW_MAX) {
    // States among them: what is left without them.
    samples = good;
    count = 0;
    low = 2_147_483_647;
    for (let i = 0; i < n; i++) {
      const value = values[i]!;
      if (value < -RAW_MAX) continue;
      good[count++] = value;
      if (value < low) low = value;
    }
  }
  if (count === 0 ? isConstant(values, n) : count === n && low === high) {
    writer.byte(CONSTANT);
    writer.unsigned(n);
    writer.signed(values[0]!);
    return writer.view();
  }

  let predictor = 0;
  let step = 1;
  let bits = 0;
  // Where states were taken out, the place of a sample is not known without reading all of them.
  let hasRestarts = canSeek && count === n && n > 2 * RESTART;
  const base = count > 0 ? samples[0]! : 0;
  if (count > 0) {
    const isWide = high - low >= STATE_BASE;
    const most = isWide ? STATE_BASE : Math.max(high - base, base - low);
    const x = good;
    for (let i = 0; i < count; i++) x[i] = (samples[i]! - base) | 0;
    step = isWide ? 1 : commonStep(good, count);
    if (step > 1) for (let i = 0; i < count; i++) good[i] = good[i]! / step;
    predictor = predictorBefore >= 0 && most < NARROW ? predictorBefore : bestPredictor(good, count, most / step);
    residuals(predictor, good, count, folded, hasRestarts ? restarts : null);
    bits = encodeRice(folded, count - 1, words, hasRestarts ? starts : null, predictorBefore >= 0);
    if (hasRestarts && RESTART * bits < BITS_WORTH_RESTARTS * n) {
      hasRestarts = false;
      residuals(predictor, good, count, folded);
      bits = encodeRice(folded, count - 1, words);
    }
    if (bits < 0) return encodeRaw(values, n);
  }

  writer.byte(
    PREDICTED +
      predictor +
      (count < n ? WITH_STATES : 0) +
      (step > 1 ? WITH_STEP : 0) +
      (hasRestarts ? WITH_RESTARTS : 0),
  );
  writer.unsigned(n);
  if (count < n) writeStateRuns(values, n, writer);
  if (count > 0) {
    writer.signed(base);
    if (step > 1) writer.unsigned(step);
    if (hasRestarts) packRestarts(writer, starts, restarts, restartsIn(n));
    writer.appendBits(words, bits);
  }
  return writer.length < 4 * n + 4 ? writer.view() : encodeRaw(values, n);
}

/**
 * The samples of a block.
 * @param into filled from its start, and its front returned; else a new array
 * @throws DamagedBlockError for bytes that `encodeColumn` did not write
 * @throws RangeError if `into` is too short
 */
export function decodeColumn(bytes: Uint8Array, into?: Int32Array): Int32Array {
  const reader = new ByteReader(bytes);
  const kind = reader.byte();
  const n = reader.unsigned();
  if (n > MAX_BLOCK_SAMPLES) throw new DamagedBlockError(`a block of ${n} samples`);
  if (kind === RAW) return decodeRaw(reader, n, target(n, into));
  if (n === 0) throw new DamagedBlockError('an empty block that is not raw');
  if (kind === CONSTANT) {
    const value = int32(reader.signed());
    if (reader.left > 0) throw new DamagedBlockError('bytes after the end');
    return target(n, into).fill(value);
  }
  const predictor = kind & 0x0f;
  if ((kind & PREDICTED) === 0 || predictor >= PREDICTORS) throw new DamagedBlockError(`kind ${kind}`);
  const runs = kind & WITH_STATES ? readStateRuns(reader, n) : null;
  const count = runs ? n - runs.states : n;
  const out = target(n, into);
  if (count > 0) {
    const base = int32(reader.signed());
    const step = kind & WITH_STEP ? reader.unsigned() : 1;
    if (step === 0 || step > 2_147_483_647) throw new DamagedBlockError(`step ${step}`);
    const hasRestarts = (kind & WITH_RESTARTS) !== 0;
    if (hasRestarts) skipRestarts(reader, restartsIn(n));
    out[0] = base;
    readSamples(reader.rest(), count - 1, { predictor, base, step, hasRestarts }, out);
  } else if (reader.left > 0) {
    throw new DamagedBlockError('bytes after the end');
  }
  if (runs) spreadStates(out, count, n, runs);
  return out;
}

/**
 * Samples `from` to `to` − 1 of a block. Of a block with restarts only the
 * sub-blocks that hold them are read.
 * @param into filled from its start, and its front returned; else a new array
 * @throws DamagedBlockError for bytes that `encodeColumn` did not write
 * @throws RangeError if the block has no such samples, or `into` is too short
 */
export function decodeColumnRange(bytes: Uint8Array, from: number, to: number, into?: Int32Array): Int32Array {
  const reader = new ByteReader(bytes);
  const kind = reader.byte();
  const n = reader.unsigned();
  if (!(from >= 0 && from <= to && to <= n))
    throw new RangeError(`expected a part of ${n} samples, got ${from} to ${to}`);
  const out = target(to - from, into);
  if (from === to) return out;
  if (from === 0 && to === n) return decodeColumn(bytes, out);
  if (kind === CONSTANT) return out.fill(int32(reader.signed()));
  const predictor = kind & 0x0f;
  if ((kind & (PREDICTED + WITH_RESTARTS + WITH_STATES)) !== PREDICTED + WITH_RESTARTS || predictor >= PREDICTORS) {
    out.set(decodeColumn(bytes).subarray(from, to));
    return out;
  }
  const base = int32(reader.signed());
  const step = kind & WITH_STEP ? reader.unsigned() : 1;
  if (step === 0 || step > 2_147_483_647) throw new DamagedBlockError(`step ${step}`);
  partOf(reader, restartsIn(n), { predictor, base, step, hasRestarts: true }, from, to, out);
  return out;
}

/** The one value of a column that was written as a constant; null for any other. @throws DamagedBlockError */
export function constantOfColumn(bytes: Uint8Array): number | null {
  const reader = new ByteReader(bytes);
  if (reader.byte() !== CONSTANT) return null;
  reader.unsigned();
  return int32(reader.signed());
}

/** Predictor that a column was written with; −1 for one without. */
export function predictorOfColumn(bytes: Uint8Array, at = 0): number {
  const kind = bytes[at] ?? RAW;
  return (kind & PREDICTED) === 0 ? -1 : kind & 0x0f;
}

/** Samples in a block, from its first bytes alone. @throws DamagedBlockError */
export function samplesInColumn(bytes: Uint8Array): number {
  const reader = new ByteReader(bytes);
  reader.byte();
  const n = reader.unsigned();
  if (n > MAX_BLOCK_SAMPLES) throw new DamagedBlockError(`a block of ${n} samples`);
  return n;
}

/** Restarts of a block of n samples: one before each sub-block of residuals but the first. */
function restartsIn(n: number): number {
  return Math.max(0, Math.ceil((n - 1) / RESTART) - 1);
}

function encodeRaw(values: Int32Array, n: number): Uint8Array {
  const writer = new ByteWriter(4 * n + 4);
  writer.byte(RAW);
  writer.unsigned(n);
  const bytes = new Uint8Array(4 * n);
  const view = new DataView(bytes.buffer);
  for (let i = 0; i < n; i++) view.setInt32(4 * i, values[i]!, true);
  writer.append(bytes);
  return writer.take();
}

function decodeRaw(reader: ByteReader, n: number, into: Int32Array): Int32Array {
  const bytes = reader.rest();
  if (bytes.length !== 4 * n) throw new DamagedBlockError(`${bytes.length} bytes for ${n} raw samples`);
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.length);
  for (let i = 0; i < n; i++) into[i] = view.getInt32(4 * i, true);
  return into;
}

function isConstant(values: Int32Array, n: number): boolean {
  for (let i = 1; i < n; i++) if (values[i] !== values[0]) return false;
  return true;
}

/** Greatest common divisor of x[0 … n−1], at least 1. Ends at once where it is 1. */
function commonStep(x: Int32Array, n: number): number {
  let step = 0;
  for (let i = 0; i < n; i++) {
    let a = Math.abs(x[i]!);
    if (step > 0 && a % step === 0) continue;
    let b = step;
    while (a > 0) {
      const rest = b % a;
      b = a;
      a = rest;
    }
    step = b;
    if (step === 1) return 1;
  }
  return Math.max(1, step);
}

function readSamples(stream: Uint8Array, n: number, restoring: Restoring, out: Int32Array): void {
  const needed = riceWords(stream.length);
  if (words.length < needed) words = new Uint32Array(needed);
  const whole = stream.length >> 2;
  for (let i = 0, at = 0; i < whole; i++, at += 4) {
    words[i] = (stream[at]! << 24) | (stream[at + 1]! << 16) | (stream[at + 2]! << 8) | stream[at + 3]!;
  }
  words.fill(0, whole, needed);
  for (let at = 4 * whole; at < stream.length; at++) {
    words[whole] = words[whole]! | (stream[at]! << (24 - 8 * (at & 3)));
  }
  const bits = decodeSamples(words, 8 * stream.length, n, restoring, out, 1);
  if (bits < 0) throw new DamagedBlockError('the residuals end too early');
  if ((bits + 7) >> 3 !== stream.length) throw new DamagedBlockError('bytes after the end');
}

function reserve(n: number): void {
  if (good.length < n) {
    good = new Int32Array(n);
    folded = new Int32Array(n);
    starts = new Int32Array(n / RESTART + 2);
    restarts = new Int32Array(n / RESTART + 2);
  }
  const needed = riceCapacity(n);
  if (words.length < needed) words = new Uint32Array(needed);
}

function target(n: number, into: Int32Array | undefined): Int32Array {
  if (!into) return new Int32Array(n);
  if (into.length < n) throw new RangeError(`into: expected at least ${n} places, got ${into.length}`);
  return into.subarray(0, n);
}

function int32(value: number): number {
  if (value < -STATE_BASE || value >= STATE_BASE) throw new DamagedBlockError('a number out of range');
  return value;
}
