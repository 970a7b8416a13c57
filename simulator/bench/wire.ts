/**
 * The serial line between bench and host: passes bytes, flips bits, drops them,
 * and puts garbage between lines where a test asks for it. Acts on bytes as
 * they are sent, so that how they are taken away changes nothing.
 */
import type { RandomStream } from '../physics/random.ts';

const GROWTH = 2;

export class Wire {
  /** Share of bits flipped; 0 for a clean line. */
  bitErrorRate = 0;
  isDown = false;
  readonly #random: RandomStream;
  #buffer = new Uint8Array(16_384);
  #length = 0;
  #bitsToNextError = Number.POSITIVE_INFINITY;

  constructor(random: RandomStream) {
    this.#random = random;
  }

  setBitErrorRate(rate: number): void {
    this.bitErrorRate = rate;
    this.#bitsToNextError = rate > 0 ? this.#gap() : Number.POSITIVE_INFINITY;
  }

  /** From the bench; bytes sent while the line is down are lost. */
  send(bytes: Uint8Array): void {
    if (this.isDown || bytes.length === 0) return;
    const end = this.#length + bytes.length;
    if (end > this.#buffer.length) {
      const larger = new Uint8Array(Math.max(end, this.#buffer.length * GROWTH));
      larger.set(this.#buffer.subarray(0, this.#length));
      this.#buffer = larger;
    }
    this.#buffer.set(bytes, this.#length);
    this.#damage(this.#buffer, this.#length, end);
    this.#length = end;
  }

  /** All bytes that arrived at the host's end since the last call: a copy. */
  take(): Uint8Array {
    const bytes = this.#buffer.slice(0, this.#length);
    this.#length = 0;
    return bytes;
  }

  /** From the host: what arrives at the bench, or nothing. */
  receive(chunk: Uint8Array): Uint8Array {
    if (this.isDown) return new Uint8Array(0);
    if (this.bitErrorRate === 0) return chunk;
    const bytes = chunk.slice();
    this.#damage(bytes, 0, bytes.length);
    return bytes;
  }

  /** `count` random bytes as a loose plug makes them. */
  garbage(count: number): void {
    const bytes = new Uint8Array(count);
    for (let i = 0; i < count; i++) bytes[i] = Math.floor(256 * this.#random.uniform());
    this.send(bytes);
  }

  /** Counts down to the next flipped bit instead of asking at every bit. */
  #damage(bytes: Uint8Array, from: number, to: number): void {
    let bit = from * 8;
    const end = to * 8;
    while (this.#bitsToNextError < end - bit) {
      bit += this.#bitsToNextError;
      bytes[bit >> 3] = bytes[bit >> 3]! ^ (1 << (bit & 7));
      bit++;
      this.#bitsToNextError = this.#gap();
    }
    this.#bitsToNextError -= end - bit;
  }

  /** Bits until the next error: geometric, so that each bit has the same chance. */
  #gap(): number {
    return Math.floor(Math.log(1 - this.#random.uniform()) / Math.log(1 - this.bitErrorRate));
  }
}
