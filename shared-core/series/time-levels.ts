/**
 * Levels of a rate group for drawing long recordings: minimum, maximum, mean
 * and count of every column per stretch of time, built as frames come. A step
 * of level 0 is `base_us` long and begins at a whole multiple of it in session
 * time; a step of each level above is `FAN_OUT` of those below. Steps by time,
 * not by number of samples, make a pixel's steps a division away, and a gap in
 * the recording costs nothing.
 *
 * Steps leave in chunks of `CHUNK_STEPS`, each column by itself, packed by
 * `level-chunk.ts`. A chunk is handed out when it is complete, so a chunk that
 * is there is whole, and for one that is not there the level below (at last
 * the samples) is asked. Memory does not grow with the recording.
 *
 * A state code (channels/quality.ts) is no number: it counts for nothing.
 */
import { RAW_MAX } from '../channels/quality.ts';

export const FAN_OUT = 4;
export const CHUNK_STEPS = 256;
/** A step of the top level holds 4¹¹ steps of level 0: a month at the usual 0.64 s. */
export const MOST_LEVELS = 12;
/** Frames of the group to one step of level 0, at its nominal rate. */
export const BASE_FRAMES = 64;

/** Length of a step of level 0 for a group of this rate. Rates unknown or absurd are taken as 100 Hz. */
export function baseOfRate_us(rate_mHz: number): number {
  const period_us = rate_mHz > 0 && rate_mHz <= 1e9 ? 1e9 / rate_mHz : 10_000;
  return Math.max(1, Math.round(BASE_FRAMES * period_us));
}

export function stepOfLevel_us(base_us: number, level: number): number {
  return base_us * FAN_OUT ** level;
}

/** A chunk of one column in memory: place i is step `chunk · CHUNK_STEPS + i`; the others are valid where count > 0. */
export interface LevelChunk {
  readonly min: Int32Array;
  readonly max: Int32Array;
  /** Mean of the step's samples, to the nearest whole number. */
  readonly mean: Int32Array;
  readonly count: Int32Array;
}

export function emptyChunk(): LevelChunk {
  return {
    min: new Int32Array(CHUNK_STEPS),
    max: new Int32Array(CHUNK_STEPS),
    mean: new Int32Array(CHUNK_STEPS),
    count: new Int32Array(CHUNK_STEPS),
  };
}

/** Receives each chunk once. The arrays are reused: pack or copy what must outlive the call. */
export type ChunkSink = (level: number, chunk: number, column: number, values: LevelChunk) => void;

/** The open step of each column at one level, and the open chunk. */
class OpenLevel {
  /** Number of the open step; −1 before the first. */
  step = -1;
  readonly min: Int32Array;
  readonly max: Int32Array;
  readonly sum: Float64Array;
  readonly count: Float64Array;
  /** Number of the open chunk; −1 when it holds no step. */
  chunk = -1;
  readonly chunks: LevelChunk[];

  constructor(columns: number) {
    this.min = new Int32Array(columns).fill(2_147_483_647);
    this.max = new Int32Array(columns).fill(-2_147_483_648);
    this.sum = new Float64Array(columns);
    this.count = new Float64Array(columns);
    this.chunks = Array.from({ length: columns }, emptyChunk);
  }
}

export class TimeLevelBuilder {
  readonly columns: number;
  readonly base_us: number;
  readonly #sink: ChunkSink;
  readonly #levels: OpenLevel[] = [];

  constructor(columns: number, base_us: number, sink: ChunkSink) {
    this.columns = columns;
    this.base_us = base_us;
    this.#sink = sink;
  }

  /** Frames `first` to `end` − 1, whose times do not go back, also not behind those pushed before. */
  push(times_us: Float64Array, values: readonly Int32Array[], end: number, first = 0): void {
    const { base_us } = this;
    for (let from = first; from < end; ) {
      const step = Math.floor(times_us[from]! / base_us);
      const end_us = (step + 1) * base_us;
      let to = from + 1;
      while (to < end && times_us[to]! < end_us) to++;
      const open = this.#open(0, step);
      for (let column = 0; column < this.columns; column++) addRaw(open, column, values[column]!, from, to);
      from = to;
    }
  }

