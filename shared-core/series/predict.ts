/**
 * Predictors: each guesses a sample from those before it, in 32-bit integer
 * arithmetic that wraps, so that decoding is exact on any machine. Which one
 * fits is found per block. The arithmetic is specified in `block-codec.ts`, and
 * undone in `rice-decoder.ts`.
 */
import { SUB_BLOCK } from './rice.ts';

/** 0 last value, 1 straight line, 2 to 5 exponential means of 2, 4, 8, 16 samples. */
export const PREDICTORS = 6;

/** Exponential means are tried below this: above it their fixed-point state would wrap. */
export const NARROW = 1 << 21;

/**
 * The predictor with the smallest estimated size for x[0 … n−1], x[0] being 0.
 * @param most largest |x|
 */
export function bestPredictor(x: Int32Array, n: number, most: number): number {
  return most < NARROW ? bestOfAll(x, n) : bestOfTwo(x, n);
}

/** Of a long block every fourth sub-block is judged; in between only the means go on. Sizes differ by less than 0.1 %. */
const JUDGED_EVERY = 4;
const JUDGED_WHOLE = 4 * SUB_BLOCK;

function bestOfAll(x: Int32Array, n: number): number {
  const every = n > JUDGED_WHOLE ? JUDGED_EVERY : 1;
  let x1 = 0;
  let x2 = 0;
  let m1 = 0;
  let m2 = 0;
  let m3 = 0;
  let m4 = 0;
  let b0 = 0;
  let b1 = 0;
  let b2 = 0;
  let b3 = 0;
  let b4 = 0;
  let b5 = 0;
  for (let start = 1; start < n; start += SUB_BLOCK) {
    const end = Math.min(n, start + SUB_BLOCK);
    if (((start - 1) / SUB_BLOCK) % every > 0) {
      for (let i = start; i < end; i++) {
        const scaled = x[i]! << 8;
        m1 += (scaled - m1) >> 1;
        m2 += (scaled - m2) >> 2;
        m3 += (scaled - m3) >> 3;
        m4 += (scaled - m4) >> 4;
      }
      x1 = x[end - 1]!;
      x2 = x[end - 2] ?? x1;
      continue;
    }
    let s0 = 0;
    let s1 = 0;
    let s2 = 0;
    let s3 = 0;
    let s4 = 0;
    let s5 = 0;
    for (let i = start; i < end; i++) {
      const v = x[i]!;
      const scaled = v << 8;
      const r0 = v - x1;
      const r1 = r0 - (x1 - x2);
      const r2 = v - ((m1 + 128) >> 8);
      const r3 = v - ((m2 + 128) >> 8);
      const r4 = v - ((m3 + 128) >> 8);
      const r5 = v - ((m4 + 128) >> 8);
      s0 = (s0 + ((r0 ^ (r0 >> 31)) - (r0 >> 31))) | 0;
      s1 = (s1 + ((r1 ^ (r1 >> 31)) - (r1 >> 31))) | 0;
      s2 = (s2 + ((r2 ^ (r2 >> 31)) - (r2 >> 31))) | 0;
      s3 = (s3 + ((r3 ^ (r3 >> 31)) - (r3 >> 31))) | 0;
      s4 = (s4 + ((r4 ^ (r4 >> 31)) - (r4 >> 31))) | 0;
      s5 = (s5 + ((r5 ^ (r5 >> 31)) - (r5 >> 31))) | 0;
      m1 += (scaled - m1) >> 1;
      m2 += (scaled - m2) >> 2;
      m3 += (scaled - m3) >> 3;
      m4 += (scaled - m4) >> 4;
      x2 = x1;
      x1 = v;
    }
    const count = end - start;
    b0 += estimatedBits(s0, count);
    b1 += estimatedBits(s1, count);
    b2 += estimatedBits(s2, count);
    b3 += estimatedBits(s3, count);
    b4 += estimatedBits(s4, count);
    b5 += estimatedBits(s5, count);
  }
  let best = 0;
  let bits = b0;
  if (b1 < bits) {
    best = 1;
    bits = b1;
  }
  if (b2 < bits) {
    best = 2;
    bits = b2;
  }
  if (b3 < bits) {
    best = 3;
    bits = b3;
  }
  if (b4 < bits) {
    best = 4;
    bits = b4;
  }
  return b5 < bits ? 5 : best;
}

function bestOfTwo(x: Int32Array, n: number): number {
  let x1 = 0;
  let x2 = 0;
  let b0 = 0;
  let b1 = 0;
  for (let start = 1; start < n; start += SUB_BLOCK) {
    const end = Math.min(n, start + SUB_BLOCK);
    let s0 = 0;
    let s1 = 0;
    for (let i = start; i < end; i++) {
      const v = x[i]!;
      const r0 = (v - x1) | 0;
      s0 += Math.abs(r0);
      s1 += Math.abs((r0 - ((x1 - x2) | 0)) | 0);
      x2 = x1;
      x1 = v;
    }
    b0 += estimatedBits(s0, end - start);
    b1 += estimatedBits(s1, end - start);
  }
  return b1 < b0 ? 1 : 0;
}

/** Near the entropy of a geometric distribution with the mean of the folded residuals. */
function estimatedBits(sumOfSizes: number, count: number): number {
  return count * Math.log2(1 + (5.44 * sumOfSizes) / count);
}

/** Folds a signed residual: 0, −1, 1, −2 … become 0, 1, 2, 3 …. */
function fold(r: number): number {
  return (r << 1) ^ (r >> 31);
}

/** Samples between two restarts of a block that can be sought in: one sub-block of residuals. */
export const RESTART = SUB_BLOCK;

/** The state that a restart begins from: the last sample, or the mean without its fraction. */
export function restartOf(predictor: number, x1: number, mean: number): number {
  return predictor < 2 ? x1 : (mean + 128) >> 8;
}

/**
 * Folded residuals of x[1 … n−1] into u[0 … n−2].
 * @param restarts where given, the state is cut to `restartOf` before sample 129, 257 …; filled with it from place 0
 */
export function residuals(
  predictor: number,
  x: Int32Array,
  n: number,
  u: Int32Array,
  restarts: Int32Array | null = null,
): void {
  let mean = 0;
  const length = restarts === null ? n : RESTART;
  for (let from = 1; from < n; from += length) {
    const to = Math.min(n, from + length);
    if (restarts !== null && from > 1) {
      const state = restartOf(predictor, x[from - 1]!, mean);
      restarts[(from - 1) / RESTART - 1] = state;
      mean = state << 8;
    }
    mean = residualsOf(predictor, x, from, to, mean, u);
  }
}

function residualsOf(
  predictor: number,
  x: Int32Array,
  from: number,
  to: number,
  firstMean: number,
  u: Int32Array,
): number {
  let x1 = x[from - 1]!;
  if (predictor === 0) {
    for (let i = from; i < to; i++) {
      const v = x[i]!;
      u[i - 1] = fold((v - x1) | 0);
      x1 = v;
    }
    return 0;
  }
  if (predictor === 1) {
    let slope = 0;
    for (let i = from; i < to; i++) {
      const v = x[i]!;
      const step = (v - x1) | 0;
      u[i - 1] = fold((step - slope) | 0);
      slope = step;
      x1 = v;
    }
    return 0;
  }
  const shift = predictor - 1;
  let mean = firstMean;
  for (let i = from; i < to; i++) {
    const v = x[i]!;
    u[i - 1] = fold((v - ((mean + 128) >> 8)) | 0);
    mean = (mean + (((v << 8) - mean) >> shift)) | 0;
  }
  return mean;
}
