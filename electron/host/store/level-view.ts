/**
 * What a plot of so many pixels shows of one column, read from the levels and,
 * at the edges and where levels are not there, from the samples. The cost
 * follows the number of pixels, not the length of the recording.
 *
 * Each pixel is exactly what a scan of the samples from its left edge to its
 * right one gives. Where a pixel is at least two steps of level 0 wide, the
 * edges between pixels lie on whole steps of the level used, which is at most
 * half a pixel: an edge is moved by a quarter of a pixel at most. The outer
 * edges are where they were asked for.
 */
import { RAW_MAX } from '../../../shared-core/channels/quality.ts';
import {
  CHUNK_STEPS,
  emptyChunk,
  FAN_OUT,
  type LevelChunk,
  MOST_LEVELS,
  stepOfLevel_us,
} from '../../../shared-core/series/time-levels.ts';
import type { OpenBlocks } from './open-blocks.ts';
import type { StoredLevels } from './stored-levels.ts';

/** The difference of two numbers below this fits in 32 bits. State codes are beyond it. */
const NARROW = 1 << 30;

/** Where one column's levels and samples are. */
export interface ColumnPlace {
  readonly group: number;
  readonly column: number;
  /** Length of a step of level 0; null where the group has no levels. */
  readonly base_us: number | null;
}

export class LevelView {
  readonly edges_us: Float64Array;
  readonly min: Int32Array;
  readonly max: Int32Array;
  /** Of the samples, each mean of a level weighted by its count. */
  readonly sum: Float64Array;
  readonly count: Float64Array;
  readonly first: Int32Array;
  readonly last: Int32Array;
  /** Level that the edges lie on; −1 for the samples themselves. */
  readonly level: number;
  readonly #levels: StoredLevels;
  /** Null where there are no samples behind the levels. */
  readonly #blocks: OpenBlocks | null;
  #chunk: LevelChunk | null = null;
  #place: ColumnPlace = { group: 0, column: 0, base_us: null };
  readonly #edgesAre: string;
  #pixel = 0;
  #values = new Int32Array(0);

  constructor(
    levels: StoredLevels,
    blocks: OpenBlocks | null,
    base_us: number | null,
    from_us: number,
    to_us: number,
    pixels: number,
  ) {
    this.#levels = levels;
    this.#blocks = blocks;
    const width_us = (to_us - from_us) / pixels;
    this.level = base_us === null ? -1 : levelFor(base_us, width_us);
    const step_us = this.level < 0 ? 0 : stepOfLevel_us(base_us!, this.level);
    this.#edgesAre = `${from_us} ${to_us} ${pixels} ${step_us}`;
    this.edges_us = new Float64Array(pixels + 1);
    for (let p = 0; p <= pixels; p++) {
      const at_us = from_us + p * width_us;
      this.edges_us[p] =
        step_us === 0 ? at_us : Math.min(to_us, Math.max(from_us, Math.round(at_us / step_us) * step_us));
    }
    this.edges_us[0] = from_us;
    this.edges_us[pixels] = to_us;
    this.min = new Int32Array(pixels).fill(2_147_483_647);
    this.max = new Int32Array(pixels).fill(-2_147_483_648);
    this.sum = new Float64Array(pixels);
    this.count = new Float64Array(pixels);
    this.first = new Int32Array(pixels);
    this.last = new Int32Array(pixels);
  }

  /** Adds the samples of one column to the pixels. @throws BlockDamage */
  add(place: ColumnPlace): void {
    this.#place = place;
    this.#pixel = 0;
    this.#range(this.level, this.edges_us[0]!, this.edges_us.at(-1)!);
  }

  /** All from `from_us` to before `to_us`, in whole steps of the level and what is left at its ends from those below. */
  #range(level: number, from_us: number, to_us: number): void {
    if (!(from_us < to_us)) return;
    if (level < 0) {
      this.#samples(from_us, to_us);
      return;
    }
    const step_us = stepOfLevel_us(this.#place.base_us!, level);
    const first = Math.ceil(from_us / step_us);
    const end = Math.floor(to_us / step_us);
    if (first >= end) {
      this.#range(level - 1, from_us, to_us);
      return;
    }
    this.#range(level - 1, from_us, first * step_us);
    this.#steps(level, first, end, step_us);
    this.#range(level - 1, end * step_us, to_us);
  }

  /** Steps `first` to `end` − 1 of a level, chunk by chunk. */
  #steps(level: number, first: number, end: number, step_us: number): void {
    const { group, column } = this.#place;
    for (let step = first; step < end; ) {
      const number = Math.floor(step / CHUNK_STEPS);
      const stop = Math.min(end, (number + 1) * CHUNK_STEPS);
      this.#chunk ??= emptyChunk();
      const chunk = this.#levels.chunk(group, level, number, column, this.#chunk);
      if (chunk !== null) this.#take(chunk, step, stop, step_us);
      // Not handed out yet, or lost with a crash: the level below has it, or the samples.
      else if (level > 0 || this.#blocks !== null) {
        const end_us = stop * step_us;
        if (this.#hasData(step * step_us, end_us)) this.#range(level - 1, step * step_us, end_us);
      }
      step = stop;
    }
  }