  /** A step of level 0 already made up, for values that are no raw samples. Steps must not go back. */
  step(step: number, min: Int32Array, max: Int32Array, count: Int32Array): void {
    const open = this.#open(0, step);
    for (let c = 0; c < this.columns; c++) {
      if (count[c] === 0) continue;
      add(open, c, min[c]!, max[c]!, Math.floor((min[c]! + max[c]!) / 2) * count[c]!, count[c]!);
    }
  }

  /** Hands out all that is open, at the end of a recording. Nothing may be pushed after it. */
  flush(): void {
    for (let level = 0; level < this.#levels.length; level++) {
      const last = this.#levels[level]!.step;
      this.#closeStep(level);
      this.#handOut(level);
      // The level above has a single step: nothing is drawn from it.
      if (last < FAN_OUT) return;
    }
  }

  #open(level: number, step: number): OpenLevel {
    let open = this.#levels[level];
    if (open === undefined) {
      open = new OpenLevel(this.columns);
      this.#levels[level] = open;
    }
    // Never back: a time out of order would stand a step late rather than spoil a chunk that has gone.
    if (step > open.step) {
      this.#closeStep(level);
      open.step = step;
    }
    return open;
  }

  /** The open step goes into its chunk, and into the step above. */
  #closeStep(level: number): void {
    const open = this.#levels[level]!;
    if (open.step < 0) return;
    const { step } = open;
    const chunk = Math.floor(step / CHUNK_STEPS);
    if (open.chunk !== chunk) {
      this.#handOut(level);
      open.chunk = chunk;
    }
    const above = level + 1 < MOST_LEVELS ? this.#open(level + 1, Math.floor(step / FAN_OUT)) : null;
    const at = step % CHUNK_STEPS;
    for (let c = 0; c < this.columns; c++) {
      const count = open.count[c]!;
      if (count === 0) continue;
      const to = open.chunks[c]!;
      to.min[at] = open.min[c]!;
      to.max[at] = open.max[c]!;
      to.mean[at] = Math.round(open.sum[c]! / count);
      to.count[at] = count;
      if (above !== null) add(above, c, open.min[c]!, open.max[c]!, open.sum[c]!, count);
      open.min[c] = 2_147_483_647;
      open.max[c] = -2_147_483_648;
      open.sum[c] = 0;
      open.count[c] = 0;
    }
    open.step = -1;
    if (at === CHUNK_STEPS - 1) this.#handOut(level);
  }

  #handOut(level: number): void {
    const open = this.#levels[level]!;
    if (open.chunk < 0) return;
    for (let c = 0; c < this.columns; c++) {
      const chunk = open.chunks[c]!;
      if (chunk.count.some((each) => each > 0)) this.#sink(level, open.chunk, c, chunk);
      chunk.count.fill(0);
    }
    open.chunk = -1;
  }
}

function addRaw(open: OpenLevel, column: number, raw: Int32Array, from: number, to: number): void {
  let min = open.min[column]!;
  let max = open.max[column]!;
  let sum = 0;
  let count = 0;
  for (let i = from; i < to; i++) {
    const value = raw[i]!;
    if (value < -RAW_MAX) continue;
    if (value < min) min = value;
    if (value > max) max = value;
    sum += value;
    count++;
  }
  open.min[column] = min;
  open.max[column] = max;
  open.sum[column] = open.sum[column]! + sum;
  open.count[column] = open.count[column]! + count;
}

function add(open: OpenLevel, column: number, min: number, max: number, sum: number, count: number): void {
  if (min < open.min[column]!) open.min[column] = min;
  if (max > open.max[column]!) open.max[column] = max;
  open.sum[column] = open.sum[column]! + sum;
  open.count[column] = open.count[column]! + count;
}
