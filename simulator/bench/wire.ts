/**
 * The serial line between bench and host: passes bytes, flips bits, loses them,
 * holds them back, and puts garbage between lines where a test asks for it.
 * Never changes their order. Acts on bytes as they are sent, so that how they
 * are taken away changes nothing.
 */
import type { RandomStream } from '../physics/random.ts';

const GROWTH = 2;
const NOTHING = new Uint8Array(0);
/** One overrun loses between these, evenly. */
const LOSS_LEAST_BYTES = 120;
const LOSS_MORE_BYTES = 400;

interface Held {
  readonly due_ms: number;
  readonly bytes: Uint8Array;
}

export class Wire {
  /** Share of bits flipped; 0 for a clean line. */
  bitErrorRate = 0;
  isDown = false;
  /** Overruns a minute. */
  lossesPerMinute = 0;
  readonly #random: RandomStream;
  #buffer = new Uint8Array(16_384);
  #length = 0;
  #bitsToNextError = Number.POSITIVE_INFINITY;
  #losing = 0;
  #delay_ms = 0;
  #toHost: Held[] = [];
  #toBench: Held[] = [];
  #nextFlush_ms = 0;
  #now_ms = 0;

  constructor(random: RandomStream) {
    this.#random = random;
  }

  setBitErrorRate(rate: number): void {
    this.bitErrorRate = rate;
    this.#bitsToNextError = rate > 0 ? this.#gap() : Number.POSITIVE_INFINITY;
  }

  /** From now on each byte takes so long, and those to the host come in bunches, half of that apart. */
  setDelay(delay_ms: number): void {
    this.#delay_ms = delay_ms;
  }

  /** A millisecond has passed: returns what now arrives at the bench. */
  tick(now_ms: number): Uint8Array {
    this.#now_ms = now_ms;
    if (this.lossesPerMinute > 0 && this.#losing === 0 && this.#random.uniform() < this.lossesPerMinute / 60_000) {
      this.#losing = LOSS_LEAST_BYTES + Math.floor(LOSS_MORE_BYTES * this.#random.uniform());
    }
    if (this.#toHost.length > 0 && now_ms >= this.#nextFlush_ms) {
      this.#nextFlush_ms = now_ms + this.#delay_ms / 2;
      for (const bytes of due(this.#toHost, now_ms)) this.#arrive(bytes);
    }
    return this.#toBench.length === 0 ? NOTHING : joined(due(this.#toBench, now_ms));
  }

  /** From the bench; bytes sent while the line is down are lost. */
  send(bytes: Uint8Array): void {
    if (this.isDown || bytes.length === 0) return;
    let kept = bytes;
    if (this.#losing > 0) {
      const lost = Math.min(this.#losing, bytes.length);
      this.#losing -= lost;
      kept = bytes.subarray(lost);
    }
    // Behind held bytes all wait their turn: the order never changes.
    if (this.#delay_ms > 0 || this.#toHost.length > 0) {
      this.#toHost.push({ due_ms: this.#now_ms + this.#delay_ms, bytes: kept.slice() });
    } else this.#arrive(kept);
  }

  /** All bytes that arrived at the host's end since the last call: a copy. */
  take(): Uint8Array {
    const bytes = this.#buffer.slice(0, this.#length);
    this.#length = 0;
    return bytes;
  }

  /** From the host: what arrives at the bench at once, or nothing. */
  receive(chunk: Uint8Array): Uint8Array {
    if (this.isDown) return NOTHING;
    let bytes = chunk;
    if (this.bitErrorRate > 0) {
      bytes = chunk.slice();
      this.#damage(bytes, 0, bytes.length);
    }
    if (this.#delay_ms === 0 && this.#toBench.length === 0) return bytes;
    this.#toBench.push({ due_ms: this.#now_ms + this.#delay_ms, bytes: bytes.slice() });
    return NOTHING;
  }

  /** `count` random bytes as a loose plug makes them. */
  garbage(count: number): void {
    const bytes = new Uint8Array(count);
    for (let i = 0; i < count; i++) bytes[i] = Math.floor(256 * this.#random.uniform());
    this.send(bytes);
  }

  #arrive(bytes: Uint8Array): void {
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

/** Takes what is due out of a queue, in order. */
function due(queue: Held[], now_ms: number): Uint8Array[] {
  let count = 0;
  while (count < queue.length && queue[count]!.due_ms <= now_ms) count++;
  return queue.splice(0, count).map((held) => held.bytes);
}

function joined(parts: readonly Uint8Array[]): Uint8Array {
  const all = new Uint8Array(parts.reduce((sum, part) => sum + part.length, 0));
  let at = 0;
  for (const part of parts) {
    all.set(part, at);
    at += part.length;
  }
  return all;
}
