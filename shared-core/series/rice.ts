/**
 * Entropy coder for small unsigned numbers: Rice codes with their parameter
 * chosen anew for each sub-block, and run lengths where most are zero. The
 * bits themselves are specified at the head of `block-codec.ts`; writing is in
 * `rice-encoder.ts`, reading in `rice-decoder.ts`, and here what both share.
 *
 * Source: R. F. Rice, Some practical universal noiseless coding techniques,
 * JPL 79-22, 1979; the rule for the parameter from the mean of a geometric
 * distribution: A. Kiely, IPN progress report 42-159, 2004 (both from memory).
 */

export const SUB_BLOCK = 128;
/** Sub-block codes: 0 nothing but zeros, then Rice k = code − 1, then runs, then 32 bits each. */
export const FIRST_RICE = 1;
export const MOST_K = 23;
export const FIRST_RUNS = FIRST_RICE + MOST_K + 1;
export const MOST_RUN_K = 5;
export const VERBATIM = 31;

/** Most bits that one sub-block can ask for while decoding damaged bytes: two escapes a number. */
const MOST_WORDS_PER_SUB_BLOCK = (SUB_BLOCK * 2 * (20 + 32)) / 32 + 4;

/** With this many zeros before it, a number stands verbatim in 32 bits. Keeps a code within one word. */
export function escapeAt(k: number): number {
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
