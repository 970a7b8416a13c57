/**
 * The one file that knows the inside of a block: a stretch of a session's
 * frames and ticks, of all rate groups together, in one row of the database.
 * A commit writes a block of what came since the last one (table `fresh`);
 * every so often those are rewritten into one long block (table `block`),
 * which `block-size.ts` sizes to the pages of the file. Both have this form.
 *
 * BODY, little-endian; `u` is an unsigned LEB128 number (series/varint.ts):
 *
 *   u8 format = 2
 *   u8 sections      one for each rate group, or two where its column count changed
 *   for each section:
 *     u8 group         0 for ticks
 *     u columns
 *     u frames         1 to 2²⁰
 *     u length of the ords, u length of the times, u length of each column
 *   then, for each section in the same order:
 *     ords             as times of `series/time-codec.ts`
 *     times            the same; or, where one is not a whole number within ±2⁵², 0x01 and a double each
 *     column 0 …       each a column of `series/block-codec.ts`
 *   u32 CRC-32         over the head (below) and all bytes before
 *
 * HEAD: the row's columns, in the checksum as doubles in this order: first_ord,
 * last_ord, first_us, last_us, frames, previous, checksum. `previous` and
 * `checksum` are the session's content chain before and after the block
 * (`content-chain.ts`); the CRC at the end is about these bytes only, so that
 * a reader knows damage without computing the chain.
 *
 * WORKED EXAMPLE. One frame of group 1: ord 7, t = 1 s, columns 1200 and −5,
 * first of its session (previous 0, checksum C0F8F5D0):
 *
 *   02 01  01 02 01  07 09 04 03
 *   80 01 0E 00 01 01 00          ords: one, first 7 (folded 0E), period 0, distances: constant 0
 *   80 01 80 89 7A 00 01 01 00    times: one, first 1,000,000
 *   01 01 E0 12                   constant 1200
 *   01 01 09                      constant −5
 *   03 63 89 B0                   CRC-32
 *
 * tests/host/store/block-file.test.ts decodes it.
 */
import { crc32 } from 'node:zlib';
import {
  appendColumn,
  decodeColumn,
  decodeColumnRange,
  predictorOfColumn,
} from '../../../shared-core/series/block-codec.ts';
import { decodeTimes, decodeTimesRange, encodeTimes, firstTimeAt } from '../../../shared-core/series/time-codec.ts';
import { ByteReader, ByteWriter } from '../../../shared-core/series/varint.ts';

const FORMAT = 2;
const TIMES_AS_DOUBLES = 0x01;
/** Whole numbers below this go into `time-codec.ts`. */
export const MOST_WHOLE = 2 ** 52;
/** Ticks are stored as frames without columns of a group that no bench has. */
export const TICK_GROUP = 0;

/** All that is known of a block without unpacking it. */
export interface BlockHead {
  readonly firstOrd: number;
  readonly lastOrd: number;
  readonly first_us: number;
  readonly last_us: number;
  readonly frames: number;
  /** The content chain before the first frame, and after the last. */
  readonly previous: number;
  readonly checksum: number;
}

export interface Block extends BlockHead {
  readonly body: Uint8Array;
}

/** Frames of one group and column count, to be packed: places `from` to `to` − 1 of each array. */
export interface FrameColumns {
  readonly group: number;
  readonly columns: number;
  readonly ords: Float64Array;
  readonly times_us: Float64Array;
  readonly values: readonly Int32Array[];
  readonly from: number;
  readonly to: number;
  /** By column, from the last long block, which fills it; −1 where none is known. Spares a commit the search. */
  readonly predictors?: Int8Array;
}

/** Head or body of a block are not what was written. */
export class BlockDamage extends Error {
  override readonly name = 'BlockDamage';
}

// Scratch of `packBlock`.
const writer = new ByteWriter(1 << 16);
const columnBytes = new ByteWriter(1 << 16);

/**
 * @param sections at least one frame in all
 * @param canSeek long blocks: a part of a column can be decoded without the rest
 */
