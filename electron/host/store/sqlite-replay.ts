/**
 * Merges blocks and events of a session back into one journal, exactly in the
 * order of `ord`. One block and one portion of events are in memory at a time.
 */
import type { JournalInput, JournalSink } from '../../../shared-core/journal.ts';
import { openBlock, TICK_GROUP } from './block-file.ts';
import { BlockFrames } from './block-frames.ts';
import { decodeJson } from './event-json.ts';
import type { EventRow } from './session-buffer.ts';
import type { StoredBlocks } from './stored-blocks.ts';

/** `shouldStop` is asked about this often. */
const ASK_EVERY_US = 1_000_000;

export interface ReplayRange {
  readonly fromOrd: number;
  /** Inclusive. What is written after the replay began lies beyond it. */
  readonly toOrd: number;
}

/**
 * @throws BlockDamage at the first block that is not what was written; all before it was fed
 */
export function replayBlocks(
  stored: StoredBlocks,
  sink: JournalSink,
  range: ReplayRange,
  shouldStop: (t_us: number) => boolean,
): void {
  const events = new EventSource(stored, range);
  let ask_us = Number.NEGATIVE_INFINITY;
  const isToStop = (t_us: number): boolean => {
    if (t_us < ask_us) return false;
    ask_us = t_us + ASK_EVERY_US;
    return shouldStop(t_us);
  };
  /** Feeds the events before `ord`; false when it is to stop. */
  const feedEvents = (ord: number): boolean => {
    while (events.ord < ord) {
      if (isToStop(events.t_us)) return false;
      events.feed(sink);
    }
    return true;
  };
  for (let fromOrd = range.fromOrd; fromOrd <= range.toOrd; ) {
    const block = stored.atOrd(fromOrd);
    if (block === undefined || block.firstOrd > range.toOrd) break;
    // The events before a block are fed before it is opened: it may be damaged.
    if (!feedEvents(Math.max(fromOrd, block.firstOrd))) return;
    const frames = new BlockFrames(openBlock(block), fromOrd);
    while (frames.ord <= range.toOrd) {
      const { ord, t_us } = frames;
      if (events.ord < ord && !feedEvents(ord)) return;
      if (t_us >= ask_us && isToStop(t_us)) return;
      if (frames.group === TICK_GROUP) sink.tick(ord, t_us);
      else {
        const raw = frames.raw();
        sink.frame(ord, t_us, frames.group, raw, raw.length);
      }
      frames.next();
    }
    fromOrd = Math.max(fromOrd, block.lastOrd) + 1;
  }
  feedEvents(Number.POSITIVE_INFINITY);
}

class EventSource {
  readonly #rows: Generator<EventRow>;
  readonly #range: ReplayRange;
  #row: EventRow | null = null;
  ord = Number.POSITIVE_INFINITY;
  t_us = 0;

  constructor(stored: StoredBlocks, range: ReplayRange) {
    this.#rows = stored.events(range.fromOrd);
    this.#range = range;
    this.#next();
  }

  feed(sink: JournalSink): void {
    const row = this.#row!;
    sink.event(row.ord, row.t_us, decodeJson(row.body) as JournalInput);
    this.#next();
  }

  #next(): void {
    for (;;) {
      const step = this.#rows.next();
      if (step.done || step.value.ord > this.#range.toOrd) {
        this.ord = Number.POSITIVE_INFINITY;
        return;
      }
      if (step.value.side === 'out' || step.value.ord < this.#range.fromOrd) continue;
      this.#row = step.value;
      this.ord = step.value.ord;
      this.t_us = step.value.t_us;
      return;
    }
  }
}
