/**
 * What a session holds in memory between two commits, and the frames since its
 * last long block. Nothing leaves it before it is durable, so a commit that
 * fails can be tried again, and again, without loss or doubling.
 *
 * Each commit is packed as a block by itself (table `fresh`). The same frames
 * stay here in their columns until there are enough of them for a long block
 * (`block-size.ts`); it then takes the place of the fresh ones in the same
 * transaction as the commit at hand. So rewriting reads nothing back, is done
 * a block at a time, and a host killed at any instant leaves either the fresh
 * blocks or the long one.
 */
import { crc32 } from 'node:zlib';
import type { JournalEvent } from '../../../shared-core/journal.ts';
import { type Block, MOST_WHOLE, packBlock, TICK_GROUP } from './block-file.ts';
import { isLongEnough } from './block-size.ts';
import { FrameRows } from './content-chain.ts';
import { encodeJson } from './event-json.ts';
import { GrowingSection } from './growing-section.ts';
import type { Keyframe } from './keyframe.ts';
import { type LevelGroupRow, type LevelRow, SessionLevels } from './session-levels.ts';

/** An event as stored. */
export interface EventRow {
  /** 0, 1, 2 … within the session. */
  readonly number: number;
  readonly ord: number;
  readonly t_us: number;
  readonly side: 'in' | 'out';
  readonly kind: string;
  /** Body as JSON (event-json.ts). */
  readonly body: string;
  /** Over the row and the checksum of the event before it. */
  readonly checksum: number;
}

export interface PendingRows {
  /** Blocks of single commits, none of which a block below covers. */
  readonly fresh: readonly Block[];
  /** Long blocks. */
  readonly blocks: readonly Block[];
  /** The long blocks, or the end of the session, cover every fresh block written so far. */
  readonly clearsFresh: boolean;
  readonly events: readonly EventRow[];
  readonly levelGroups: readonly LevelGroupRow[];
  readonly levels: readonly LevelRow[];
  readonly keyframes: readonly Keyframe[];
  readonly isEmpty: boolean;
  /** Where counts and chains stand after it. */
  readonly lastOrd: number;
  readonly frameCount: number;
  readonly frameChain: number;
  readonly eventCount: number;
  readonly eventChain: number;
}

const NO_VALUES = new Int32Array(0);
/** Frames that no commit comes for are packed in portions of this size. */
const MOST_ROW_BYTES = 512 * 1024;
/** A long block is about so much shorter than the blocks it is made of; measured anew at each. */
const FIRST_RATIO = 0.93;

export class SessionBuffer {
  readonly #rows = new FrameRows();
  readonly #sections = new Map<number, GrowingSection>();
  readonly #levels = new SessionLevels();
  #fresh: Block[] = [];
  readonly #blocks: Block[] = [];
  readonly #events: EventRow[] = [];
  readonly #keyframes: Keyframe[] = [];
  #clearsFresh = false;

  // Of the long block that grows.
  #grown: { first: Omit<Block, 'body'>; bytes: number; commits: number } | null = null;
  #bytesPerFrame = 0;
  #ratio = FIRST_RATIO;

  #rowsFrom: { ord: number; t_us: number; frames: number } | null = null;
  #lastFrameOrd = -1;
  #lastFrame_us = 0;
  #lastOrd = -1;
  #frameCount = 0;
  #frameChain = 0;
  #eventCount = 0;
  #eventChain = 0;
  #oldest_us: number | null = null;
  #newest_us = 0;
  #heldBytes = 0;

