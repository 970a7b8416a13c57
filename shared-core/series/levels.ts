/**
 * Min/max/mean/count pyramid of one column, built as samples come: level 0 has
 * an entry for every 32 samples, each level above one for every four entries
 * below. Where entries are kept is the sink's matter, so that the builder's
 * memory does not grow with the recording. Drawing from a pyramid is in
 * `min-max-per-pixel.ts`.
 *
 * A sample that is no number (NaN, or a state code in raw columns) takes its
 * place in an entry but counts for nothing: `count` is the number of good
 * samples, and an entry without any has min, max and mean NaN.
 */
import { RAW_MAX } from '../channels/quality.ts';

export const BASE_SAMPLES = 32;
export const FAN_OUT = 4;
/** 32 · 4¹³ samples to an entry at the top: more than any recording has. */
const MOST_LEVELS = 14;

/** Samples to one full entry of a level. */
export function samplesPerEntry(level: number): number {
  return BASE_SAMPLES * FAN_OUT ** level;
}

export interface LevelSink {
  /** Entries of a level come in order, `index` from 0; the last of a level may be of fewer samples (`flush`). */
  entry(level: number, index: number, min: number, max: number, mean: number, count: number): void;
}

export class LevelBuilder {
  readonly #sink: LevelSink;
  // One open entry per level.
  readonly #min = new Float64Array(MOST_LEVELS);
  readonly #max = new Float64Array(MOST_LEVELS);
  readonly #sum = new Float64Array(MOST_LEVELS);
  readonly #count = new Float64Array(MOST_LEVELS);
  /** Samples (level 0) or entries below (others) taken in so far. */
  readonly #parts = new Float64Array(MOST_LEVELS);
  readonly #index = new Float64Array(MOST_LEVELS);

  constructor(sink: LevelSink) {
    this.#sink = sink;
    for (let level = 0; level < MOST_LEVELS; level++) this.#open(level);
  }

  /** Samples taken so far. */
  get samples(): number {
    return this.#index[0]! * BASE_SAMPLES + this.#parts[0]!;
  }

  /** Values of a calibrated column; NaN is no number. */
  pushValues(values: Float64Array, n: number = values.length): void {
    for (let i = 0; i < n; ) {
      const end = Math.min(n, i + BASE_SAMPLES - this.#parts[0]!);
      let min = this.#min[0]!;
      let max = this.#max[0]!;
      let sum = this.#sum[0]!;
      let count = 0;
      for (let j = i; j < end; j++) {
        const value = values[j]!;
        if (value < min) min = value;
        if (value > max) max = value;
        if (!Number.isNaN(value)) {
          sum += value;
          count++;
        }
      }
      this.#take(min, max, sum, count, end - i);
      i = end;
    }
  }

  /** Scaled integers of a raw column; state codes are no numbers. */
  pushRaw(raw: Int32Array, n: number = raw.length): void {
    for (let i = 0; i < n; ) {
      const end = Math.min(n, i + BASE_SAMPLES - this.#parts[0]!);
      let min = this.#min[0]!;
      let max = this.#max[0]!;
      let sum = this.#sum[0]!;
      let count = 0;
      for (let j = i; j < end; j++) {
        const value = raw[j]!;
        if (value < -RAW_MAX) continue;
        if (value < min) min = value;
        if (value > max) max = value;
        sum += value;
        count++;
      }
      this.#take(min, max, sum, count, end - i);
      i = end;
    }
  }

  /** Hands out the open entries at the end of a recording. Nothing may be pushed after it. */
  flush(): void {
    for (let level = 0; level < MOST_LEVELS; level++) {
      if (this.#parts[level]! > 0) this.#close(level);
      // A single entry has all there is: no level above it.
      if (this.#index[level]! <= 1) return;
    }
  }

  #take(min: number, max: number, sum: number, count: number, samples: number): void {
    this.#min[0] = min;
    this.#max[0] = max;
    this.#sum[0] = sum;
    this.#count[0] = this.#count[0]! + count;
    this.#parts[0] = this.#parts[0]! + samples;
    for (let level = 0; level < MOST_LEVELS - 1; level++) {
      if (this.#parts[level]! < (level === 0 ? BASE_SAMPLES : FAN_OUT)) return;
      this.#close(level);
    }
  }

  #close(level: number): void {
    const min = this.#min[level]!;
    const max = this.#max[level]!;
    const sum = this.#sum[level]!;
    const count = this.#count[level]!;
    const isEmpty = count === 0;
    this.#sink.entry(level, this.#index[level]!, isEmpty ? NaN : min, isEmpty ? NaN : max, sum / count, count);
    this.#index[level] = this.#index[level]! + 1;
    this.#open(level);
    const above = level + 1;
    if (above >= MOST_LEVELS) return;
    if (min < this.#min[above]!) this.#min[above] = min;
    if (max > this.#max[above]!) this.#max[above] = max;
    this.#sum[above] = this.#sum[above]! + sum;
    this.#count[above] = this.#count[above]! + count;
    this.#parts[above] = this.#parts[above]! + 1;
  }

  #open(level: number): void {
    this.#min[level] = Number.POSITIVE_INFINITY;
    this.#max[level] = Number.NEGATIVE_INFINITY;
    this.#sum[level] = 0;
    this.#count[level] = 0;
    this.#parts[level] = 0;
  }
}

/** One level in memory. */
export interface Level {
  readonly samplesPerEntry: number;
  /** Entries in the arrays that are valid. */
  readonly entries: number;
  readonly min: Float64Array;
  readonly max: Float64Array;
  readonly mean: Float64Array;
  readonly count: Float64Array;
}

/** A sink that keeps all entries in arrays that grow; for what fits in memory. */
export class MemoryLevels implements LevelSink {
  readonly #levels: { -readonly [K in keyof Level]: Level[K] }[] = [];

  get levels(): readonly Level[] {
    return this.#levels;
  }

  entry(level: number, index: number, min: number, max: number, mean: number, count: number): void {
    let at = this.#levels[level];
    if (!at) {
      at = {
        samplesPerEntry: samplesPerEntry(level),
        entries: 0,
        min: new Float64Array(64),
        max: new Float64Array(64),
        mean: new Float64Array(64),
        count: new Float64Array(64),
      };
      this.#levels[level] = at;
    }
    if (index >= at.min.length) {
      at.min = doubled(at.min);
      at.max = doubled(at.max);
      at.mean = doubled(at.mean);
      at.count = doubled(at.count);
    }
    at.min[index] = min;
    at.max[index] = max;
    at.mean[index] = mean;
    at.count[index] = count;
    at.entries = index + 1;
  }
}

function doubled(array: Float64Array): Float64Array {
  const larger = new Float64Array(2 * array.length);
  larger.set(array);
  return larger;
}
