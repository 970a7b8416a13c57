/**
 * The blocks of one session, opened and kept for the next look: a view of
 * thirty channels reads the same blocks thirty times, and a replay that is
 * moved about comes back to them. Only long blocks are kept, which never change.
 */
import { type Block, type OpenBlock, openBlock } from './block-file.ts';
import type { StoredBlocks } from './stored-blocks.ts';

/** Packed bytes kept at most: about half an hour of 32 channels at 100 Hz. */
const MOST_BYTES = 8 * 1024 * 1024;

export interface KeptBlock {
  readonly block: Block;
  readonly open: OpenBlock;
}

interface Kept extends KeptBlock {
  /** The block behind it, once it was asked for and is a long one. */
  next: Kept | null;
}

export class OpenBlocks {
  readonly #stored: StoredBlocks;
  /** By last ord, the longest unused first. */
  readonly #kept = new Map<number, Kept>();
  #bytes = 0;
  #last: Kept | null = null;

  constructor(stored: StoredBlocks) {
    this.#stored = stored;
  }

  /** First block that holds frames at or after `t_us`. @throws BlockDamage */
  atTime(t_us: number): KeptBlock | undefined {
    const last = this.#last;
    if (last !== null && last.block.first_us <= t_us && t_us <= last.block.last_us) return last;
    for (const kept of this.#kept.values()) {
      if (kept.block.first_us <= t_us && t_us <= kept.block.last_us) return this.#used(kept);
    }
    return this.#take(this.#stored.atTime(t_us));
  }

  /** The block behind one that was given. @throws BlockDamage */
  after(kept: KeptBlock): KeptBlock | undefined {
    const known = (kept as Kept).next;
    if (known != null && this.#kept.get(known.block.lastOrd) === known) return this.#used(known);
    const found = this.#take(this.#stored.atOrd(kept.block.lastOrd + 1));
    if (found !== undefined && this.#kept.get(found.block.lastOrd) === found) (kept as Kept).next = found as Kept;
    return found;
  }

  #take(block: Block | undefined): KeptBlock | undefined {
    if (block === undefined) return undefined;
    const known = this.#kept.get(block.lastOrd);
    if (known !== undefined && known.block.checksum === block.checksum && known.block.firstOrd === block.firstOrd) {
      return this.#used(known);
    }
    const kept: Kept = { block, open: openBlock(block), next: null };
    if (!this.#stored.isLong(block)) return kept;
    this.#kept.set(block.lastOrd, kept);
    this.#bytes += block.body.length;
    for (const [ord, oldest] of this.#kept) {
      if (this.#bytes <= MOST_BYTES || oldest === kept) break;
      this.#kept.delete(ord);
      this.#bytes -= oldest.block.body.length;
    }
    this.#last = kept;
    return kept;
  }

  #used(kept: Kept): Kept {
    if (this.#last !== kept) {
      this.#kept.delete(kept.block.lastOrd);
      this.#kept.set(kept.block.lastOrd, kept);
      this.#last = kept;
    }
    return kept;
  }
}
