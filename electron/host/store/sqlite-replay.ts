/**
 * Merges blocks and events of a session back into one journal, exactly in the
 * order of `ord`. One block per rate group and one portion of events are in
 * memory at a time.
 */
import type { JournalInput, JournalSink } from '../../../shared-core/journal.ts';
import { type BlockFrames, openBlock } from './block-file.ts';
import { decodeJson } from './event-json.ts';
import { type EventRow, TICK_GROUP } from './session-buffer.ts';
import type { StoredBlocks } from './stored-blocks.ts';

/** `shouldStop` is asked about this often. */
const ASK_EVERY_US = 1_000_000;

export interface ReplayRange {
  readonly fromOrd: number;
  /** Inclusive. What is written after the replay began lies beyond it, so that no group runs ahead of another. */
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
  const sources: Source[] = stored.groups().map((group) => new GroupSource(stored, group, range));
  sources.push(new EventSource(stored, range));
  let ask_us = Number.NEGATIVE_INFINITY;
  for (;;) {
    let first = sources[0]!;
    let secondOrd = Number.POSITIVE_INFINITY;
    for (let i = 1; i < sources.length; i++) {
      const source = sources[i]!;
      if (source.ord < first.ord) {
        secondOrd = first.ord;
        first = source;
      } else if (source.ord < secondOrd) {
        secondOrd = source.ord;
      }
    }
    if (first.ord === Number.POSITIVE_INFINITY) return;
    // The first source stays first until the second's turn.
    do {
      if (first.t_us >= ask_us) {
        if (shouldStop(first.t_us)) return;
        ask_us = first.t_us + ASK_EVERY_US;
      }
      first.feed(sink);
    } while (first.ord < secondOrd);
  }
}

/** Entries of one kind, each with its place; `ord` is infinite at the end. */
interface Source {
  readonly ord: number;
  readonly t_us: number;
  /** Gives the present entry to the sink and goes on to the next. */
  feed(sink: JournalSink): void;
}

class GroupSource implements Source {
  readonly #stored: StoredBlocks;
  readonly #group: number;
  readonly #toOrd: number;
  #frames: BlockFrames = { ords: new Float64Array(0), times_us: new Float64Array(0), columns: [] };
  #raw = new Int32Array(0);
  #at = 0;
  ord = Number.POSITIVE_INFINITY;
  t_us = 0;

  constructor(stored: StoredBlocks, group: number, range: ReplayRange) {
    this.#stored = stored;
    this.#group = group;
    this.#toOrd = range.toOrd;
    this.#load(range.fromOrd);
  }

  feed(sink: JournalSink): void {
    const { ord, t_us } = this;
    if (this.#group === TICK_GROUP) {
      sink.tick(ord, t_us);
    } else {
      const { columns } = this.#frames;
      for (let column = 0; column < columns.length; column++) this.#raw[column] = columns[column]![this.#at]!;
      sink.frame(ord, t_us, this.#group, this.#raw, columns.length);
    }
    this.#at++;
    if (this.#at < this.#frames.ords.length) this.#settle();
    else this.#load(ord + 1);
  }

  /** Goes to the first frame at or after `fromOrd`. */
  #load(fromOrd: number): void {
    const block = this.#stored.nextOfGroup(this.#group, fromOrd);
    if (block === undefined || block.firstOrd > this.#toOrd) {
      this.ord = Number.POSITIVE_INFINITY;
      return;
    }
    this.#frames = openBlock(block);
    if (this.#raw.length !== block.columns) this.#raw = new Int32Array(block.columns);
    this.#at = 0;
    while (this.#frames.ords[this.#at]! < fromOrd) this.#at++;
    this.#settle();
  }

  #settle(): void {
    const ord = this.#frames.ords[this.#at]!;
    this.ord = ord <= this.#toOrd ? ord : Number.POSITIVE_INFINITY;
    this.t_us = this.#frames.times_us[this.#at]!;
  }
}

class EventSource implements Source {
  readonly #rows: Generator<EventRow>;
  readonly #range: ReplayRange;
  #row: EventRow | null = null;
  ord = Number.POSITIVE_INFINITY;
  t_us = 0;

  constructor(stored: StoredBlocks, range: ReplayRange) {
    this.#rows = stored.events();
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
