/** Reads the blocks and events of one session back, in bounded portions. */
import type Database from 'better-sqlite3';
import type { JournalEvent } from '../../../shared-core/journal.ts';
import type { Block } from './block-file.ts';
import { decodeJson } from './event-json.ts';
import type { EventRow } from './session-buffer.ts';
import type { EventChoice } from './store-contract.ts';

const BLOCK_COLUMNS = `first_ord AS firstOrd, last_ord AS lastOrd, first_us, last_us, frames, previous, checksum, body`;
const EVENT_COLUMNS = 'number, ord, t_us, side, kind, body, checksum';
/** Events read at a time. */
const PORTION = 512;

export class StoredBlocks {
  readonly #db: Database.Database;
  readonly #session: number;
  readonly #longByOrd: Database.Statement<[number, number], Block>;
  readonly #longByTime: Database.Statement<[number, number], Block>;
  readonly #freshByOrd: Database.Statement<[number, number, number], Block>;
  readonly #freshByTime: Database.Statement<[number, number, number], Block>;
  readonly #events: Database.Statement<[number, number, number], EventRow>;
  readonly #eventOrd: Database.Statement<[number, number], { number: number; ord: number }>;
  readonly #longOnes = new WeakSet<Block>();
  readonly #lastEvent: Database.Statement<[number], number | null>;

  constructor(db: Database.Database, session: number) {
    this.#db = db;
    this.#session = session;
    const long = (at: string) =>
      db.prepare<[number, number], Block>(
        `SELECT ${BLOCK_COLUMNS} FROM block WHERE session = ? AND ${at} >= ? ORDER BY ${at} LIMIT 1`,
      );
    const fresh = (at: string) =>
      db.prepare<[number, number, number], Block>(
        `SELECT ${BLOCK_COLUMNS} FROM fresh WHERE session = ? AND frames > 0
           AND turn = (SELECT turn FROM session WHERE number = ?) AND ${at} >= ? ORDER BY number LIMIT 1`,
      );
    this.#longByOrd = long('last_ord');
    this.#longByTime = long('last_us');
    this.#freshByOrd = fresh('last_ord');
    this.#freshByTime = fresh('last_us');
    this.#eventOrd = db.prepare(
      'SELECT number, ord FROM event WHERE session = ? AND number >= ? ORDER BY number LIMIT 1',
    );
    this.#lastEvent = db.prepare<[number], number | null>('SELECT max(number) FROM event WHERE session = ?').pluck();
    this.#events = db.prepare(
      `SELECT ${EVENT_COLUMNS} FROM event WHERE session = ? AND number >= ? ORDER BY number LIMIT ?`,
    );
  }

  /** First block that holds frames at or after `ord`. */
  atOrd(ord: number): Block | undefined {
    return this.#first(this.#longByOrd, this.#freshByOrd, ord);
  }

  /** First block that holds frames at or after `t_us`. */
  atTime(t_us: number): Block | undefined {
    return this.#first(this.#longByTime, this.#freshByTime, t_us);
  }

  /** A long block, else a fresh one. One statement over both tables takes three times as long. */
  #first(
    long: Database.Statement<[number, number], Block>,
    fresh: Database.Statement<[number, number, number], Block>,
    at: number,
  ): Block | undefined {
    const session = this.#session;
    const block = long.get(session, at);
    if (block !== undefined) return this.#long(block);
    const newest = fresh.get(session, session, at);
    // A recorder may have made a long block since the first look, and begun fresh ones behind it.
    const made = long.get(session, at);
    return made === undefined ? newest : this.#long(made);
  }

  #long(block: Block): Block {
    this.#longOnes.add(block);
    return block;
  }

  /** Whether this block, which was given here, is a long one: those never change. */
  isLong(block: Block): boolean {
    return this.#longOnes.has(block);
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

  /** Number of the first event at or after `ord`; ords do not fall with the number. Found in a few looks, however many there are. */
  #firstEvent(ord: number): number {
    let low = 0;
    let high = (this.#lastEvent.get(this.#session) ?? -1) + 1;
    while (low < high) {
      const middle = (low + high) >>> 1;
      const row = this.#eventOrd.get(this.#session, middle);
      // Behind a gap, which only damage makes, the next one speaks for it.
      if (row === undefined || row.ord >= ord) high = middle;
      else low = Math.max(middle, row.number) + 1;
    }
    return low;
  }

  /** All at once: for kinds of which there are few. */
  chosenEvents({ only, without, fromOrd = 0, toOrd, isNewest }: EventChoice): EventRow[] {
    const kinds = only ?? without ?? [];
    const marks = kinds.map(() => '?').join(', ');
    const rows = this.#db
      .prepare<unknown[], EventRow>(
        `SELECT ${EVENT_COLUMNS} FROM event WHERE session = ? AND number >= ? AND ord <= ?
           AND kind ${only === undefined ? 'NOT IN' : 'IN'} (${marks})
         ORDER BY number ${isNewest === true ? 'DESC LIMIT 1' : ''}`,
      )
      .all(this.#session, fromOrd > 0 ? this.#firstEvent(fromOrd) : 0, toOrd ?? Number.MAX_SAFE_INTEGER, ...kinds);
    return rows;
  }

  /** Events from `fromOrd` on in order, a portion of them in memory at a time. */
  *events(fromOrd = 0): Generator<EventRow> {
    for (let number = fromOrd > 0 ? this.#firstEvent(fromOrd) : 0; ; ) {
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
