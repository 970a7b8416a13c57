/**
 * A keyframe: all that the pipeline remembered at one instant of a session
 * (shared-core/pipeline/fold-memory.ts), so that a replay can begin there. No
 * part of the record: what is missing, damaged or of another version is folded
 * anew from the frames.
 *
 * BODY, little-endian:
 *
 *   u8  format = 1
 *   u32 CRC-32 over ord and time of the row, as doubles, and all bytes after it
 *   raw DEFLATE of
 *     u32 n, n bytes      text: JSON array of fold version, shape, data
 *     u32 n, 8 n bytes    numbers: the first byte of each double, then the second of each …
 *     u32 n, n bytes      bytes
 *
 * Doubles that lie near each other share their high bytes: turned so, they take
 * two thirds of the room.
 */
import { crc32, deflateRawSync, inflateRawSync } from 'node:zlib';
import type { SavedFold } from '../../../shared-core/pipeline/fold-memory.ts';

/** Of session time between two: a seek folds half of it in the middle, a quarter of a second at 32 channels of 100 Hz. */
export const KEYFRAME_EVERY_US = 600_000_000;

export interface Keyframe {
  /** The last entry that had been folded. */
  readonly ord: number;
  readonly t_us: number;
  readonly body: Uint8Array;
}

const FORMAT = 1;
const HEAD_BYTES = 5;

export function packKeyframe(ord: number, t_us: number, saved: SavedFold): Keyframe {
  const text = new TextEncoder().encode(JSON.stringify([saved.version, saved.shape, saved.data]));
  const { numbers, bytes } = saved;
  const plain = new Uint8Array(12 + text.length + 8 * numbers.length + bytes.length);
  const view = new DataView(plain.buffer);
  view.setUint32(0, text.length, true);
  plain.set(text, 4);
  let at = 4 + text.length;
  view.setUint32(at, numbers.length, true);
  at += 4;
  const doubles = new Uint8Array(numbers.buffer, numbers.byteOffset, numbers.byteLength);
  for (let plane = 0; plane < 8; plane++) {
    for (let i = 0; i < numbers.length; i++) plain[at++] = doubles[8 * i + plane]!;
  }
  view.setUint32(at, bytes.length, true);
  plain.set(bytes, at + 4);
  const packed = deflateRawSync(plain);
  const body = new Uint8Array(HEAD_BYTES + packed.length);
  body[0] = FORMAT;
  body.set(packed, HEAD_BYTES);
  new DataView(body.buffer).setUint32(1, checksum(ord, t_us, packed), true);
  return { ord, t_us, body };
}

/** Null where it is not what was written, or of another format. */
export function unpackKeyframe({ ord, t_us, body }: Keyframe): SavedFold | null {
  if (body.length < HEAD_BYTES || body[0] !== FORMAT) return null;
  const packed = body.subarray(HEAD_BYTES);
  const written = new DataView(body.buffer, body.byteOffset).getUint32(1, true);
  if (checksum(ord, t_us, packed) !== written) return null;
  const plain = new Uint8Array(inflateRawSync(packed));
  const view = new DataView(plain.buffer);
  const textLength = view.getUint32(0, true);
  const text = new TextDecoder().decode(plain.subarray(4, 4 + textLength));
  const [version, shape, data] = JSON.parse(text) as [number, string, string];
  let at = 4 + textLength;
  const n = view.getUint32(at, true);
  at += 4;
  const doubles = new Uint8Array(8 * n);
  for (let plane = 0; plane < 8; plane++) for (let i = 0; i < n; i++) doubles[8 * i + plane] = plain[at++]!;
  const bytes = plain.slice(at + 4, at + 4 + view.getUint32(at, true));
  return { version, shape, data, numbers: new Float64Array(doubles.buffer), bytes };
}

const place = new Float64Array(2);

function checksum(ord: number, t_us: number, packed: Uint8Array): number {
  place[0] = ord;
  place[1] = t_us;
  return crc32(packed, crc32(new Uint8Array(place.buffer)));
}
