/**
 * What is wrong with a line as such, before anything is read in it: its bytes,
 * its length, its CRC (PROTOCOL.md, parts 2 and 12). Both directions share it.
 */
import { crc16 } from './crc16.ts';
import { hex4 } from './hex.ts';
import { LINE_BYTES_MAX } from './line-buffer.ts';
import type { FaultKind, LineCounts } from './messages.ts';

const CR = 0x0d;
const SPACE = 0x20;
const TILDE = 0x7e;
const CRC_BYTES = '~0000'.length;
const EXCERPT_CHARACTERS = 80;

export type FrameFault = Extract<FaultKind, 'garbage' | 'too-long' | 'no-crc' | 'bad-crc'>;

export function zeroCounts(): LineCounts {
  return {
    accepted: 0,
    missing: 0,
    bytes: 0,
    faults: {
      garbage: 0,
      'too-long': 0,
      'no-crc': 0,
      'bad-crc': 0,
      'bad-form': 0,
      'field-count': 0,
      'before-table': 0,
      'unknown-kind': 0,
      'time-back': 0,
    },
  };
}

/** End of the line's text: the LF, or the CR before it. */
export function textEnd(bytes: Uint8Array, from: number, lf: number): number {
  return lf > from && bytes[lf - 1] === CR ? lf - 1 : lf;
}

/** The first fault, in the order of part 12, of the line from `from` to its LF; undefined if there is none. */
export function frameFault(bytes: Uint8Array, from: number, lf: number): FrameFault | undefined {
  if (lf + 1 - from > LINE_BYTES_MAX) return tooLongFault(bytes, from);
  const end = textEnd(bytes, from, lf);
  if (hasGarbage(bytes, from, end)) return 'garbage';
  const tilde = end - CRC_BYTES;
  const crc = tilde < from || bytes[tilde] !== TILDE ? -1 : hex4(bytes, tilde + 1);
  if (crc < 0) return 'no-crc';
  return crc === crc16(bytes, from, tilde) ? undefined : 'bad-crc';
}

/**
 * The fault of a line of which 512 bytes are there and no LF among them. Only
 * these bytes are looked at, so that the answer is the same whether more has
 * arrived or not: a byte of noise among them is garbage, else it is too long.
 */
export function tooLongFault(bytes: Uint8Array, from: number): FrameFault {
  const last = from + LINE_BYTES_MAX - 1;
  // A CR in the last place may have its LF behind it.
  return hasGarbage(bytes, from, bytes[last] === CR ? last : last + 1) ? 'garbage' : 'too-long';
}

/** The body of a line without a frame fault, as text. */
export function bodyText(bytes: Uint8Array, from: number, lf: number): string {
  return String.fromCharCode(...bytes.subarray(from, textEnd(bytes, from, lf) - CRC_BYTES));
}

/** At most the first 80 characters from `from` to `end`, unprintable ones as a dot. */
export function excerptOf(bytes: Uint8Array, from: number, end: number): string {
  let excerpt = '';
  for (let p = from; p < end && p < from + EXCERPT_CHARACTERS; p++) {
    const byte = bytes[p]!;
    excerpt += byte < SPACE || byte > TILDE ? '.' : String.fromCharCode(byte);
  }
  return excerpt;
}

function hasGarbage(bytes: Uint8Array, from: number, end: number): boolean {
  for (let p = from; p < end; p++) if (bytes[p]! < SPACE || bytes[p]! > TILDE) return true;
  return false;
}
