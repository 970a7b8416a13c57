/**
 * Entropy coder for small unsigned numbers: Rice codes with their parameter
 * chosen anew for each sub-block, and run lengths where most are zero. The
 * bits themselves are specified at the head of `block-codec.ts`.
 *
 * Source: R. F. Rice, Some practical universal noiseless coding techniques,
 * JPL 79-22, 1979; the rule for the parameter from the mean of a geometric
 * distribution: A. Kiely, IPN progress report 42-159, 2004 (both from memory).
 */

export const SUB_BLOCK = 128;
/** Sub-block codes: 0 nothing but zeros, then Rice k = code − 1, then runs, then 32 bits each. */
const FIRST_RICE = 1;
const MOST_K = 23;
const FIRST_RUNS = FIRST_RICE + MOST_K + 1;
const MOST_RUN_K = 5;
const VERBATIM = 31;

/** Most bits that one sub-block can ask for while decoding damaged bytes: two escapes a number. */
const MOST_WORDS_PER_SUB_BLOCK = (SUB_BLOCK * 2 * (20 + 32)) / 32 + 4;

/** With this many zeros before it, a number stands verbatim in 32 bits. Keeps a code within one word. */
function escapeAt(k: number): number {
  return k <= 12 ? 20 : 32 - k;
}

/** Words that `encodeRice` may write for n numbers before it gives up. */
export function riceCapacity(n: number): number {
  return n + MOST_WORDS_PER_SUB_BLOCK;
}

/** Words to give `decodeRice` for a stream of so many bytes. */
export function riceWords(bytes: number): number {
  return (bytes >> 2) + 2 + MOST_WORDS_PER_SUB_BLOCK;
}

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
 * @returns bits written, or −1 when they come to more than 32 a number
 */
export function encodeRice(u: Int32Array, n: number, out: Uint32Array): number {
  state.fill(0);
  let previous = 0;
  for (let start = 0; start < n; start += SUB_BLOCK) {
    if (state[2]! > n) return -1;
    const end = Math.min(n, start + SUB_BLOCK);
    const code = bestCode(u, start, end);
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

function bestCode(u: Int32Array, start: number, end: number): number {
  const n = end - start;
  let sum = 0;
  let zeros = 0;
  for (let i = start; i < end; i++) {
    const v = u[i]!;
    sum += v >>> 0;
    if (v === 0) zeros++;
  }
  if (zeros === n) return 0;
  // k of a geometric distribution with this mean; the neighbours are tried too.
  const guess = Math.floor((sum / n) * 0.69);
  const middle = Math.min(MOST_K - 1, Math.max(1, guess < 1 ? 0 : 31 - Math.clz32(guess)));
  const below = middle - 1;
  const above = middle + 1;
  const limitBelow = escapeAt(below);
  const limitMiddle = escapeAt(middle);
  const limitAbove = escapeAt(above);
  let bitsBelow = n * (below + 1);
  let bitsMiddle = n * (middle + 1);
  let bitsAbove = n * (above + 1);
  for (let i = start; i < end; i++) {
    const v = u[i]!;
    const a = v >>> below;
    const b = v >>> middle;
    const c = v >>> above;
    bitsBelow += a < limitBelow ? a : limitBelow + 31 - below;
    bitsMiddle += b < limitMiddle ? b : limitMiddle + 31 - middle;
    bitsAbove += c < limitAbove ? c : limitAbove + 31 - above;
  }
  let bits = bitsMiddle;
  let code = FIRST_RICE + middle;
  if (bitsBelow < bits) {
    bits = bitsBelow;
    code = FIRST_RICE + below;
  }
  if (bitsAbove < bits) {
    bits = bitsAbove;
    code = FIRST_RICE + above;
  }
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

/**
 * Reads n numbers into `into`.
 * @param words big-endian words of the stream, `riceWords(bytes)` long, zero behind the stream
 * @param bits length of the stream
 * @returns bits read, or −1 when the stream ends too early or breaks a rule
 */
export function decodeRice(words: Uint32Array, bits: number, n: number, into: Int32Array): number {
  let at = 0;
  let code = 0;
  for (let start = 0; start < n; start += SUB_BLOCK) {
    const end = Math.min(n, start + SUB_BLOCK);
    const head = window(words, at);
    if (head < 0) {
      at += 1;
    } else {
      code = head >>> 26;
      at += 6;
    }
    if (code === 0) {
      into.fill(0, start, end);
    } else if (code === VERBATIM) {
      for (let i = start; i < end; i++, at += 32) into[i] = window(words, at);
    } else if (code >= FIRST_RUNS) {
      at = readRuns(words, at, start, end, code - FIRST_RUNS, into);
      if (at < 0) return -1;
    } else {
      at = readRice(words, at, start, end, code - FIRST_RICE, into);
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

function readRice(words: Uint32Array, from: number, start: number, end: number, k: number, into: Int32Array): number {
  const limit = escapeAt(k);
  const drop = 31 - k;
  let at = from;
  for (let i = start; i < end; i++) {
    const index = at >>> 5;
    const off = at & 31;
    const ahead = (words[index]! << off) | ((words[index + 1]! >>> 1) >>> (31 - off));
    const zeros = Math.clz32(ahead);
    if (zeros < limit) {
      into[i] = (zeros << k) | (((ahead << (zeros + 1)) >>> 1) >>> drop);
      at += zeros + 1 + k;
    } else {
      into[i] = window(words, at + limit);
      at += limit + 32;
    }
  }
  return at;
}

function readRuns(words: Uint32Array, from: number, start: number, end: number, k: number, into: Int32Array): number {
  const limit = escapeAt(k);
  const drop = 31 - k;
  let at = from;
  let i = start;
  while (i < end) {
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
    if (run > end - i) return -1;
    into.fill(0, i, i + run);
    i += run;
    if (i === end) break;
    const value = window(words, at);
    const q = Math.clz32(value);
    if (q < 20) {
      into[i++] = q + 1;
      at += q + 1;
    } else {
      into[i++] = (window(words, at + 20) + 1) | 0;
      at += 52;
    }
  }
  return at;
}
