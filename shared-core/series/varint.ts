/**
 * Whole numbers of up to 53 bits in as few bytes as they need: seven bits to a
 * byte, lowest first, top bit set on all but the last (LEB128). Signed ones
 * are folded first: 0, −1, 1, −2 … become 0, 1, 2, 3 ….
 */
import { DamagedBlockError } from './damaged-block.ts';

/** Grows as needed; `take` gives the bytes written. */
export class ByteWriter {
  #bytes: Uint8Array;
  #length = 0;

  constructor(capacity = 64) {
    this.#bytes = new Uint8Array(capacity);
  }

  /** Empty again, its memory kept. */
  clear(): void {
    this.#length = 0;
  }

  get length(): number {
    return this.#length;
  }

  byte(value: number): void {
    this.#reserve(1);
    this.#bytes[this.#length++] = value;
  }

  /** 0 to 2⁵³ − 1. */
  unsigned(value: number): void {
    this.#reserve(8);
    let rest = value;
    while (rest >= 128) {
      this.#bytes[this.#length++] = (rest % 128) + 128;
      rest = Math.floor(rest / 128);
    }
    this.#bytes[this.#length++] = rest;
  }

  /** −2⁵² to 2⁵² − 1. */
  signed(value: number): void {
    this.unsigned(value < 0 ? -2 * value - 1 : 2 * value);
  }

  append(bytes: Uint8Array): void {
    this.#reserve(bytes.length);
    this.#bytes.set(bytes, this.#length);
    this.#length += bytes.length;
  }

  /** The first `bits` bits of big-endian 32-bit words, in whole bytes. */
  appendBits(words: Uint32Array, bits: number): void {
    const count = Math.ceil(bits / 8);
    this.#reserve(count + 3);
    let at = this.#length;
    for (let i = 0; i < count; i += 4) {
      const word = words[i >> 2]!;
      this.#bytes[at] = word >>> 24;
      this.#bytes[at + 1] = word >>> 16;
      this.#bytes[at + 2] = word >>> 8;
      this.#bytes[at + 3] = word;
      at += 4;
    }
    this.#length += count;
  }

  /** The bytes written, not copied: until the next write. */
  view(): Uint8Array {
    return this.#bytes.subarray(0, this.#length);
  }

  take(): Uint8Array {
    return this.#bytes.slice(0, this.#length);
  }

  #reserve(more: number): void {
    if (this.#length + more <= this.#bytes.length) return;
    const larger = new Uint8Array(Math.max(this.#length + more, 2 * this.#bytes.length));
    larger.set(this.#bytes.subarray(0, this.#length));
    this.#bytes = larger;
  }
}

/** Reads what `ByteWriter` wrote. @throws DamagedBlockError past the end and for numbers above 2⁵³ */
export class ByteReader {
  readonly #bytes: Uint8Array;
  #at = 0;

  constructor(bytes: Uint8Array) {
    this.#bytes = bytes;
  }

  /** Bytes not yet read. */
  get left(): number {
    return this.#bytes.length - this.#at;
  }

  byte(): number {
    const value = this.#bytes[this.#at];
    if (value === undefined) throw new DamagedBlockError('the block ends too early');
    this.#at++;
    return value;
  }

  unsigned(): number {
    let value = 0;
    let scale = 1;
    // 53 bits are eight groups of seven; a ninth would not be exact in a double.
    for (let group = 0; group < 8; group++) {
      const byte = this.byte();
      value += (byte & 127) * scale;
      if (byte < 128) {
        if (!Number.isSafeInteger(value)) break;
        return value;
      }
      scale *= 128;
    }
    throw new DamagedBlockError('a number of the block is too large');
  }

  signed(): number {
    const folded = this.unsigned();
    return folded % 2 === 0 ? folded / 2 : -(folded + 1) / 2;
  }

  /** The next `length` bytes, not copied. */
  take(length: number): Uint8Array {
    if (length > this.left) throw new DamagedBlockError('the block ends too early');
    const bytes = this.#bytes.subarray(this.#at, this.#at + length);
    this.#at += length;
    return bytes;
  }

  /** The rest of the block, not copied. */
  rest(): Uint8Array {
    const rest = this.#bytes.subarray(this.#at);
    this.#at = this.#bytes.length;
    return rest;
  }
}
