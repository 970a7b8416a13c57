/**
 * Reads Rice codes and runs (`rice.ts`). Bytes may be damaged: nothing is read
 * or written outside the arrays given, and no loop depends on what was read
 * without a bound.
 */
import { escapeAt, FIRST_RICE, FIRST_RUNS, SUB_BLOCK, VERBATIM } from './rice.ts';

/**
 * Reads n numbers into `into`.
 * @param words big-endian words of the stream, `riceWords(bytes)` long, zero behind the stream
 * @param bits length of the stream
 * @param from bit at which a sub-block begins
 * @param before code of the sub-block before it
 * @param isPart n may end within a sub-block of the stream
 * @returns bits read, or −1 when the stream ends too early or breaks a rule
 */
export function decodeRice(
  words: Uint32Array,
  bits: number,
  n: number,
  into: Int32Array,
  from = 0,
  before = 0,
  isPart = false,
): number {
  let at = from;
  let code = before;
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
      at = readRuns(words, at, start, end, code - FIRST_RUNS, into, isPart);
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

function readRuns(
  words: Uint32Array,
  from: number,
  start: number,
  end: number,
  k: number,
  into: Int32Array,
  isPart: boolean,
): number {
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
    if (run > end - i) {
      if (!isPart) return -1;
      run = end - i;
    }
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
