/**
 * Bytes of one chunk of `time-levels.ts`: 256 steps of one column.
 *
 *   u8 format = 1
 *   u n            steps up to the last with a sample, 1 to 256; the rest are empty
 *   three times    u length, then a column of `block-codec.ts`, n long:
 *                    count of samples
 *                    mean
 *                    max − mean, wrapping in 32 bits
 *   the rest       a column: mean − min, wrapping
 *
 * `u` is an unsigned LEB128 number (`varint.ts`). In a step without samples
 * the mean is that of the step before and the distances are 0, so that a gap
 * costs next to nothing. The distances are what is left of the extremes once
 * the slow part of the signal is known; that is why they are stored so.
 *
 * WORKED EXAMPLE. Two steps of 64 samples, 10 to 14 and 9 to 15, both with mean 12:
 *   01 02  04 01 02 80 01  03 01 02 18  05 10 02 04 09 00  10 02 04 09 00
 *   count: constant 64; mean: constant 12; max − mean: 2, 3 (last value; base 2, then
 *   residual 1 folded to 2: 0 00010 (Rice, k = 1), then 01, 0); mean − min: 2, 3, the same.
 */
import { decodeColumn, encodeColumn } from './block-codec.ts';
import { DamagedBlockError } from './damaged-block.ts';
import { CHUNK_STEPS, emptyChunk, type LevelChunk } from './time-levels.ts';
import { ByteReader, ByteWriter } from './varint.ts';

const FORMAT = 1;

const means = new Int32Array(CHUNK_STEPS);
const above = new Int32Array(CHUNK_STEPS);
const below = new Int32Array(CHUNK_STEPS);

/** A chunk with at least one sample. */
export function packChunk(chunk: LevelChunk): Uint8Array {
  let n = CHUNK_STEPS;
  while (n > 0 && chunk.count[n - 1] === 0) n--;
  if (n === 0) throw new RangeError('expected a chunk with samples, got an empty one');
  let mean = 0;
  for (let i = 0; i < n && mean === 0; i++) if (chunk.count[i]! > 0) mean = chunk.mean[i]!;
  for (let i = 0; i < n; i++) {
    const isEmpty = chunk.count[i] === 0;
    if (!isEmpty) mean = chunk.mean[i]!;
    means[i] = mean;
    above[i] = isEmpty ? 0 : chunk.max[i]! - mean;
    below[i] = isEmpty ? 0 : mean - chunk.min[i]!;
  }
  const writer = new ByteWriter(4 * n);
  writer.byte(FORMAT);
  writer.unsigned(n);
  for (const column of [chunk.count, means, above]) {
    const bytes = encodeColumn(column, n);
    writer.unsigned(bytes.length);
    writer.append(bytes);
  }
  writer.append(encodeColumn(below, n));
  return writer.take();
}

/**
 * @param into filled whole, and returned; else a new chunk
 * @throws DamagedBlockError for bytes that `packChunk` did not write
 */
export function unpackChunk(bytes: Uint8Array, into: LevelChunk = emptyChunk()): LevelChunk {
  const reader = new ByteReader(bytes);
  const format = reader.byte();
  if (format !== FORMAT) throw new DamagedBlockError(`chunk format ${format} is not known`);
  const n = reader.unsigned();
  if (n < 1 || n > CHUNK_STEPS) throw new DamagedBlockError(`a chunk of ${n} steps`);
  const { min, max, mean, count } = into;
  for (const column of [count, mean, max]) exactly(n, decodeColumn(reader.take(reader.unsigned()), column));
  exactly(n, decodeColumn(reader.rest(), min));
  for (let i = 0; i < n; i++) {
    max[i] = mean[i]! + max[i]!;
    min[i] = mean[i]! - min[i]!;
  }
  count.fill(0, n);
  return into;
}

function exactly(n: number, column: Int32Array): void {
  if (column.length !== n) throw new DamagedBlockError(`a column of ${column.length} in a chunk of ${n}`);
}