  /**
   * @throws RangeError where time or ord are no such numbers, or the ord does
   *   not rise: the caller's mistake, which could never be read back
   */
  frame(ord: number, t_us: number, group: number, raw: Int32Array, columns: number): void {
    if (ord <= this.#lastFrameOrd) throw new RangeError(`expected an ord above ${this.#lastFrameOrd}, got ${ord}`);
    this.#stamp(ord, t_us);
    this.#rowsFrom ??= { ord, t_us, frames: 0 };
    this.#rowsFrom.frames++;
    this.#lastFrameOrd = ord;
    this.#lastFrame_us = t_us;
    this.#rows.add(ord, t_us, group, raw, columns);
    if (this.#rows.bytes >= MOST_ROW_BYTES) this.#pack();
  }

  tick(ord: number, t_us: number): void {
    this.frame(ord, t_us, TICK_GROUP, NO_VALUES, 0);
  }

  event(event: JournalEvent): void {
    this.#stamp(event.ord, event.t_us);
    this.#levels.event(event);
    const row = {
      number: this.#eventCount++,
      ord: event.ord,
      t_us: event.t_us,
      side: event.side,
      kind: event.body.kind,
      body: encodeJson(event.body),
    };
    this.#eventChain = eventChecksum(row, this.#eventChain);
    this.#events.push({ ...row, checksum: this.#eventChain });
    this.#heldBytes += row.body.length;
  }

  derived(t_us: number, keys: readonly string[], value: Float64Array, updated_us: Float64Array, from: number): void {
    this.#levels.derived(t_us, keys, value, updated_us, from);
  }

  keyframe(keyframe: Keyframe): void {
    this.#keyframes.push(keyframe);
    this.#heldBytes += keyframe.body.length;
  }

  /**
   * Packs what has come and shows what is to be written.
   * @param isEnd nothing comes after it: all goes into long blocks, and the levels are closed
   */
  pending(isEnd = false): PendingRows {
    this.#pack();
    if (isEnd) {
      this.#endLongBlock();
      this.#levels.flush();
    }
    return {
      fresh: this.#fresh,
      blocks: this.#blocks,
      clearsFresh: this.#clearsFresh || isEnd,
      events: this.#events,
      levelGroups: this.#levels.groups,
      levels: this.#levels.rows,
      keyframes: this.#keyframes,
      isEmpty:
        this.#fresh.length + this.#blocks.length + this.#events.length + this.#levels.rows.length === 0 &&
        this.#keyframes.length === 0,
      lastOrd: this.#lastOrd,
      frameCount: this.#frameCount,
      frameChain: this.#frameChain,
      eventCount: this.#eventCount,
      eventChain: this.#eventChain,
    };
  }

  /** All that `pending` showed is durable: lets go of it. Nothing may have been added in between. */
  settle(): void {
    this.#fresh = [];
    this.#blocks.length = 0;
    this.#events.length = 0;
    this.#levels.settle();
    this.#keyframes.length = 0;
    this.#clearsFresh = false;
    this.#oldest_us = null;
    this.#heldBytes = 0;
  }

  /** Seconds of data that are not yet durable. */
  get held_s(): number {
    return this.#oldest_us === null ? 0 : Math.max(0, this.#newest_us - this.#oldest_us) / 1e6;
  }

  /** Bytes of data that are not yet durable, packed. */
  get heldBytes(): number {
    return this.#heldBytes + this.#rows.bytes + this.#levels.bytes;
  }

  /** What came since the last time goes into the columns and becomes a fresh block, or ends a long one. */
  #pack(): void {
    const from = this.#rowsFrom;
    if (from === null) return;
    this.#rowsFrom = null;
    const previous = this.#frameChain;
    this.#frameChain = this.#rows.chainAfter(previous);
    this.#rows.each((ord, t_us, group, columns, words, first) => {
      this.#sectionOf(group, columns).add(ord, t_us, words, first);
    });
    this.#rows.clear();
    this.#frameCount += from.frames;
    const head = {
      firstOrd: from.ord,
      lastOrd: this.#lastFrameOrd,
      first_us: from.t_us,
      last_us: this.#lastFrame_us,
      frames: from.frames,
      previous,
      checksum: this.#frameChain,
    };
    let most = 0;
    for (const section of this.#sections.values()) {
      this.#levels.frames(section.view(false));
      most = Math.max(most, section.frames);
    }
    this.#grown ??= { first: head, bytes: 0, commits: 0 };
    const grown = this.#grown;
    const added = this.#bytesPerFrame * from.frames;
    const isLong = isLongEnough({
      bytes: this.#ratio * (grown.bytes + added),
      added,
      span_us: head.last_us - grown.first.first_us,
      frames: most,
      commits: grown.commits + 1,
    });
    if (isLong) {
      grown.bytes += added;
      this.#endLongBlock();
      return;
    }
    const sections = [...this.#sections.values()];
    const fresh = packBlock(
      head,
      sections.map((section) => section.view(false)),
      false,
    );
    for (const section of sections) section.committed = section.frames;
    this.#fresh.push(fresh);
    this.#heldBytes += fresh.body.length;
    grown.bytes += fresh.body.length;
    grown.commits++;
    this.#bytesPerFrame = fresh.body.length / from.frames;
  }

  #endLongBlock(): void {
    const grown = this.#grown;
    this.#grown = null;
    if (grown === null) return;
    const sections = [...this.#sections.values()];
    const head = {
      firstOrd: grown.first.firstOrd,
      lastOrd: this.#lastFrameOrd,
      first_us: grown.first.first_us,
      last_us: this.#lastFrame_us,
      frames: sections.reduce((sum, section) => sum + section.frames, 0),
      previous: grown.first.previous,
      checksum: this.#frameChain,
    };
    const block = packBlock(
      head,
      sections.map((section) => section.view(true)),
      true,
    );
    for (const section of sections) section.clear();
    if (grown.bytes > 0) this.#ratio = Math.min(1.5, Math.max(0.5, block.body.length / grown.bytes));
    for (const fresh of this.#fresh) this.#heldBytes -= fresh.body.length;
    this.#fresh = [];
    this.#blocks.push(block);
    this.#heldBytes += block.body.length;
    this.#clearsFresh = true;
  }

  #sectionOf(group: number, columns: number): GrowingSection {
    const key = 65_536 * group + columns;
    let section = this.#sections.get(key);
    if (section === undefined) {
      section = new GrowingSection(group, columns);
      this.#sections.set(key, section);
    }
    return section;
  }

  #stamp(ord: number, t_us: number): void {
    if (!Number.isFinite(t_us) || !(Number.isInteger(ord) && ord >= 0 && ord < MOST_WHOLE)) {
      throw new RangeError(`expected a whole ord and a finite time, got ${ord} at ${t_us}`);
    }
    this.#oldest_us ??= t_us;
    this.#newest_us = t_us;
    this.#lastOrd = Math.max(this.#lastOrd, ord);
  }
}

export function eventChecksum(row: Omit<EventRow, 'checksum'>, previous: number): number {
  return crc32(`${row.number} ${row.ord} ${row.t_us} ${row.side} ${row.kind} ${row.body}`, previous);
}
