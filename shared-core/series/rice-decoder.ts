/**
 * Reads Rice codes and runs (`rice.ts`) and turns them back into samples by the
 * predictor that they were written with (`predict.ts`): in one loop, since each
 * of the two only waits for its own last result and a processor does both at a
 * time. Bytes may be damaged: nothing is read or written outside the arrays
 * given, and no loop depends on what was read without a bound.
 */
import { restartOf } from './predict.ts';
import { escapeAt, FIRST_RICE, FIRST_RUNS, SUB_BLOCK, VERBATIM } from './rice.ts';

/** How a block's residuals become its samples. */
export interface Restoring {
  readonly predictor: number;
  /** Every sample is base + step · x. */
  readonly base: number;
  readonly step: number;
  /** The predictor's state is cut before each sub-block but the first. */
  readonly hasRestarts: boolean;
}

/** Residuals of a sub-block that is not in Rice codes. */
const folded = new Int32Array(SUB_BLOCK);
/** What the predictor knows between two sub-blocks. */
let x1 = 0;
let slope = 0;
let mean = 0;

/**
 * Samples that follow from `n` residuals, into[to] to into[to + n − 1].
 * @param words big-endian words of the stream, `riceWords(bytes)` long, zero behind the stream
 * @param bits length of the stream
 * @param state of the predictor before the first: 0 at a block's beginning, else that of a restart
 * @param from bit at which a sub-block begins
 * @param before code of the sub-block before it
 * @param isPart n may end within a sub-block of the stream
 * @returns bits read, or −1 when the stream ends too early or breaks a rule
 */
export function decodeSamples(
  words: Uint32Array,
  bits: number,
  n: number,
  { predictor, base, step, hasRestarts }: Restoring,
  into: Int32Array,
  to: number,
  state = 0,
  from = 0,
  before = 0,
  isPart = false,
): number {
  let at = from;
  let code = before;
  x1 = state;
  mean = state << 8;
  slope = 0;
  for (let start = 0; start < n; start += SUB_BLOCK) {
    const count = Math.min(n - start, SUB_BLOCK);
    if (hasRestarts && start > 0) {
      mean = restartOf(predictor, 0, mean) << 8;
      slope = 0;
    }
    const head = window(words, at);
    if (head < 0) {
      at += 1;
    } else {
      code = head >>> 26;
      at += 6;
    }
    if (code >= FIRST_RICE && code < FIRST_RUNS) {
      const k = code - FIRST_RICE;
      if (predictor < 2) at = riceOfLine(words, at, k, predictor === 0 ? 0 : -1, base, step, into, to + start, count);
      else at = riceOfMean(words, at, k, predictor - 1, base, step, into, to + start, count);
    } else {
      if (code === 0) {
        folded.fill(0, 0, count);
      } else if (code === VERBATIM) {
        for (let i = 0; i < count; i++, at += 32) folded[i] = window(words, at);
      } else {
        at = readRuns(words, at, count, code - FIRST_RUNS, isPart);
        if (at < 0) return -1;
      }
      restore(predictor, base, step, into, to + start, count);
    }
    // Once per sub-block: in between, the zeros behind the stream are read and found out here.
    if (at > bits) return -1;
  }
  return at;
}

/** The 32 bits at bit position `at`, as a signed pattern. */
function window(words: Uint32Array, at: number): number {
  const i = at >>> 5;
  const off = at & 31;
  return (words[i]! << off) | ((words[i + 1]! >>> 1) >>> (31 - off));
}

// The same loop for lines and for means, so that none asks for the predictor at each sample. From the one on, a code is
// 2 ** k and the low bits together.

/** @param slopes −1 where the predictor has a slope, else 0 */
function riceOfLine(
  words: Uint32Array,
  from: number,
  k: number,
  slopes: number,
  base: number,
  step: number,
  into: Int32Array,
  to: number,
  count: number,
): number {
  const limit = escapeAt(k);
  const drop = 31 - k;
  let at = from;
  let x = x1;
  let rise = slope;
  for (let i = to; i < to + count; i++) {
    const index = at >>> 5;
    const off = at & 31;
    const ahead = (words[index]! << off) | ((words[index + 1]! >>> 1) >>> (31 - off));
    const zeros = Math.clz32(ahead);
    let u: number;
    if (zeros < limit) {
      u = ((zeros - 1) << k) + ((ahead << zeros) >>> drop);
      at += zeros + 1 + k;
    } else {
      u = window(words, at + limit);
      at += limit + 32;
    }
    rise = ((rise & slopes) + ((u >>> 1) ^ -(u & 1))) | 0;
    x = (x + rise) | 0;
    into[i] = (base + Math.imul(step, x)) | 0;
  }
  x1 = x;
  slope = rise;
  return at;
}

function riceOfMean(
  words: Uint32Array,
  from: number,
  k: number,
  shift: number,
  base: number,
  step: number,
  into: Int32Array,
  to: number,
  count: number,
): number {
  const limit = escapeAt(k);
  const drop = 31 - k;
  let at = from;
  let m = mean;
  for (let i = to; i < to + count; i++) {
    const index = at >>> 5;
    const off = at & 31;
    const ahead = (words[index]! << off) | ((words[index + 1]! >>> 1) >>> (31 - off));
    const zeros = Math.clz32(ahead);
    let u: number;
    if (zeros < limit) {
      u = ((zeros - 1) << k) + ((ahead << zeros) >>> drop);
      at += zeros + 1 + k;
    } else {
      u = window(words, at + limit);
      at += limit + 32;
    }
    const x = (((m + 128) >> 8) + ((u >>> 1) ^ -(u & 1))) | 0;
    m = (m + (((x << 8) - m) >> shift)) | 0;
    into[i] = (base + Math.imul(step, x)) | 0;
  }
  mean = m;
  return at;
}

/** Samples of the residuals in `folded`. */
function restore(predictor: number, base: number, step: number, into: Int32Array, to: number, count: number): void {
  const shift = predictor - 1;
  for (let i = 0; i < count; i++) {
    const u = folded[i]!;
    const r = (u >>> 1) ^ -(u & 1);
    let x: number;
    if (predictor > 1) {
      x = (((mean + 128) >> 8) + r) | 0;
      mean = (mean + (((x << 8) - mean) >> shift)) | 0;
    } else {
      slope = predictor === 0 ? r : (slope + r) | 0;
      x = (x1 + slope) | 0;
      x1 = x;
    }
    into[to + i] = (base + Math.imul(step, x)) | 0;
  }
}

/** Fills the first `count` of `folded`. */
function readRuns(words: Uint32Array, from: number, count: number, k: number, isPart: boolean): number {
  const limit = escapeAt(k);
  const drop = 31 - k;
  let at = from;
  let i = 0;
  while (i < count) {
    const ahead = window(words, at);
    const zeros = Math.clz32(ahead);
    let run: number;
    if (zeros < limit) {
      run = (zeros << k) | (((ahead << (zeros + 1)) >>> 1) >>> drop);
      at += zeros + 1 + k;
    } else {
      run = window(words, at + limit) >>> 0;
      at += limit + 32;
    }
    if (run > count - i) {
      if (!isPart) return -1;
      run = count - i;
    }
    folded.fill(0, i, i + run);
    i += run;
    if (i === count) break;
    const value = window(words, at);
    const q = Math.clz32(value);
    if (q < 20) {
      folded[i++] = q + 1;
      at += q + 1;
    } else {
      folded[i++] = (window(words, at + 20) + 1) | 0;
      at += 52;
    }
  }
  return at;
}