export function packBlock(head: BlockHead, sections: readonly FrameColumns[], canSeek: boolean): Block {
  const filled = sections.filter((each) => each.to > each.from);
  writer.clear();
  columnBytes.clear();
  writer.byte(FORMAT);
  writer.byte(filled.length);
  for (const { group, columns, ords, times_us, values, from, to, predictors } of filled) {
    writer.byte(group);
    writer.unsigned(columns);
    writer.unsigned(to - from);
    for (const bytes of [encodeTimes(ords.subarray(from, to)), packTimes(times_us.subarray(from, to))]) {
      writer.unsigned(bytes.length);
      columnBytes.append(bytes);
    }
    for (let c = 0; c < columns; c++) {
      const known = canSeek ? -1 : (predictors?.[c] ?? -1);
      const at = columnBytes.length;
      writer.unsigned(appendColumn(columnBytes, values[c]!.subarray(from, to), to - from, canSeek, known));
      if (canSeek && predictors !== undefined) predictors[c] = predictorOfColumn(columnBytes.view(), at);
    }
  }
  writer.append(columnBytes.view());
  const body = new Uint8Array(writer.length + 4);
  body.set(writer.view());
  new DataView(body.buffer).setUint32(writer.length, crcOf(head, body), true);
  return { ...head, body };
}

/**
 * Checks head and body against the CRC and reads the directory; columns are
 * unpacked when asked for.
 * @throws BlockDamage where head or body are not what was written
 */
export function openBlock(block: Block): OpenBlock {
  const { body } = block;
  if (body.length < 6) throw new BlockDamage(`the block has ${body.length} bytes`);
  const view = new DataView(body.buffer, body.byteOffset, body.byteLength);
  const written = view.getUint32(body.length - 4, true);
  const found = crcOf(block, body);
  if (found !== written) throw new BlockDamage(`checksum is ${hex(found)}, should be ${hex(written)}`);
  return orDamage(() => {
    const reader = new ByteReader(body.subarray(0, body.length - 4));
    const format = reader.byte();
    if (format !== FORMAT) throw new Error(`block format ${format} is not known`);
    const count = reader.byte();
    const shapes = Array.from({ length: count }, () => {
      const shape = { group: reader.byte(), columns: reader.unsigned(), frames: reader.unsigned() };
      if (shape.columns > 65_535) throw new Error(`a section of ${shape.columns} columns`);
      return { ...shape, lengths: Array.from({ length: shape.columns + 2 }, () => reader.unsigned()) };
    });
    const sections = shapes.map(
      ({ group, columns, frames, lengths }) =>
        new Section(
          group,
          columns,
          frames,
          lengths.map((length) => reader.take(length)),
        ),
    );
    if (reader.left > 0) throw new Error('bytes after the last section');
    return { sections };
  });
}

export interface OpenBlock {
  readonly sections: readonly Section[];
}

/** One group's part of an open block. Its arrays are new at each call, but those of `timesPart_us`: not to be changed. */
export class Section {
  readonly group: number;
  readonly columns: number;
  readonly frames: number;
  readonly #parts: readonly Uint8Array[];
  /** The last answers about times: a view asks the same for each of thirty columns. */
  #times: { readonly from: number; readonly to: number; readonly times_us: Float64Array } | null = null;
  readonly #firsts: { readonly t_us: number; readonly first: number }[] = [];

  constructor(group: number, columns: number, frames: number, parts: readonly Uint8Array[]) {
    this.group = group;
    this.columns = columns;
    this.frames = frames;
    this.#parts = parts;
  }

