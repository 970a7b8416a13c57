/** Reads the blocks and events of one session back, in bounded portions. */
import type Database from 'better-sqlite3';
import type { JournalEvent } from '../../../shared-core/journal.ts';
import type { Block } from './block-file.ts';
import { decodeJson } from './event-json.ts';
import type { EventRow } from './session-buffer.ts';

const BLOCK_COLUMNS = `number, rate_group AS "group", first_ord AS firstOrd, last_ord AS lastOrd, first_us, last_us,
  frames, columns, previous, checksum, body`;
const EVENT_COLUMNS = 'number, ord, t_us, side, kind, body, checksum';
/** Events read at a time. */
const PORTION = 512;

export class StoredBlocks {
  readonly #session: number;
  readonly #groups: Database.Statement<[number], { group: number }>;
  readonly #nextOfGroup: Database.Statement<[number, number, number], Block>;
  readonly #byNumber: Database.Statement<[number, number], Block>;
  readonly #events: Database.Statement<[number, number, number], EventRow>;

  constructor(db: Database.Database, session: number) {
    this.#session = session;
    this.#groups = db.prepare('SELECT DISTINCT rate_group AS "group" FROM block WHERE session = ? ORDER BY rate_group');
    this.#nextOfGroup = db.prepare(
      `SELECT ${BLOCK_COLUMNS} FROM block WHERE session = ? AND rate_group = ? AND last_ord >= ? ORDER BY last_ord LIMIT 1`,
    );
    this.#byNumber = db.prepare(
      `SELECT ${BLOCK_COLUMNS} FROM block WHERE session = ? AND number >= ? ORDER BY number LIMIT 1`,
    );
    this.#events = db.prepare(
      `SELECT ${EVENT_COLUMNS} FROM event WHERE session = ? AND number >= ? ORDER BY number LIMIT ?`,
    );
  }

  groups(): number[] {
    return this.#groups.all(this.#session).map((row) => row.group);
  }

  /** First block of the group that holds frames at or after `fromOrd`. */
  nextOfGroup(group: number, fromOrd: number): Block | undefined {
    return this.#nextOfGroup.get(this.#session, group, fromOrd);
  }

  /** All blocks in the order of their chain, one at a time. */
  *inOrder(): Generator<Block> {
    for (let number = 0; ; number++) {
      const block = this.#byNumber.get(this.#session, number);
      if (block === undefined) return;
      yield block;
      number = block.number;
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
