/** Reads the blocks and events of one session back, in bounded portions. */
import type Database from 'better-sqlite3';
import type { JournalEvent } from '../../../shared-core/journal.ts';
import type { Block } from './block-file.ts';
import { decodeJson } from './event-json.ts';
import type { EventRow } from './session-buffer.ts';

const BLOCK_COLUMNS = `first_ord AS firstOrd, last_ord AS lastOrd, first_us, last_us, frames, previous, checksum, body`;
const EVENT_COLUMNS = 'number, ord, t_us, side, kind, body, checksum';
/** Events read at a time. */
const PORTION = 512;

/** Long blocks, then fresh ones; in one statement, so that a rewriting in between loses none. */
function firstWhere(condition: string, order: string): string {
  return `SELECT * FROM (SELECT ${BLOCK_COLUMNS} FROM block WHERE session = @session AND ${condition} ORDER BY ${order} LIMIT 1)
    UNION ALL
    SELECT * FROM (SELECT ${BLOCK_COLUMNS} FROM fresh WHERE session = @session AND frames > 0
      AND turn = (SELECT turn FROM session WHERE number = @session) AND ${condition}
      ORDER BY number LIMIT 1)
    LIMIT 1`;
}

export class StoredBlocks {
  readonly #session: number;
  readonly #byOrd: Database.Statement<{ session: number; at: number }, Block>;
  readonly #byTime: Database.Statement<{ session: number; at: number }, Block>;
  readonly #events: Database.Statement<[number, number, number], EventRow>;

  constructor(db: Database.Database, session: number) {
    this.#session = session;
    this.#byOrd = db.prepare(firstWhere('last_ord >= @at', 'last_ord'));
    this.#byTime = db.prepare(firstWhere('last_us >= @at', 'last_us, last_ord'));
    this.#events = db.prepare(
      `SELECT ${EVENT_COLUMNS} FROM event WHERE session = ? AND number >= ? ORDER BY number LIMIT ?`,
    );
  }

  /** First block that holds frames at or after `ord`. */
  atOrd(ord: number): Block | undefined {
    return this.#byOrd.get({ session: this.#session, at: ord });
  }

  /** First block that holds frames at or after `t_us`. */
  atTime(t_us: number): Block | undefined {
    return this.#byTime.get({ session: this.#session, at: t_us });
  }

  /** All blocks in their order, one at a time. Meant for a session that nobody records, or inside a transaction. */
  *inOrder(): Generator<Block> {
    for (let ord = 0; ; ) {
      const block = this.atOrd(ord);
      if (block === undefined) return;
      yield block;
      ord = Math.max(ord, block.lastOrd) + 1;
    }
  }

  /** All events in order, a portion of them in memory at a time. */
  *events(): Generator<EventRow> {
    for (let number = 0; ; ) {
      const rows = this.#events.all(this.#session, number, PORTION);
      yield* rows;
      const last = rows.at(-1);
      if (last === undefined) return;
      number = last.number + 1;
    }
  }
}

export function eventOf(row: EventRow): JournalEvent {
  return { ord: row.ord, t_us: row.t_us, side: row.side, body: decodeJson(row.body) } as JournalEvent;
}
