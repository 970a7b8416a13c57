/**
 * Writes Rice codes and runs (`rice.ts`), choosing for each sub-block the code
 * that takes the fewest bits.
 */
import { escapeAt, FIRST_RICE, FIRST_RUNS, MOST_K, MOST_RUN_K, SUB_BLOCK, VERBATIM } from './rice.ts';

/** acc, bits in acc, next word: the writer's state while it is not in registers. */
const state = new Int32Array(3);

function put(out: Uint32Array, value: number, length: number): void {
  const free = 32 - state[1]!;
  if (length < free) {
    state[0] = (state[0]! << length) | value;
    state[1] = state[1]! + length;
    return;
  }
  const rest = length - free;
  // Shifting by 32 is shifting by 0 in JavaScript, hence the two steps.
  out[state[2]!] = ((state[0]! << 1) << (free - 1)) | (value >>> rest);
  state[2] = state[2]! + 1;
  state[0] = value;
  state[1] = rest;
}

/**
 * Writes u[0 … n−1] (unsigned 32-bit patterns) as big-endian words.
 * @param out at least `riceCapacity(n)` long
 * @param isQuick the code follows from the mean alone: a little longer, and in two thirds of the time
 * @param starts where given, filled with the bit at which each sub-block begins
 * @returns bits written, or −1 when they come to more than 32 a number
 */
export function encodeRice(
  u: Int32Array,
  n: number,
  out: Uint32Array,
  starts: Int32Array | null = null,
  isQuick = false,
): number {
  state.fill(0);
  let previous = 0;
  for (let start = 0; start < n; start += SUB_BLOCK) {
    if (state[2]! > n) return -1;
    const end = Math.min(n, start + SUB_BLOCK);
    if (starts !== null) starts[start / SUB_BLOCK] = state[2]! * 32 + state[1]!;
    const code = bestCode(u, start, end, isQuick);
    if (code === previous) put(out, 1, 1);
    else put(out, code, 6);
    previous = code;
    if (code === 0) continue;
    if (code === VERBATIM) for (let i = start; i < end; i++) put(out, u[i]!, 32);
    else if (code >= FIRST_RUNS) writeRuns(u, start, end, code - FIRST_RUNS, out);
    else writeRice(u, start, end, code - FIRST_RICE, out);
  }
  const bits = state[2]! * 32 + state[1]!;
  if (state[1]! > 0) out[state[2]!] = (state[0]! << 1) << (31 - state[1]!);
  return state[2]! > n ? -1 : bits;
}

function writeRice(u: Int32Array, start: number, end: number, k: number, out: Uint32Array): void {
  let acc = state[0]!;
  let held = state[1]!;
  let word = state[2]!;
  const one = 1 << k;
  const mask = one - 1;
  const limit = escapeAt(k);
  for (let i = start; i < end; i++) {
    const v = u[i]!;
    const q = v >>> k;
    if (q < limit) {
      const length = q + 1 + k;
      const value = one | (v & mask);
      const free = 32 - held;
      if (length < free) {
        acc = (acc << length) | value;
        held += length;
      } else {
        const rest = length - free;
        out[word++] = ((acc << 1) << (free - 1)) | (value >>> rest);
        acc = value;
        held = rest;
      }
    } else {
      state[0] = acc;
      state[1] = held;
      state[2] = word;
      put(out, 0, limit);
      put(out, v, 32);
      acc = state[0]!;
      held = state[1]!;
      word = state[2]!;
    }
  }
  state[0] = acc;
  state[1] = held;
  state[2] = word;
}

function putRice(out: Uint32Array, value: number, k: number): void {
  const q = value >>> k;
  const limit = escapeAt(k);
  if (q < limit) {
    put(out, (1 << k) | (value & ((1 << k) - 1)), q + 1 + k);
  } else {
    put(out, 0, limit);
    put(out, value, 32);
  }
}

function writeRuns(u: Int32Array, start: number, end: number, k: number, out: Uint32Array): void {
  let run = 0;
  for (let i = start; i < end; i++) {
    if (u[i] === 0) {
      run++;
      continue;
    }
    putRice(out, run, k);
    putRice(out, (u[i]! - 1) | 0, 0);
    run = 0;
  }
  // A run to the end is written too, so that the reader knows where it stops.
  if (run > 0) putRice(out, run, k);
}

function bestCode(u: Int32Array, start: number, end: number, isQuick: boolean): number {
  const n = end - start;
  // In two halves, so that they are whole numbers of 32 bits to the processor; and without branches.
  let halfHigh = 0;
  let halfLow = 0;
  let zeros = 0;
  let any = 0;
  for (let i = start; i < end; i++) {
    const v = u[i]!;
    any |= v;
    halfHigh += v >>> 16;
    halfLow += v & 0xffff;
    zeros += ((v - 1) & ~v) >>> 31;
  }
  const sum = 65_536 * halfHigh + halfLow;
  if (zeros === n) return 0;
  // k of a geometric distribution with this mean; its neighbour is tried too.
  const guess = Math.floor((sum / n) * 0.69);
  const near = Math.min(MOST_K, guess < 1 ? 0 : 31 - Math.clz32(guess));
  if (isQuick && 2 * zeros <= n) return FIRST_RICE + near;
  // The better of the two that the mean lies between.
  const low = Math.min(MOST_K - 1, guess < 1.4 * (1 << near) ? Math.max(0, near - 1) : near);
  const high = low + 1;
  const limitLow = escapeAt(low);
  const limitHigh = escapeAt(high);
  let bitsLow = n * (low + 1);
  let bitsHigh = n * (high + 1);
  if (any >>> low < limitLow) {
    // No number is so far out that it stands verbatim.
    for (let i = start; i < end; i++) {
      const a = u[i]! >>> low;
      bitsLow += a;
      bitsHigh += a >>> 1;
    }
  } else {
    for (let i = start; i < end; i++) {
      const a = u[i]! >>> low;
      const b = u[i]! >>> high;
      bitsLow += a < limitLow ? a : limitLow + 31 - low;
      bitsHigh += b < limitHigh ? b : limitHigh + 31 - high;
    }
  }
  const bits = Math.min(bitsLow, bitsHigh);
  const code = FIRST_RICE + (bitsLow <= bitsHigh ? low : high);
  if (2 * zeros > n) {
    const perRun = zeros / (n - zeros);
    const runK = Math.min(MOST_RUN_K, Math.max(0, 31 - Math.clz32(Math.floor(perRun * 0.69))));
    if (runBits(u, start, end, runK) < bits) return FIRST_RUNS + runK;
  }
  return 32 * n < bits ? VERBATIM : code;
}

function runBits(u: Int32Array, start: number, end: number, k: number): number {
  let bits = 0;
  let run = 0;
  for (let i = start; i < end; i++) {
    if (u[i] === 0) {
      run++;
      continue;
    }
    const value = (u[i]! - 1) >>> 0;
    bits += riceBits(run, k) + (value < 20 ? value + 1 : 52);
    run = 0;
  }
  return run > 0 ? bits + riceBits(run, k) : bits;
}

function riceBits(value: number, k: number): number {
  const q = value >>> k;
  return q < escapeAt(k) ? q + 1 + k : escapeAt(k) + 32;
}
