/**
 * Sample times of a block: whole microseconds, as a line through the first and
 * the last with the distances from it as a column of `block-codec.ts`.
 *
 * BYTES (u, s as in `block-codec.ts`):
 *   0x80    u n, s first, s period, then a column of r: time[i] = first + i · period + r[i]
 *   0x81    u n, then n little-endian doubles: where the period or a distance exceeds 32 bits
 */
import { constantOfColumn, decodeColumn, encodeColumn, MAX_BLOCK_SAMPLES } from './block-codec.ts';
import { DamagedBlockError } from './damaged-block.ts';
import { ByteReader, ByteWriter } from './varint.ts';

const ON_A_LINE = 0x80;
const RAW = 0x81;
/** What a folded LEB128 number of this format can hold. */
const MOST_us = 2 ** 52 - 1;
/** Keeps first + i · period exact in a double, whatever i. */
const MOST_PERIOD_us = 2 ** 31 - 1;

/**
 * @param times whole microseconds, within ±2⁵²; need not rise
 * @throws RangeError for n out of range, or times that are not such numbers
 */
export function encodeTimes(times: Float64Array, n: number = times.length): Uint8Array {
  if (!(Number.isInteger(n) && n >= 0 && n <= times.length && n <= MAX_BLOCK_SAMPLES)) {
    throw new RangeError(`n: expected 0 to ${Math.min(times.length, MAX_BLOCK_SAMPLES)}, got ${n}`);
  }
  for (let i = 0; i < n; i++) {
    const time = times[i]!;
    if (!(Number.isInteger(time) && Math.abs(time) <= MOST_us)) {
      throw new RangeError(`times[${i}]: expected whole microseconds, got ${time}`);
    }
  }
  const first = n > 0 ? times[0]! : 0;
  const period = n > 1 ? Math.round((times[n - 1]! - first) / (n - 1)) : 0;
  if (Math.abs(period) > MOST_PERIOD_us) return encodeRaw(times, n);
  const distances = new Int32Array(n);
  for (let i = 0; i < n; i++) {
    const distance = times[i]! - (first + i * period);
    distances[i] = distance;
    if (distances[i] !== distance) return encodeRaw(times, n);
  }
  const writer = new ByteWriter(n + 32);
  writer.byte(ON_A_LINE);
  writer.unsigned(n);
  writer.signed(first);
  writer.signed(period);
  writer.append(encodeColumn(distances, n));
  return writer.take();
}

/**
 * @param into filled from its start, and its front returned; else a new array
 * @throws DamagedBlockError for bytes that `encodeTimes` did not write
 * @throws RangeError if `into` is too short
 */
export function decodeTimes(bytes: Uint8Array, into?: Float64Array): Float64Array {
  const reader = new ByteReader(bytes);
  const kind = reader.byte();
  const n = reader.unsigned();
  if (n > MAX_BLOCK_SAMPLES) throw new DamagedBlockError(`a block of ${n} times`);
  if (kind === RAW) {
    const rest = reader.rest();
    if (rest.length !== 8 * n) throw new DamagedBlockError(`${rest.length} bytes for ${n} times`);
    const out = target(n, into);
    const view = new DataView(rest.buffer, rest.byteOffset, rest.length);
    for (let i = 0; i < n; i++) {
      const time = view.getFloat64(8 * i, true);
      if (!(Number.isInteger(time) && Math.abs(time) <= MOST_us)) throw new DamagedBlockError(`a time of ${time}`);
      out[i] = time;
    }
    return out;
  }
  if (kind !== ON_A_LINE) throw new DamagedBlockError(`kind ${kind}`);
  const first = reader.signed();
  const period = reader.signed();
  if (Math.abs(period) > MOST_PERIOD_us) throw new DamagedBlockError(`a period of ${period}`);
  const distances = decodeColumn(reader.rest());
  if (distances.length !== n) throw new DamagedBlockError(`${distances.length} distances for ${n} times`);
  const out = target(n, into);
  for (let i = 0; i < n; i++) {
    const time = first + i * period + distances[i]!;
    if (!(Math.abs(time) <= MOST_us)) throw new DamagedBlockError(`a time of ${time}`);
    out[i] = time;
  }
  return out;
}

/**
 * Times `from` to `to` − 1 of a block. Where they lie on a line, which those
 * of a steady bench do, the others are not computed.
 * @throws DamagedBlockError, RangeError as `decodeTimes` and `decodeColumnRange`
 */
export function decodeTimesRange(bytes: Uint8Array, from: number, to: number): Float64Array {
  const line = lineOf(bytes);
  if (line === null) return decodeTimes(bytes).subarray(from, to);
  if (!(from >= 0 && from <= to && to <= line.n)) throw new RangeError(`expected a part of ${line.n} times`);
  const out = new Float64Array(to - from);
  for (let i = from; i < to; i++) out[i - from] = line.first + i * line.period;
  return out;
}

/** First place whose time is at or after `time`; the number of times where there is none. They must not go back. */
export function firstTimeAt(bytes: Uint8Array, time: number): number {
  const line = lineOf(bytes);
  if (line !== null && line.period > 0) {
    return Math.min(line.n, Math.max(0, Math.ceil((time - line.first) / line.period)));
  }
  const times = decodeTimes(bytes);
  let low = 0;
  let high = times.length;
  while (low < high) {
    const middle = (low + high) >>> 1;
    if (times[middle]! < time) low = middle + 1;
    else high = middle;
  }
  return low;
}

/** First time and period where all times lie on a line to the microsecond; else null. */
function lineOf(bytes: Uint8Array): { n: number; first: number; period: number } | null {
  const reader = new ByteReader(bytes);
  if (reader.byte() !== ON_A_LINE) return null;
  const n = reader.unsigned();
  const first = reader.signed();
  const period = reader.signed();
  const offset = constantOfColumn(reader.rest());
  if (offset === null || n > MAX_BLOCK_SAMPLES || Math.abs(period) > MOST_PERIOD_us) return null;
  return { n, first: first + offset, period };
}

function encodeRaw(times: Float64Array, n: number): Uint8Array {
  const bytes = new Uint8Array(8 * n);
  const view = new DataView(bytes.buffer);
  for (let i = 0; i < n; i++) view.setFloat64(8 * i, times[i]!, true);
  const writer = new ByteWriter(8 * n + 8);
  writer.byte(RAW);
  writer.unsigned(n);
  writer.append(bytes);
  return writer.take();
}

function target(n: number, into: Float64Array | undefined): Float64Array {
  if (!into) return new Float64Array(n);
  if (into.length < n) throw new RangeError(`into: expected at least ${n} places, got ${into.length}`);
  return into.subarray(0, n);
}
