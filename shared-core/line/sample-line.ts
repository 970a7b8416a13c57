/**
 * The one way through a good `S` line: a single pass, no string, no object.
 * `read` accepts exactly the lines that have a right CRC and the right form;
 * that the table explains them, and that time runs forward, is judged by
 * `decoder.ts`, and the naming of what is wrong with the others by `frame.ts`.
 *
 * Why it looks like this: a number can only be read when the end of the one
 * before it is known. Up to four digits are therefore taken as one word, and
 * the CRC of bytes already passed is woven in, to fill the wait. Measured by
 * `tests/bench/decode.ts`.
 */
import { RAW_MAX, rawOfQuality, stateLetters } from '../channels/quality.ts';
import { CRC_INIT, crcContinued, crcSlices } from './crc16.ts';
import { hex4 } from './hex.ts';
import { LINE_BYTES_MAX } from './line-buffer.ts';

/** No line holds more: a value takes a digit and a space at least. */
const VALUES_MAX = LINE_BYTES_MAX / 2;

const LF = 0x0a;
const CR = 0x0d;
const SPACE = 0x20;
const MINUS = 0x2d;
const ZERO = 0x30;
const TILDE = 0x7e;
/** The bytes of "S " as a little-endian word. */
const S_SPACE = 0x2053;
const FOUR_ZEROS = 0x30303030;
const HEAD_BYTES = 'S 0000 00000000 1 '.length;

/** Raw code of a state letter by its byte, 0 for any other byte. */
const stateCodes = new Int32Array(256);
for (const [letter, code] of Object.entries(stateLetters)) stateCodes[letter.charCodeAt(0)] = rawOfQuality(code);

export class SampleLine {
  /** What the last line accepted by `read` holds. */
  seq = 0;
  /** Bench microseconds modulo 2^32, as a signed integer. */
  time_us = 0;
  group = 0;
  count = 0;
  /** Scaled integers or state codes (quality.ts), `count` of them. */
  readonly raw = new Int32Array(VALUES_MAX);

  /**
   * Reads the line that begins at `from`. An LF must stand somewhere behind
   * it, and 32 bytes of the array behind that. Returns where the next line
   * begins, or −1 if this is not a good `S` line.
   */
  read(bytes: Uint8Array, view: DataView, from: number): number {
    if (view.getUint16(from, true) !== S_SPACE) return -1;
    const seq = hex4(bytes, from + 2);
    const timeHigh = hex4(bytes, from + 7);
    const timeLow = hex4(bytes, from + 11);
    const group = bytes[from + 16]! - ZERO;
    const notSpace = (bytes[from + 6]! ^ SPACE) | (bytes[from + 15]! ^ SPACE) | (bytes[from + 17]! ^ SPACE);
    if ((seq | timeHigh | timeLow) < 0 || notSpace !== 0 || group < 1 || group > 9) return -1;

    const raw = this.raw;
    let crc = CRC_INIT;
    let crcAt = from;
    let count = 0;
    let p = from + HEAD_BYTES;
    for (;;) {
      // A digit becomes 0 to 9; bit 7 of each byte of `others` says that it was none.
      let word = view.getInt32(p, true) ^ FOUR_ZEROS;
      let others = ((word + 0x76767676) | word) & 0x80808080;
      if (crcAt + 4 <= p) {
        const passed = view.getInt32(crcAt, true);
        crc =
          crcSlices[0x300 | ((passed & 0xff) ^ (crc >>> 8))]! ^
          crcSlices[0x200 | (((passed >>> 8) ^ crc) & 0xff)]! ^
          crcSlices[0x100 | ((passed >>> 16) & 0xff)]! ^
          crcSlices[passed >>> 24]!;
        crcAt += 4;
      }
      let isNegative = false;
      if ((others & 0x80) !== 0) {
        if (bytes[p] !== MINUS) {
          const code = stateCodes[bytes[p]!]!;
          if (code === 0) return -1;
          raw[count++] = code;
          p++;
          if (bytes[p] !== SPACE) break;
          p++;
          continue;
        }
        isNegative = true;
        p++;
        word = view.getInt32(p, true) ^ FOUR_ZEROS;
        others = ((word + 0x76767676) | word) & 0x80808080;
        // Neither a lone sign nor −0 is a number.
        if ((others & 0x80) !== 0 || (word & 0xff) === 0) return -1;
      }
      let value: number;
      if (others !== 0) {
        // One to three digits: those in front of the lowest flag, moved to the word's upper end.
        const shift = Math.clz32(others & -others) + 8;
        if ((word & 0xff) === 0 && shift !== 24) return -1;
        const digits = word << shift;
        const pairs = Math.imul(digits, 10) + (digits >>> 8);
        value = (pairs & 0xff) * 100 + ((pairs >>> 16) & 0xff);
        p += (32 - shift) >>> 3;
      } else {
        if ((word & 0xff) === 0) return -1;
        const pairs = Math.imul(word, 10) + (word >>> 8);
        value = (pairs & 0xff) * 100 + ((pairs >>> 16) & 0xff);
        p += 4;
        // Written out as far as values of an engine go: the branches are then learnt one by one.
        let digit = bytes[p]! - ZERO;
        if (digit >>> 0 <= 9) {
          value = value * 10 + digit;
          digit = bytes[++p]! - ZERO;
          if (digit >>> 0 <= 9) {
            value = value * 10 + digit;
            digit = bytes[++p]! - ZERO;
            if (digit >>> 0 <= 9) {
              value = value * 10 + digit;
              const tenDigitsEnd = p + 4;
              digit = bytes[++p]! - ZERO;
              while (digit >>> 0 <= 9 && p < tenDigitsEnd) {
                value = value * 10 + digit;
                digit = bytes[++p]! - ZERO;
              }
              if (value > RAW_MAX) return -1;
            }
          }
        }
      }
      raw[count++] = isNegative ? -value : value;
      if (bytes[p] !== SPACE) break;
      p++;
    }
    if (bytes[p] !== TILDE || hex4(bytes, p + 1) !== crcContinued(crc, bytes, crcAt, p)) return -1;
    p += 5;
    if (bytes[p] === CR) p++;
    if (bytes[p] !== LF || p + 1 - from > LINE_BYTES_MAX) return -1;
    this.seq = seq;
    this.time_us = (timeHigh << 16) | timeLow;
    this.group = group;
    this.count = count;
    return p + 1;
  }
}