  /** @throws BlockDamage */
  ords(): Float64Array {
    return orDamage(() => this.#all(decodeTimes(this.#parts[0]!)));
  }

  /** @throws BlockDamage */
  times_us(): Float64Array {
    return orDamage(() => this.#all(unpackTimes(this.#parts[1]!)));
  }

  /** First frame at or after `t_us`; `frames` where there is none. @throws BlockDamage */
  firstAt(t_us: number): number {
    const known = this.#firsts.find((each) => each.t_us === t_us);
    if (known !== undefined) return known.first;
    const first = this.#findFirst(t_us);
    this.#firsts.push({ t_us, first });
    if (this.#firsts.length > 4) this.#firsts.shift();
    return first;
  }

  #findFirst(t_us: number): number {
    const bytes = this.#parts[1]!;
    if (bytes[0] !== TIMES_AS_DOUBLES) return orDamage(() => firstTimeAt(bytes, t_us));
    const at = this.times_us().findIndex((each) => each >= t_us);
    return at < 0 ? this.frames : at;
  }

  /** Times of frames `from` to `to` − 1. @throws BlockDamage */
  timesPart_us(from: number, to: number): Float64Array {
    const known = this.#times;
    if (known !== null && known.from === from && known.to === to) return known.times_us;
    const bytes = this.#parts[1]!;
    const times_us =
      bytes[0] === TIMES_AS_DOUBLES
        ? this.times_us().subarray(from, to)
        : orDamage(() => decodeTimesRange(bytes, from, to));
    this.#times = { from, to, times_us };
    return times_us;
  }

  /** @throws BlockDamage */
  column(column: number, into?: Int32Array): Int32Array {
    return orDamage(() => this.#all(decodeColumn(this.#parts[column + 2]!, into)));
  }

  /** Frames `from` to `to` − 1 of a column. @throws BlockDamage */
  part(column: number, from: number, to: number, into?: Int32Array): Int32Array {
    return orDamage(() => decodeColumnRange(this.#parts[column + 2]!, from, to, into));
  }

  #all<A extends Float64Array | Int32Array>(values: A): A {
    if (values.length !== this.frames) throw new Error('a column has another length');
    return values;
  }
}

function orDamage<T>(work: () => T): T {
  try {
    return work();
  } catch (error) {
    // The CRC held, so a bug of ours or a collision; damage all the same for the reader.
    throw new BlockDamage(error instanceof Error ? error.message : String(error));
  }
}

const headBytes = new Uint8Array(56);
const headView = new DataView(headBytes.buffer);

/** Over the head, and all of the body but its last four bytes. */
function crcOf(head: BlockHead, body: Uint8Array): number {
  headView.setFloat64(0, head.firstOrd, true);
  headView.setFloat64(8, head.lastOrd, true);
  headView.setFloat64(16, head.first_us, true);
  headView.setFloat64(24, head.last_us, true);
  headView.setFloat64(32, head.frames, true);
  headView.setFloat64(40, head.previous, true);
  headView.setFloat64(48, head.checksum, true);
  return crc32(body.subarray(0, body.length - 4), crc32(headBytes));
}

function packTimes(times_us: Float64Array): Uint8Array {
  for (let i = 0; i < times_us.length; i++) {
    const time_us = times_us[i]!;
    if (!Number.isInteger(time_us) || Math.abs(time_us) >= MOST_WHOLE) return packDoubles(times_us);
  }
  return encodeTimes(times_us);
}

function unpackTimes(bytes: Uint8Array): Float64Array {
  return bytes[0] === TIMES_AS_DOUBLES ? unpackDoubles(bytes) : decodeTimes(bytes);
}

function packDoubles(values: Float64Array): Uint8Array {
  const bytes = new Uint8Array(1 + 8 * values.length);
  const view = new DataView(bytes.buffer);
  view.setUint8(0, TIMES_AS_DOUBLES);
  for (const [i, value] of values.entries()) view.setFloat64(1 + 8 * i, value, true);
  return bytes;
}

function unpackDoubles(bytes: Uint8Array): Float64Array {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  return Float64Array.from({ length: (bytes.length - 1) / 8 }, (_, i) => view.getFloat64(1 + 8 * i, true));
}

function hex(checksum: number): string {
  return checksum.toString(16).toUpperCase().padStart(8, '0');
}
