/**
 * Lowest and highest value in each pixel column of a plot, from the levels of
 * `levels.ts` and the samples themselves. The cost follows the number of
 * pixels, not the number of samples, and no extreme is lost.
 */
import { RAW_MAX } from '../channels/quality.ts';
import { BASE_SAMPLES, FAN_OUT, type Level } from './levels.ts';

/** Results, one per pixel; NaN where the pixel has no good sample. */
export interface PixelRange {
  readonly min: Float64Array;
  readonly max: Float64Array;
}

export function pixelRange(pixels: number): PixelRange {
  return { min: new Float64Array(pixels), max: new Float64Array(pixels) };
}

/**
 * @param samples the column: values with NaN, or raw integers with state
 *   codes; null when only the levels, flushed, are at hand. Then each pixel is
 *   widened to whole entries of level 0: still no extreme is lost, but one may
 *   show up to one entry beside its place
 * @param length number of samples in the column
 * @param levels its levels, from 0; entries not yet closed are read from `samples`
 * @param edges sample indices, rising; pixel p covers edges[p] to edges[p + 1] − 1
 * @param out at least edges.length − 1 pixels
 * @throws RangeError if `out` is too small
 */
export function minMaxPerPixel(
  samples: Float64Array | Int32Array | null,
  length: number,
  levels: readonly Level[],
  edges: Float64Array,
  out: PixelRange,
): void {
  const pixels = edges.length - 1;
  if (out.min.length < pixels || out.max.length < pixels) {
    throw new RangeError(`out: expected ${pixels} pixels, got ${out.min.length}`);
  }
  const isRaw = samples instanceof Int32Array;
  for (let pixel = 0; pixel < pixels; pixel++) {
    let at = Math.max(0, edges[pixel]!);
    let end = Math.min(length, edges[pixel + 1]!);
    if (samples === null && at < end) {
      at -= at % BASE_SAMPLES;
      end = Math.ceil(end / BASE_SAMPLES) * BASE_SAMPLES;
    }
    let low = Number.POSITIVE_INFINITY;
    let high = Number.NEGATIVE_INFINITY;
    while (at < end) {
      const level = largestEntry(levels, at, end);
      if (level >= 0) {
        const from = levels[level]!;
        const entry = at / from.samplesPerEntry;
        // NaN of an entry without good samples fails both comparisons.
        if (from.min[entry]! < low) low = from.min[entry]!;
        if (from.max[entry]! > high) high = from.max[entry]!;
        at += from.samplesPerEntry;
        continue;
      }
      const stop = Math.min(end, at - (at % BASE_SAMPLES) + BASE_SAMPLES);
      if (samples !== null) {
        for (; at < stop; at++) {
          const value = samples[at]!;
          if (isRaw && value < -RAW_MAX) continue;
          if (value < low) low = value;
          if (value > high) high = value;
        }
      }
      at = stop;
    }
    out.min[pixel] = low <= high ? low : NaN;
    out.max[pixel] = low <= high ? high : NaN;
  }
}

/** Largest level with an entry that begins at `at` and ends by `end`; −1 for none. */
function largestEntry(levels: readonly Level[], at: number, end: number): number {
  if (at % BASE_SAMPLES !== 0) return -1;
  let found = -1;
  let size = BASE_SAMPLES;
  for (let level = 0; level < levels.length; level++, size *= FAN_OUT) {
    if (at % size !== 0 || at + size > end || at / size >= levels[level]!.entries) break;
    found = level;
  }
  return found;
}

/** Edges that share samples `from` to `to` − 1 evenly among the pixels. */
export function edgesByIndex(from: number, to: number, pixels: number): Float64Array {
  const edges = new Float64Array(pixels + 1);
  for (let pixel = 0; pixel <= pixels; pixel++) edges[pixel] = from + Math.floor(((to - from) * pixel) / pixels);
  return edges;
}

/**
 * Edges for pixels of equal time, `from_us` to `to_us`.
 * @param times_us rising, `length` of them valid
 */
export function edgesByTime(
  times_us: Float64Array,
  length: number,
  from_us: number,
  to_us: number,
  pixels: number,
): Float64Array {
  const edges = new Float64Array(pixels + 1);
  let low = 0;
  for (let pixel = 0; pixel <= pixels; pixel++) {
    low = firstAtOrAfter(times_us, low, length, from_us + ((to_us - from_us) * pixel) / pixels);
    edges[pixel] = low;
  }
  return edges;
}

/** First index from `from` on whose time is at or after `time_us`; `length` when there is none. */
export function firstAtOrAfter(times_us: Float64Array, from: number, length: number, time_us: number): number {
  let low = from;
  let high = length;
  while (low < high) {
    const middle = (low + high) >>> 1;
    if (times_us[middle]! < time_us) low = middle + 1;
    else high = middle;
  }
  return low;
}
