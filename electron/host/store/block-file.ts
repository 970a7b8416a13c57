/**
 * The one file that knows what a block is: up to about a second of the frames
 * of one rate group, as stored. Ticks are group 0 with no columns. Each block
 * carries a checksum over its head, its body and the checksum of the block
 * before it in the session, so that a changed, missing or swapped block shows.
 * It finds damage, not forgery: whoever can write the file can compute it.
 *
 * Body, little-endian:
 *
 *   u8 format = 1 · u8 reserved · u16 columns · u32 frames
 *   then sections, each u32 length and its bytes:
 *   ords       as times of `time-codec.ts`
 *   times      the same; or, where one is not a whole number within ±2⁵², 0x01 and a double each
 *   column 0 … each a column of `block-codec.ts`
 */
import { crc32 } from 'node:zlib';
import { decodeColumn, encodeColumn } from '../../../shared-core/series/block-codec.ts';
import { decodeTimes, encodeTimes } from '../../../shared-core/series/time-codec.ts';

/** A block ends when its next frame would make it span more than this. */
export const BLOCK_SPAN_US = 1_000_000;
/** … or when it holds this many frames. */
export const BLOCK_FRAMES = 2048;

const FORMAT = 1;
const FIXED_BYTES = 8;
const TIMES_AS_DOUBLES = 0x01;
/** Whole numbers below this go into `time-codec.ts`. */
export const MOST_WHOLE = 2 ** 52;

/** All that is known of a block without unpacking it. */
export interface BlockHead {
  /** 0, 1, 2 … within the session. */
  readonly number: number;
  /** Rate group; 0 for ticks. */
  readonly group: number;
  readonly firstOrd: number;
  readonly lastOrd: number;
  readonly first_us: number;
  readonly last_us: number;
  readonly frames: number;
  readonly columns: number;
  /** Checksum of block `number` − 1; 0 for the first. */
  readonly previous: number;
  readonly checksum: number;
}

export interface Block extends BlockHead {
  readonly body: Uint8Array;
}

/** A block unpacked: place i of each array is frame i. */
export interface BlockFrames {
  readonly ords: Float64Array;
  readonly times_us: Float64Array;
  readonly columns: readonly Int32Array[];
}

/** Collects frames of one group until they are sealed; keeps its arrays for the next block. */
export class BlockBuilder {
  readonly group: number;
  readonly columns: number;
  #ords = new Float64Array(128);
  #times_us = new Float64Array(128);
  #values: Int32Array[];
  #frames = 0;

  constructor(group: number, columns: number) {
    this.group = group;
    this.columns = columns;
    this.#values = Array.from({ length: columns }, () => new Int32Array(128));
  }

  get frames(): number {
    return this.#frames;
  }

