/**
 * Slope of a channel over the last seconds, by least squares, as samples come.
 *
 * The window is cut into a fixed number of bins; each keeps the centred
 * moments of its samples, so memory is bounded at any rate, nothing is
 * allocated after construction, and no running sum drifts: the moments of the
 * full bins are put together anew whenever a bin is full. The window thus
 * covers between (1 − 1/BINS) and 1 of `window_s`.
 *
 * Source of the combination of centred moments: T. F. Chan, G. H. Golub,
 * R. J. LeVeque, Updating formulae and a pairwise algorithm for computing
 * sample variances, 1979 (from memory). Checked against NIST StRD.
 */
import type { FoldMemory } from '../pipeline/fold-memory.ts';

const BINS = 32;

export interface SlopeWindow {
  readonly window_s: number;
  /** No slope until the samples span this; by default half the window. */
  readonly leastSpan_s?: number;
  /** A pause longer than this starts anew; by default half the window. */
  readonly mostGap_s?: number;
}

export class SlidingSlope {
  readonly #bin_us: number;
  readonly #leastSpan_s: number;
  readonly #mostGap_us: number;

  // One slot per bin. A slot is live while its number is above newest − BINS.
  readonly #number = new Float64Array(BINS);
  readonly #first_s = new Float64Array(BINS);
  readonly #count = new Float64Array(BINS);
  readonly #meanT = new Float64Array(BINS);
  readonly #meanV = new Float64Array(BINS);
  readonly #sumTT = new Float64Array(BINS);
  readonly #sumTV = new Float64Array(BINS);

  // Scalars live in typed arrays too: numbers that are not small integers would otherwise be boxed at each store.
  /** origin_us, last_us, newest bin number. */
  readonly #at = new Float64Array(3);
  /** Full live bins together: count, mean t, mean v, Σtt, Σtv, first t. */
  readonly #past = new Float64Array(6);

  /** @throws RangeError if the window is not above 0 */
  constructor(options: SlopeWindow) {
    if (!(options.window_s > 0)) throw new RangeError(`window_s: expected more than 0, got ${options.window_s}`);
    this.#bin_us = (options.window_s * 1e6) / BINS;
    this.#leastSpan_s = options.leastSpan_s ?? options.window_s / 2;
    this.#mostGap_us = (options.mostGap_s ?? options.window_s / 2) * 1e6;
    this.reset();
  }

  /** Forgets everything. */
  reset(): void {
    this.#number.fill(Number.NEGATIVE_INFINITY);
    this.#count.fill(0);
    this.#past.fill(0);
    this.#at[0] = NaN;
    this.#at[1] = NaN;
    this.#at[2] = Number.NEGATIVE_INFINITY;
  }

  /**
   * Takes one sample and returns the slope, in value units per second.
   * A NaN value is left out, but its time counts: after a pause of
   * `mostGap_s` there is no slope. Time that goes back starts anew.
   */
  push(t_us: number, value: number): number {
    const at = this.#at;
    const pause_us = t_us - at[1]!;
    if (pause_us < 0 || pause_us > this.#mostGap_us) this.reset();
    if (Number.isNaN(value)) return this.slope();
    if (Number.isNaN(at[0]!)) at[0] = t_us;
    at[1] = t_us;
    const elapsed_us = t_us - at[0]!;
    const number = Math.floor(elapsed_us / this.#bin_us);
    const slot = number % BINS;
    if (number !== at[2]!) this.#open(number, slot, elapsed_us / 1e6);
    this.#add(slot, elapsed_us / 1e6, value);
    return this.slope();
  }

  /** Slope as of the last sample; NaN until the samples span enough. */
  slope(): number {
    const newest = this.#at[2]!;
    if (!(newest >= 0)) return NaN;
    const slot = newest % BINS;
    const past = this.#past;
    const m = this.#count[slot]!;
    const n = past[0]!;
    const first_s = n > 0 ? past[5]! : this.#first_s[slot]!;
    const span_s = (this.#at[1]! - this.#at[0]!) / 1e6 - first_s;
    if (!(span_s > 0 && span_s >= this.#leastSpan_s)) return NaN;
    const share = (n * m) / (n + m);
    const dT = this.#meanT[slot]! - past[1]!;
    const dV = this.#meanV[slot]! - past[2]!;
    const tt = past[3]! + this.#sumTT[slot]! + share * dT * dT;
    const tv = past[4]! + this.#sumTV[slot]! + share * dT * dV;
    return tt > 0 ? tv / tt : NaN;
  }

  remember(memory: FoldMemory): void {
    for (const each of [this.#number, this.#first_s, this.#count, this.#meanT, this.#meanV, this.#sumTT, this.#sumTV]) {
      memory.array(each);
    }
    memory.array(this.#at);
    memory.array(this.#past);
  }

  /** Begins a bin, and puts the moments of the bins before it together anew. */
  #open(number: number, slot: number, first_s: number): void {
    this.#past.fill(0);
    const oldest = number - BINS + 1;
    for (let bin = Math.max(0, oldest); bin < number; bin++) {
      const each = bin % BINS;
      if (this.#number[each] === bin) this.#fold(each);
    }
    this.#at[2] = number;
    this.#number[slot] = number;
    this.#first_s[slot] = first_s;
    this.#count[slot] = 0;
    this.#meanT[slot] = 0;
    this.#meanV[slot] = 0;
    this.#sumTT[slot] = 0;
    this.#sumTV[slot] = 0;
  }

  #fold(slot: number): void {
    const past = this.#past;
    const n = past[0]!;
    const m = this.#count[slot]!;
    if (n === 0) past[5] = this.#first_s[slot]!;
    const dT = this.#meanT[slot]! - past[1]!;
    const dV = this.#meanV[slot]! - past[2]!;
    const all = n + m;
    past[0] = all;
    past[3] = past[3]! + this.#sumTT[slot]! + ((n * m) / all) * dT * dT;
    past[4] = past[4]! + this.#sumTV[slot]! + ((n * m) / all) * dT * dV;
    past[1] = past[1]! + (dT * m) / all;
    past[2] = past[2]! + (dV * m) / all;
  }

  #add(slot: number, t_s: number, value: number): void {
    const n = this.#count[slot]! + 1;
    const dT = t_s - this.#meanT[slot]!;
    const meanV = this.#meanV[slot]!;
    this.#count[slot] = n;
    this.#meanT[slot] = this.#meanT[slot]! + dT / n;
    this.#meanV[slot] = meanV + (value - meanV) / n;
    // One deviation from the old mean, one from the new (Welford).
    this.#sumTT[slot] = this.#sumTT[slot]! + dT * (t_s - this.#meanT[slot]!);
    this.#sumTV[slot] = this.#sumTV[slot]! + dT * (value - this.#meanV[slot]!);
  }
}
