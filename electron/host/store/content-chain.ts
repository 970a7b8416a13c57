/**
 * The checksum by which a session proves that it is whole: over what was
 * recorded, not over how it is laid out. Every frame and tick, in the order in
 * which it came, is written as
 *
 *   f64 ord · f64 t_us · u32 group · u32 columns · i32 × columns · zeros up to a multiple of 8 bytes
 *
 * little-endian, and the CRC-32 of all of it so far is the chain. A block
 * carries the chain before its first frame and the chain after its last. When
 * the blocks of single commits are rewritten into a larger one, the larger one
 * has the `previous` of the first and the `checksum` of the last; the numbers
 * of the frames in between are proved by the same CRC. So a rewritten, exported
 * or salvaged recording proves the same content as the one first written.
 *
 * Ticks are frames of group 0 without columns. This finds damage, not forgery:
 * whoever can write the file can compute it.
 */
import { crc32 } from 'node:zlib';

const HEAD_WORDS = 3;

/** Frames in arrival order, in the bytes above: what the chain is made from and what blocks are filled from. */
export class FrameRows {
  /** In 8-byte words. */
  #length = 0;
  #doubles = new Float64Array(2048);
  #words = new Int32Array(this.#doubles.buffer);

  get isEmpty(): boolean {
    return this.#length === 0;
  }

  /** Bytes held. */
  get bytes(): number {
    return 8 * this.#length;
  }

  add(ord: number, t_us: number, group: number, raw: Int32Array, columns: number): void {
    const at = this.#length;
    const end = at + HEAD_WORDS + ((columns + 1) >> 1);
    if (end > this.#doubles.length) this.#grow(end);
    const words = this.#words;
    this.#doubles[at] = ord;
    this.#doubles[at + 1] = t_us;
    words[2 * at + 4] = group;
    words[2 * at + 5] = columns;
    const first = 2 * at + 6;
    for (let i = 0; i < columns; i++) words[first + i] = raw[i]!;
    if (columns & 1) words[first + columns] = 0;
    this.#length = end;
  }

  /** The chain that follows `previous` when these frames are put behind it. */
  chainAfter(previous: number): number {
    return crc32(new Uint8Array(this.#doubles.buffer, 0, 8 * this.#length), previous);
  }

  /** Each frame in order; `words[first … first + columns − 1]` are its values. */
  each(visit: (ord: number, t_us: number, group: number, columns: number, words: Int32Array, first: number) => void) {
    for (let at = 0; at < this.#length; ) {
      const columns = this.#words[2 * at + 5]!;
      visit(this.#doubles[at]!, this.#doubles[at + 1]!, this.#words[2 * at + 4]!, columns, this.#words, 2 * at + 6);
      at += HEAD_WORDS + ((columns + 1) >> 1);
    }
  }

  clear(): void {
    this.#length = 0;
  }

  #grow(words: number): void {
    const larger = new Float64Array(Math.max(words, 2 * this.#doubles.length));
    larger.set(this.#doubles.subarray(0, this.#length));
    this.#doubles = larger;
    this.#words = new Int32Array(larger.buffer);
  }
}