  /** Whether a frame of this shape and time still belongs into the block. */
  takes(t_us: number, columns: number): boolean {
    if (columns !== this.columns) return false;
    if (this.#frames === 0) return true;
    return this.#frames < BLOCK_FRAMES && t_us - this.#times_us[0]! < BLOCK_SPAN_US;
  }

  add(ord: number, t_us: number, raw: Int32Array): void {
    const at = this.#frames;
    if (at === this.#ords.length) this.#grow();
    this.#ords[at] = ord;
    this.#times_us[at] = t_us;
    for (let column = 0; column < this.columns; column++) this.#values[column]![at] = raw[column]!;
    this.#frames = at + 1;
  }

  /** The frames as a block behind `previous`; the builder is empty afterwards. At least one frame must be in it. */
  seal(number: number, previous: number): Block {
    const frames = this.#frames;
    const ords = this.#ords.subarray(0, frames);
    const times_us = this.#times_us.subarray(0, frames);
    const columns = this.#values.map((values) => values.subarray(0, frames));
    this.#frames = 0;
    const body = packBody({ ords, times_us, columns });
    const head = {
      number,
      group: this.group,
      firstOrd: ords[0]!,
      lastOrd: ords[frames - 1]!,
      first_us: times_us[0]!,
      last_us: times_us[frames - 1]!,
      frames,
      columns: this.columns,
      previous,
    };
    return { ...head, checksum: checksumOf(head, body), body };
  }

  #grow(): void {
    const length = this.#ords.length * 2;
    this.#ords = grown(this.#ords, new Float64Array(length));
    this.#times_us = grown(this.#times_us, new Float64Array(length));
    this.#values = this.#values.map((values) => grown(values, new Int32Array(length)));
  }
}

/**
 * The frames of a block, checked against its checksum.
 * @throws BlockDamage where head or body are not what was written
 */
export function openBlock(block: Block): BlockFrames {
  const found = checksumOf(block, block.body);
  if (found !== block.checksum) {
    throw new BlockDamage(`checksum is ${hex(found)}, should be ${hex(block.checksum)}`);
  }
  try {
    return unpackBody(block);
  } catch (error) {
    // The checksum held, so a bug of ours or a collision; damage all the same for the reader.
    throw new BlockDamage(error instanceof Error ? error.message : String(error));
  }
}

/** Head or body of a block are not what was written. */
export class BlockDamage extends Error {
  override readonly name = 'BlockDamage';
}

function checksumOf(head: Omit<BlockHead, 'checksum'>, body: Uint8Array): number {
  const numbers = [
    head.number,
    head.group,
    head.firstOrd,
    head.lastOrd,
    head.first_us,
    head.last_us,
    head.frames,
    head.columns,
  ];
  const bytes = new DataView(new ArrayBuffer(8 * numbers.length));
  for (const [i, value] of numbers.entries()) bytes.setFloat64(8 * i, value, true);
  return crc32(body, crc32(new Uint8Array(bytes.buffer), head.previous));
}

function packBody(frames: BlockFrames): Uint8Array {
  const sections = [
    encodeTimes(frames.ords),
    frames.times_us.every(isWhole) ? encodeTimes(frames.times_us) : packDoubles(frames.times_us),
    ...frames.columns.map((column) => encodeColumn(column)),
  ];
  const body = new Uint8Array(FIXED_BYTES + sections.reduce((sum, section) => sum + 4 + section.length, 0));
  const view = new DataView(body.buffer);
  view.setUint8(0, FORMAT);
  view.setUint16(2, frames.columns.length, true);
  view.setUint32(4, frames.ords.length, true);
  let at = FIXED_BYTES;
  for (const section of sections) {
    view.setUint32(at, section.length, true);
    body.set(section, at + 4);
    at += 4 + section.length;
  }
  return body;
}

/** @throws Error where the body is not well formed, or does not fit its head */
function unpackBody(block: Block): BlockFrames {
  const { body } = block;
  const view = new DataView(body.buffer, body.byteOffset, body.byteLength);
  const format = view.getUint8(0);
  if (format !== FORMAT) throw new Error(`block format ${format} is not known`);
  const columnCount = view.getUint16(2, true);
  const frames = view.getUint32(4, true);
  if (columnCount !== block.columns || frames !== block.frames) throw new Error('head and body do not fit');
  let at = FIXED_BYTES;
  const section = () => {
    const length = view.getUint32(at, true);
    const bytes = body.subarray(at + 4, at + 4 + length);
    if (bytes.length !== length) throw new Error('a section is cut off');
    at += 4 + length;
    return bytes;
  };
  const ords = decodeTimes(section());
  const packedTimes = section();
  const times_us = packedTimes[0] === TIMES_AS_DOUBLES ? unpackDoubles(packedTimes) : decodeTimes(packedTimes);
  const columns = Array.from({ length: columnCount }, () => decodeColumn(section()));
  if ([ords, times_us, ...columns].some((each) => each.length !== frames))
    throw new Error('a section has another length');
  return { ords, times_us, columns };
}

function isWhole(time_us: number): boolean {
  return Number.isInteger(time_us) && Math.abs(time_us) < MOST_WHOLE;
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

function grown<A extends Float64Array | Int32Array>(from: A, to: A): A {
  to.set(from);
  return to;
}

function hex(checksum: number): string {
  return checksum.toString(16).toUpperCase().padStart(8, '0');
}
