/**
 * Blocks as versions 1 and 2 of the file had them: about a second of one rate group,
 * each with a checksum over head, body and the checksum before it. Read only,
 * by the update to version 3.
 *
 * Body, little-endian: u8 format = 1 · u8 reserved · u16 columns · u32 frames,
 * then sections, each u32 length and its bytes: ords, times (or 0x01 and a
 * double each), column 0 ….
 */
import { crc32 } from 'node:zlib';
import { decodeColumn } from '../../../../shared-core/series/block-codec.ts';
import { decodeTimes } from '../../../../shared-core/series/time-codec.ts';
import { BlockDamage } from '../block-file.ts';

const FORMAT = 1;
const FIXED_BYTES = 8;
const TIMES_AS_DOUBLES = 0x01;

export interface ShortBlock {
  readonly number: number;
  /** Rate group; 0 for ticks. */
  readonly group: number;
  readonly firstOrd: number;
  readonly lastOrd: number;
  readonly first_us: number;
  readonly last_us: number;
  readonly frames: number;
  readonly columns: number;
  readonly previous: number;
  readonly checksum: number;
  readonly body: Uint8Array;
}

export interface ShortBlockFrames {
  readonly ords: Float64Array;
  readonly times_us: Float64Array;
  readonly columns: readonly Int32Array[];
}

/**
 * The frames of a block, checked against its checksum.
 * @throws BlockDamage where head or body are not what was written
 */
export function openShortBlock(block: ShortBlock): ShortBlockFrames {
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

function checksumOf(head: Omit<ShortBlock, 'checksum' | 'body'>, body: Uint8Array): number {
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

/** @throws Error where the body is not well formed, or does not fit its head */
function unpackBody(block: ShortBlock): ShortBlockFrames {
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

function unpackDoubles(bytes: Uint8Array): Float64Array {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  return Float64Array.from({ length: (bytes.length - 1) / 8 }, (_, i) => view.getFloat64(1 + 8 * i, true));
}

function hex(checksum: number): string {
  return checksum.toString(16).toUpperCase().padStart(8, '0');
}