  #take(chunk: LevelChunk, first: number, end: number, step_us: number): void {
    const { edges_us, min, max, sum, count } = this;
    const offset = Math.floor(first / CHUNK_STEPS) * CHUNK_STEPS;
    let pixel = this.#pixel;
    for (let step = first; step < end; step++) {
      const at = step - offset;
      const samples = chunk.count[at]!;
      if (samples === 0) continue;
      const t_us = step * step_us;
      while (edges_us[pixel + 1]! <= t_us) pixel++;
      if (chunk.min[at]! < min[pixel]!) min[pixel] = chunk.min[at]!;
      if (chunk.max[at]! > max[pixel]!) max[pixel] = chunk.max[at]!;
      sum[pixel] = sum[pixel]! + chunk.mean[at]! * samples;
      count[pixel] = count[pixel]! + samples;
    }
    this.#pixel = pixel;
  }

  #hasData(from_us: number, to_us: number): boolean {
    if (this.#blocks === null) return true;
    const block = this.#blocks.atTime(from_us);
    return block !== undefined && block.block.first_us < to_us;
  }

  #samples(from_us: number, to_us: number): void {
    if (this.#blocks === null) return;
    const { group, column } = this.#place;
    for (let kept = this.#blocks.atTime(from_us); kept !== undefined && kept.block.first_us < to_us; ) {
      for (const section of kept.open.sections) {
        if (section.group !== group || section.columns <= column) continue;
        const from = section.firstAt(from_us);
        const to = section.firstAt(to_us);
        if (from >= to) continue;
        if (this.#values.length < to - from) this.#values = new Int32Array(2 * (to - from));
        this.#takeSamples(section.timesPart_us(from, to), section.part(column, from, to, this.#values));
      }
      kept = this.#blocks.after(kept);
    }
  }

  #takeSamples(times_us: Float64Array, values: Int32Array): void {
    const { min, max, sum, count, first, last } = this;
    const { pixel, ends } = this.#cuts(times_us);
    let i = 0;
    for (let c = 0, p = pixel; c < ends.length; c++, p++) {
      const begin = i;
      const end = ends[c]!;
      if (begin === end) continue;
      // Without branches, which nobody can guess in noise. Right while differences fit in 32 bits.
      let low = values[begin]!;
      let high = low;
      let bits = 0;
      let total = 0;
      for (; i < end; i++) {
        const value = values[i]!;
        bits |= value ^ (value >> 31);
        const below = (value - low) | 0;
        low = (low + (below & (below >> 31))) | 0;
        const above = (high - value) | 0;
        high = (high - (above & (above >> 31))) | 0;
        total += value;
      }
      if (bits >= NARROW) {
        this.#takeGood(p, values, begin, end);
        continue;
      }
      if (low < min[p]!) min[p] = low;
      if (high > max[p]!) max[p] = high;
      if (count[p] === 0) first[p] = values[begin]!;
      last[p] = values[end - 1]!;
      sum[p] = sum[p]! + total;
      count[p] = count[p]! + end - begin;
    }
  }

  /** Of samples that may have states among them, those that are values. */
  #takeGood(pixel: number, values: Int32Array, from: number, to: number): void {
    const { min, max, sum, count, first, last } = this;
    for (let i = from; i < to; i++) {
      const value = values[i]!;
      if (value < -RAW_MAX) continue;
      if (count[pixel] === 0) first[pixel] = value;
      last[pixel] = value;
      min[pixel] = Math.min(min[pixel]!, value);
      max[pixel] = Math.max(max[pixel]!, value);
      sum[pixel] = sum[pixel]! + value;
      count[pixel] = count[pixel]! + 1;
    }
  }

  /** Where these times go from one pixel to the next. All columns of a section share their times, and one answer. */
  #cuts(times_us: Float64Array): PixelCuts {
    const { edges_us } = this;
    const known = cutsKnown.get(times_us);
    if (known !== undefined && known.edges === this.#edgesAre) return known;
    const n = times_us.length;
    let pixel = 0;
    while (edges_us[pixel + 1]! <= times_us[0]!) pixel++;
    const ends: number[] = [];
    for (let p = pixel, i = 0; i < n; p++) {
      const edge_us = edges_us[p + 1]!;
      while (i < n && times_us[i]! < edge_us) i++;
      ends.push(i);
    }
    const cuts = { edges: this.#edgesAre, pixel, ends: Int32Array.from(ends) };
    cutsKnown.set(times_us, cuts);
    return cuts;
  }
}

/** The last answer for the times of a section's part, as long as those are known. */
const cutsKnown = new WeakMap<Float64Array, PixelCuts>();

interface PixelCuts {
  /** For which edges: all that they are computed from. */
  readonly edges: string;
  /** Of the first sample. */
  readonly pixel: number;
  /** From that pixel on, the place behind the last sample of each. */
  readonly ends: Int32Array;
}

/** The highest level with at least two steps to a pixel; −1 where even level 0 has fewer. */
function levelFor(base_us: number, width_us: number): number {
  let level = -1;
  for (let step_us = base_us; 2 * step_us <= width_us && level < MOST_LEVELS - 1; step_us *= FAN_OUT) level++;
  return level;
}
