/**
 * When the blocks of single commits are rewritten into one long block.
 *
 * A row that does not fit its page goes into overflow pages of 4,092 bytes,
 * and what is left over, K, stays in the leaf ("Cell Payload Overflow Pages",
 * sqlite.org/fileformat2.html, part 1.6). Where K is large, leaves hold one
 * row each and are half empty. So a block is ended just after its size has
 * passed a whole number of overflow pages: then K is little more than its
 * least, several rows share a leaf, and all overflow pages are full.
 */
const OVERFLOW_BYTES = 4092;
/** Least payload in the leaf: M = ((4096 − 12) · 32 / 255) − 23. */
const LEAST_IN_LEAF = 489;
/** Head of the row beside the body, about. */
const ROW_HEAD_BYTES = 52;

/** Overflow pages of a long block: at least: about 16 s of 32 channels at 100 Hz. */
export const LONG_BLOCK_PAGES = 5;
/** A slow bench fills no pages: its blocks end by time, */
export const LONG_BLOCK_SPAN_US = 120_000_000;
/** a fast one's by frames of a group, which bounds the work of one rewriting. */
export const LONG_BLOCK_FRAMES = 8192;
/** Most commits that may wait for it. Readers look through them one by one. */
export const LONG_BLOCK_COMMITS = 240;

export interface GrowingBlock {
  /** Size of the body if it ended now, as estimated, */
  readonly bytes: number;
  /** and how much of that the last commit added. */
  readonly added: number;
  readonly span_us: number;
  readonly frames: number;
  readonly commits: number;
}

export function isLongEnough(block: GrowingBlock): boolean {
  if (block.span_us >= LONG_BLOCK_SPAN_US || block.frames >= LONG_BLOCK_FRAMES) return true;
  if (block.commits >= LONG_BLOCK_COMMITS) return true;
  const beyond = block.bytes + ROW_HEAD_BYTES - LEAST_IN_LEAF;
  const pages = Math.floor(beyond / OVERFLOW_BYTES);
  if (pages < LONG_BLOCK_PAGES) return false;
  const close = Math.min(1, 0.25 * (1 + pages - LONG_BLOCK_PAGES));
  return beyond % OVERFLOW_BYTES <= close * block.added;
}
