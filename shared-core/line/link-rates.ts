/**
 * Rates, loss and clock drift of the link, for the operator's eye. Nothing
 * here goes into the journal or the judgement.
 */
import type { LineCounts } from './messages.ts';

export interface LinkRatesNow {
  readonly linesPerSecond: number;
  readonly bytesPerSecond: number;
  /** Missing over sent, last 60 s, in percent. */
  readonly loss_percent: number;
  /** Bench clock against host clock, ppm, positive when the bench runs fast; NaN until known. */
  readonly drift_ppm: number;
}

const SECONDS = 60;
/** Rates are a mean over the last full seconds. */
const RATE_SECONDS = 2;

/** Delay is the least in each of these; a line is never early, only late. */
const WINDOW_us = 10_000_000;
const WINDOWS_MAX = 60;
const WINDOWS_MIN = 6;

export class LinkRates {
  readonly #lines = new Float64Array(SECONDS);
  readonly #bytes = new Float64Array(SECONDS);
  readonly #missing = new Float64Array(SECONDS);
  #second = NaN;
  #seenLines = 0;
  #seenBytes = 0;
  #seenMissing = 0;

  /** Bench time and least delay (arrival − bench time) of each full window. */
  readonly #benchAt_us: number[] = [];
  readonly #delay_us: number[] = [];
  #window = NaN;
  #leastBench_us = 0;
  #least_us = Number.POSITIVE_INFINITY;
  #drift_ppm = NaN;

  /** Takes the counts as they stand at a host time. */
  at(host_us: number, counts: LineCounts): void {
    this.#turnTo(Math.floor(host_us / 1e6));
    const slot = slotOf(this.#second);
    this.#lines[slot]! += counts.accepted - this.#seenLines;
    this.#bytes[slot]! += counts.bytes - this.#seenBytes;
    this.#missing[slot]! += counts.missing - this.#seenMissing;
    this.#seenLines = counts.accepted;
    this.#seenBytes = counts.bytes;
    this.#seenMissing = counts.missing;
  }

  /** Takes the bench time of the newest line of a chunk with the chunk's arrival. */
  delay(bench_us: number, arrived_us: number): void {
    const window = Math.floor(bench_us / WINDOW_us);
    if (window !== this.#window) {
      this.#closeWindow();
      this.#window = window;
    }
    const delay_us = arrived_us - bench_us;
    if (delay_us < this.#least_us) {
      this.#least_us = delay_us;
      this.#leastBench_us = bench_us;
    }
  }

  /** The bench's clock starts anew: its drift so far says nothing of the new one. */
  newClock(): void {
    this.#benchAt_us.length = 0;
    this.#delay_us.length = 0;
    this.#window = NaN;
    this.#least_us = Number.POSITIVE_INFINITY;
    this.#drift_ppm = NaN;
  }

  now(host_us: number): LinkRatesNow {
    this.#turnTo(Math.floor(host_us / 1e6));
    let lines = 0;
    let bytes = 0;
    for (let back = 1; back <= RATE_SECONDS; back++) {
      const slot = slotOf(this.#second - back);
      lines += this.#lines[slot]!;
      bytes += this.#bytes[slot]!;
    }
    let accepted = 0;
    let missing = 0;
    for (let slot = 0; slot < SECONDS; slot++) {
      accepted += this.#lines[slot]!;
      missing += this.#missing[slot]!;
    }
    return {
      linesPerSecond: lines / RATE_SECONDS,
      bytesPerSecond: bytes / RATE_SECONDS,
      loss_percent: missing > 0 ? (100 * missing) / (missing + accepted) : 0,
      drift_ppm: this.#drift_ppm,
    };
  }

  #turnTo(second: number): void {
    if (Number.isNaN(this.#second)) this.#second = second;
    for (let turn = Math.max(this.#second + 1, second - SECONDS + 1); turn <= second; turn++) {
      const slot = slotOf(turn);
      this.#lines[slot] = 0;
      this.#bytes[slot] = 0;
      this.#missing[slot] = 0;
    }
    if (second > this.#second) this.#second = second;
  }

  #closeWindow(): void {
    if (this.#least_us === Number.POSITIVE_INFINITY) return;
    this.#benchAt_us.push(this.#leastBench_us);
    this.#delay_us.push(this.#least_us);
    this.#least_us = Number.POSITIVE_INFINITY;
    if (this.#benchAt_us.length > WINDOWS_MAX) {
      this.#benchAt_us.shift();
      this.#delay_us.shift();
    }
    if (this.#benchAt_us.length >= WINDOWS_MIN) this.#drift_ppm = -1e6 * medianSlope(this.#benchAt_us, this.#delay_us);
  }
}

function slotOf(second: number): number {
  return ((second % SECONDS) + SECONDS) % SECONDS;
}

/**
 * Median of the slopes of all pairs: up to 29 % of the windows may be spoilt
 * (a stalled host) without moving it far.
 * Source: H. Theil 1950, P. K. Sen 1968 (from memory).
 */
export function medianSlope(x: readonly number[], y: readonly number[]): number {
  const slopes: number[] = [];
  for (let i = 0; i < x.length; i++) {
    for (let j = i + 1; j < x.length; j++) {
      const run = x[j]! - x[i]!;
      if (run !== 0) slopes.push((y[j]! - y[i]!) / run);
    }
  }
  if (slopes.length === 0) return NaN;
  slopes.sort((a, b) => a - b);
  const middle = slopes.length >> 1;
  return slopes.length % 2 === 1 ? slopes[middle]! : (slopes[middle - 1]! + slopes[middle]!) / 2;
}
