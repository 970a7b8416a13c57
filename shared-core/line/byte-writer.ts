/**
 * Writes lines into a growing byte buffer and closes each with its CRC and LF
 * (PROTOCOL.md, part 2). A line that is begun and not ended is as if it had
 * never been: an argument found wrong half-way leaves nothing behind.
 */
import { crc16 } from './crc16.ts';
import { LINE_BYTES_MAX } from './line-buffer.ts';

const LF = 0x0a;
const SPACE = 0x20;
const MINUS = 0x2d;
const ZERO = 0x30;
const TILDE = 0x7e;
const CRC_AND_LF_BYTES = 6;
const FIRST_CAPACITY = 4096;
const hexDigits = Uint8Array.from('0123456789ABCDEF', (digit) => digit.charCodeAt(0));

export class ByteWriter {
  #bytes = new Uint8Array(FIRST_CAPACITY);
  /** End of the lines that are ended. */
  #ended = 0;
  #at = 0;

  /** Bytes of whole lines that wait to be taken. */
  get length(): number {
    return this.#ended;
  }

  /** Begins a line; one that was begun and not ended is forgotten. */
  begin(kind: string): void {
    this.#at = this.#ended;
    this.#room();
    this.#bytes[this.#at++] = kind.charCodeAt(0);
  }

  /** A space and `digits` upper-case hex digits of the 32-bit `value`. */
  hex(value: number, digits: number): void {
    this.#bytes[this.#at++] = SPACE;
    for (let shift = 4 * (digits - 1); shift >= 0; shift -= 4) {
      this.#bytes[this.#at++] = hexDigits[(value >>> shift) & 15]!;
    }
  }

  /** A space and a decimal integer within ±2^31. */
  integer(value: number): void {
    this.#room();
    const bytes = this.#bytes;
    bytes[this.#at++] = SPACE;
    let rest = value;
    if (rest < 0) {
      bytes[this.#at++] = MINUS;
      rest = -rest;
    }
    let digits = 1;
    for (let power = 10; power <= rest; power *= 10) digits++;
    for (let p = this.#at + digits - 1; p >= this.#at; p--) {
      const tenth = Math.floor(rest / 10);
      bytes[p] = ZERO + rest - 10 * tenth;
      rest = tenth;
    }
    this.#at += digits;
  }

  /** A space and printable ASCII. */
  text(text: string): void {
    this.#room(text.length);
    this.#bytes[this.#at++] = SPACE;
    for (let i = 0; i < text.length; i++) this.#bytes[this.#at++] = text.charCodeAt(i);
  }

  /**
   * Closes the line with its CRC and LF.
   * @throws RangeError if the line is longer than 512 bytes; it is then forgotten
   */
  end(): void {
    const length = this.#at + CRC_AND_LF_BYTES - this.#ended;
    if (length > LINE_BYTES_MAX) {
      throw new RangeError(`expected a line of at most ${LINE_BYTES_MAX} bytes, got ${length}`);
    }
    const crc = crc16(this.#bytes, this.#ended, this.#at);
    this.#bytes[this.#at++] = TILDE;
    for (let shift = 12; shift >= 0; shift -= 4) this.#bytes[this.#at++] = hexDigits[(crc >>> shift) & 15]!;
    this.#bytes[this.#at++] = LF;
    this.#ended = this.#at;
  }

  /** The lines ended since the last call, as bytes of the caller's own. */
  take(): Uint8Array {
    const taken = this.#bytes.slice(0, this.#ended);
    this.#ended = 0;
    this.#at = 0;
    return taken;
  }

  /** Room for `count` bytes and a little more: a field that is short, and the line's end. */
  #room(count = 0): void {
    const needed = this.#at + count + 64;
    if (needed <= this.#bytes.length) return;
    const larger = new Uint8Array(Math.max(needed, 2 * this.#bytes.length));
    larger.set(this.#bytes);
    this.#bytes = larger;
  }
}
