/**
 * Mean and standard deviation of every channel over the last seconds, from
 * every sample, for captured points and for derived values that need a calm
 * input. Time is cut into buckets of 100 ms with the sums of each, so memory
 * does not grow with the sample rate, and nothing is allocated per sample.
 */
import type { ChannelKey } from '../channels/channel.ts';
import type { CapturedPoint } from '../journal.ts';
import type { FoldMemory } from '../pipeline/fold-memory.ts';

export const BUCKET_us = 100_000;
/** A point covers this; its first bucket begins up to one bucket later. */
export const POINT_WINDOW_s = 5;
const KEPT = (POINT_WINDOW_s * 1e6) / BUCKET_us;

export class PointWindow {
  readonly #keys: readonly ChannelKey[];
  readonly #n: number;
  // By bucket slot, then channel. Sums are of the distance to the bucket's first sample: no cancellation.
  readonly #count: Float64Array;
  readonly #bad: Uint8Array;
  readonly #first: Float64Array;
  readonly #sum: Float64Array;
  readonly #squares: Float64Array;
  /** Number of the present bucket; −1 before the first sample. */
  #bucket = -1;
  #begin_us = NaN;

  constructor(keys: readonly ChannelKey[]) {
    this.#keys = keys;
    this.#n = keys.length;
    const places = KEPT * this.#n;
    this.#count = new Float64Array(places);
    this.#bad = new Uint8Array(places);
    this.#first = new Float64Array(places);
    this.#sum = new Float64Array(places);
    this.#squares = new Float64Array(places);
  }

  /** Moves on to the bucket of `t_us`; returns whether it is a new one. To be called before `add`. */
  moveTo(t_us: number): boolean {
    const bucket = Math.floor(t_us / BUCKET_us);
    if (bucket === this.#bucket) return false;
    if (this.#bucket < 0) this.#begin_us = t_us;
    for (let each = Math.max(this.#bucket + 1, bucket - KEPT + 1); each <= bucket; each++) {
      const from = (each % KEPT) * this.#n;
      this.#count.fill(0, from, from + this.#n);
      this.#bad.fill(0, from, from + this.#n);
    }
    this.#bucket = bucket;
    return true;
  }

  /** One sample of each of these channels, from an array by ordinal. */
  addAll(ordinals: Int32Array, values: Float64Array): void {
    for (let i = 0; i < ordinals.length; i++) this.add(ordinals[i]!, values[ordinals[i]!]!);
  }

  /** One sample of each channel from `from` on that was updated at `t_us`. */
  addFresh(from: number, t_us: number, updated_us: Float64Array, values: Float64Array): void {
    for (let i = from; i < this.#n; i++) if (updated_us[i] === t_us) this.add(i, values[i]!);
  }

  /** One sample of a channel; NaN is one that is not good. */
  add(ordinal: number, value: number): void {
    const at = (this.#bucket % KEPT) * this.#n + ordinal;
    if (Number.isNaN(value)) {
      this.#bad[at] = 1;
      return;
    }
    const count = this.#count[at]!;
    if (count === 0) {
      this.#count[at] = 1;
      this.#first[at] = value;
      this.#sum[at] = 0;
      this.#squares[at] = 0;
      return;
    }
    const distance = value - this.#first[at]!;
    this.#count[at] = count + 1;
    this.#sum[at] = this.#sum[at]! + distance;
    this.#squares[at] = this.#squares[at]! + distance * distance;
  }

  /** Mean over the last `buckets` full buckets; NaN without a sample, or when any of them was not good. */
  mean(ordinal: number, buckets: number): number {
    let count = 0;
    let sum = 0;
    for (let bucket = Math.max(0, this.#bucket - buckets); bucket < this.#bucket; bucket++) {
      const at = (bucket % KEPT) * this.#n + ordinal;
      if (this.#bad[at] !== 0) return NaN;
      const n = this.#count[at]!;
      if (n === 0) continue;
      count += n;
      sum += n * this.#first[at]! + this.#sum[at]!;
    }
    return count > 0 ? sum / count : NaN;
  }

  remember(memory: FoldMemory): void {
    memory.part('window');
    // What stands in an empty bucket counts for nothing, and would only make the record longer.
    for (let at = 0; at < this.#count.length; at++) {
      if (this.#count[at] === 0) this.#first[at] = this.#sum[at] = this.#squares[at] = 0;
    }
    for (const each of [this.#count, this.#bad, this.#first, this.#sum, this.#squares]) memory.array(each);
    this.#bucket = memory.number(this.#bucket);
    this.#begin_us = memory.number(this.#begin_us);
  }

  /** The average of every channel over the window that ends at `t_us`. */
  capture(name: string, t_us: number): CapturedPoint {
    const last = Math.floor(t_us / BUCKET_us);
    const means: Record<string, { readonly mean: number; readonly sd: number } | null> = {};
    let samples = 0;
    for (let ordinal = 0; ordinal < this.#n; ordinal++) {
      const { count, mean, squares, isGood } = this.#pooled(ordinal, last - KEPT + 1);
      if (count > samples) samples = count;
      means[this.#keys[ordinal]!] = isGood && count >= 2 ? { mean, sd: Math.sqrt(squares / (count - 1)) } : null;
    }
    const from_us = this.#bucket < 0 ? t_us : Math.max(this.#begin_us, (last - KEPT + 1) * BUCKET_us);
    return { name, from_us, to_us: t_us, samples, means };
  }

  /**
   * The buckets of one channel put together by their centred moments.
   * Source: Chan, Golub, LeVeque 1979, pairwise updating (from memory).
   */
  #pooled(ordinal: number, from: number): { count: number; mean: number; squares: number; isGood: boolean } {
    let count = 0;
    let mean = 0;
    let squares = 0;
    let isGood = true;
    for (let bucket = Math.max(0, from, this.#bucket - KEPT + 1); bucket <= this.#bucket; bucket++) {
      const at = (bucket % KEPT) * this.#n + ordinal;
      if (this.#bad[at] !== 0) isGood = false;
      const n = this.#count[at]!;
      if (n === 0) continue;
      const bucketMean = this.#first[at]! + this.#sum[at]! / n;
      const bucketSquares = Math.max(0, this.#squares[at]! - (this.#sum[at]! * this.#sum[at]!) / n);
      const distance = bucketMean - mean;
      const all = count + n;
      squares += bucketSquares + ((count * n) / all) * distance * distance;
      mean += (distance * n) / all;
      count = all;
    }
    return { count, mean, squares, isGood };
  }
}
