/**
 * Cuts a byte stream at LF. Bytes are copied once into a fixed buffer, so that
 * a line that came in pieces lies in one stretch like any other and the buffer
 * can be read by words. Between calls less than one line (512 B) is held,
 * however long the other end goes without LF.
 *
 * What a line says, and what is counted, is left to the users of the buffer.
 */

/** PROTOCOL.md, part 2: LF and CR included. */
export const LINE_BYTES_MAX = 512;
const LF = 0x0a;
/** Small enough to stay in the first-level cache beside the CRC tables. */
const CAPACITY = 8192;
/** Readers by words, and of a line's head, may look this far past the last byte held. */
const MARGIN = 32;
/** All the memory that a buffer ever takes for bytes. */
export const BUFFER_BYTES: number = CAPACITY + MARGIN;

export class LineBuffer {
  readonly bytes = new Uint8Array(BUFFER_BYTES);
  readonly view = new DataView(this.bytes.buffer);
  /** First byte of the line that is next. Users move it forward as they take lines. */
  from = 0;
  /** Position of the last LF held, or −1: every line up to there is whole. */
  lastLf = -1;
  #end = 0;
  #dropping = false;

  /** Bytes of the unfinished line that wait for their LF. */
  get held(): number {
    return this.#end - this.from;
  }

  /** True when the unfinished line can no longer become a good one. */
  get isTooLong(): boolean {
    return this.#end - this.from >= LINE_BYTES_MAX;
  }

  /**
   * Takes what fits of `chunk` from `at` on and returns how many bytes that
   * was, at least 1. All whole lines must be taken, and a line that is too
   * long dropped, before the next call.
   */
  fill(chunk: Uint8Array, at: number): number {
    if (this.#dropping) return this.#dropUpToLf(chunk, at);
    if (this.from === this.#end) {
      this.from = 0;
      this.#end = 0;
    }
    const offered = chunk.length - at;
    if (offered > CAPACITY - this.#end && this.from > 0) {
      this.bytes.copyWithin(0, this.from, this.#end);
      this.#end -= this.from;
      this.from = 0;
    }
    const start = this.#end;
    const count = Math.min(offered, CAPACITY - start);
    this.bytes.set(count === chunk.length ? chunk : chunk.subarray(at, at + count), start);
    this.#end = start + count;
    let p = this.#end - 1;
    while (p >= start && this.bytes[p] !== LF) p--;
    this.lastLf = p >= start ? p : -1;
    return count;
  }

  /** Drops the unfinished line, and all that follows up to the next LF. */
  dropLine(): void {
    this.clear();
    this.#dropping = true;
  }

  /** Forgets all that is held; the next byte begins a line. */
  clear(): void {
    this.from = 0;
    this.#end = 0;
    this.lastLf = -1;
    this.#dropping = false;
  }

  #dropUpToLf(chunk: Uint8Array, at: number): number {
    const lf = chunk.indexOf(LF, at);
    if (lf < 0) return chunk.length - at;
    this.#dropping = false;
    return lf + 1 - at;
  }
}
