/**
 * The restart table of a long block, and reading a part of one by it. The
 * bytes are specified at the head of `block-codec.ts`.
 */
import { DamagedBlockError } from './damaged-block.ts';
import { RESTART } from './predict.ts';
import { riceWords } from './rice.ts';
import { decodeSamples, type Restoring } from './rice-decoder.ts';
import type { ByteReader, ByteWriter } from './varint.ts';

// Scratch; nothing in it outlives a call. `words` is all zeros between calls.
let words = new Uint32Array(0);
let samples = new Int32Array(0);

/**
 * @param starts bit at which each sub-block begins; `count` + 1 of them
 * @param states of the predictor at each restart
 */
export function packRestarts(writer: ByteWriter, starts: Int32Array, states: Int32Array, count: number): void {
  let least = 0x7fff_ffff;
  let most = 0;
  let states_or = 0;
  for (let i = 0; i < count; i++) {
    const length = starts[i + 1]! - starts[i]!;
    least = Math.min(least, length);
    most = Math.max(most, length);
    states_or |= foldedStep(states, i);
  }
  const w = 32 - Math.clz32(most - least);
  const v = 32 - Math.clz32(states_or);
  writer.byte(w);
  writer.byte(v);
  writer.unsigned(least);
  let held = 0;
  let acc = 0;
  const put = (value: number, width: number) => {
    for (let bit = width - 1; bit >= 0; bit--) {
      acc = (acc << 1) | ((value >>> bit) & 1);
      if (++held < 8) continue;
      writer.byte(acc);
      acc = 0;
      held = 0;
    }
  };
  for (let i = 0; i < count; i++) {
    put(starts[i + 1]! - starts[i]! - least, w);
    put(foldedStep(states, i), v);
  }
  if (held > 0) writer.byte(acc << (8 - held));
}

export function skipRestarts(reader: ByteReader, count: number): void {
  const { w, v } = readWidths(reader);
  reader.take((count * (w + v) + 7) >> 3);
}

/** Samples `from` to `to` − 1 into the front of `out`; the reader stands at the table. @throws DamagedBlockError */
export function partOf(
  reader: ByteReader,
  count: number,
  restoring: Restoring,
  from: number,
  to: number,
  out: Int32Array,
): void {
  const { w, v, least } = readWidths(reader);
  const table = reader.take((count * (w + v) + 7) >> 3);
  const stream = reader.rest();
  // Sample 0 stands by itself; sample i ≥ 1 is residual i − 1.
  const first = Math.max(0, from - 1) >> 7;
  const last = Math.max(0, to - 2) >> 7;
  let begin = 0;
  let state = 0;
  let at = 0;
  let end = 0;
  // The codes in force: a sub-block may say "as before".
  let code = 0;
  for (let i = 0; i <= last; i++) {
    if (i === first) begin = end;
    if (i < first) {
      const head = bitsAt(stream, end, 6);
      if (head < 32) code = head;
    }
    if (i >= count) {
      end = 8 * stream.length;
      break;
    }
    end += least + bitsAt(table, at, w);
    const folded = bitsAt(table, at + w, v);
    at += w + v;
    if (i < first) state = (state + ((folded >>> 1) ^ -(folded & 1))) | 0;
    if (end > 8 * stream.length) throw new DamagedBlockError('a restart lies behind the end');
  }
  const residuals = Math.max(0, to - 1 - first * RESTART);
  const bits = readWords(stream, begin, end);
  if (samples.length < residuals + 1) samples = new Int32Array(residuals + 1 + RESTART);
  samples[0] = restoring.base;
  const read = decodeSamples(words, bits, residuals, restoring, samples, 1, state, begin & 31, code, true);
  // Zeros again behind the stream, for the next one.
  words.fill(0, 0, (bits >> 5) + 1);
  if (read < 0) throw new DamagedBlockError('the residuals end too early');
  const offset = from - first * RESTART;
  out.set(samples.subarray(offset, offset + to - from));
}

function readWidths(reader: ByteReader): { w: number; v: number; least: number } {
  const w = reader.byte();
  const v = reader.byte();
  if (w > 32 || v > 32) throw new DamagedBlockError(`restarts of ${w} and ${v} bits`);
  return { w, v, least: reader.unsigned() };
}

/** Words of the stream from the one that holds bit `begin`; returns the bits in them up to `end`. */
function readWords(stream: Uint8Array, begin: number, end: number): number {
  const from = (begin >> 5) << 2;
  const to = Math.min(stream.length, (end + 7) >> 3);
  const needed = riceWords(to - from);
  if (words.length < needed) words = new Uint32Array(needed);
  let word = 0;
  let at = from;
  for (; at + 4 <= to; at += 4) {
    words[word++] = (stream[at]! << 24) | (stream[at + 1]! << 16) | (stream[at + 2]! << 8) | stream[at + 3]!;
  }
  for (; at < to; at++) words[word] = words[word]! | (stream[at]! << (24 - 8 * (at & 3)));
  return end - 8 * from;
}

/** Up to 32 bits as an unsigned number; zeros behind the end. */
function bitsAt(bytes: Uint8Array, at: number, width: number): number {
  let value = 0;
  let left = width;
  let bit = at;
  while (left > 0) {
    const have = 8 - (bit & 7);
    const take = Math.min(have, left);
    const byte = bytes[bit >> 3] ?? 0;
    value = value * 2 ** take + ((byte >> (have - take)) & ((1 << take) - 1));
    bit += take;
    left -= take;
  }
  return value;
}

function foldedStep(states: Int32Array, i: number): number {
  const step = (states[i]! - (i === 0 ? 0 : states[i - 1]!)) | 0;
  return (step << 1) ^ (step >> 31);
}
