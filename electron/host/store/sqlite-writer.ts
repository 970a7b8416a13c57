/**
 * One session being recorded into SQLite. A commit is one transaction with
 * all that the buffer holds; the buffer lets go only after it.
 */
import type Database from 'better-sqlite3';
import { err, ok, type Result } from '../../../shared-core/base/result.ts';
import type { JournalEvent } from '../../../shared-core/journal.ts';
import { type PendingRows, SessionBuffer } from './session-buffer.ts';
import { SessionTable } from './session-table.ts';
import { storeErrorOf } from './sqlite-errors.ts';
import type { SessionStart, SessionSummary, SessionWriter, StoreError } from './store-contract.ts';

export class SqliteWriter implements SessionWriter {
  readonly #db: Database.Database;
  readonly #start: SessionStart;
  readonly #table: SessionTable;
  readonly #onClosed: () => void;
  readonly #buffer = new SessionBuffer();
  /** Null until the session's own row is durable. */
  #number: number | null = null;
  #bytes = 0;
  #isClosed = false;

  constructor(db: Database.Database, start: SessionStart, onClosed: () => void) {
    this.#db = db;
    this.#start = start;
    this.#table = new SessionTable(db);
    this.#onClosed = onClosed;
  }

  frame(ord: number, t_us: number, group: number, raw: Int32Array, columns: number): void {
    this.#buffer.frame(ord, t_us, group, raw, columns);
  }

  tick(ord: number, t_us: number): void {
    this.#buffer.tick(ord, t_us);
  }

  event(event: JournalEvent): void {
    this.#buffer.event(event);
  }

  get held_s(): number {
    return this.#buffer.held_s;
  }

  commit(summary: SessionSummary): Result<{ readonly bytes: number }, StoreError> {
    return this.#write(summary, null);
  }

  close(summary: SessionSummary, endedAt_epochMs: number): Result<null, StoreError> {
    if (this.#isClosed) return ok(null);
    const done = this.#write(summary, endedAt_epochMs);
    if (!done.ok) return done;
    this.#isClosed = true;
    this.#onClosed();
    return ok(null);
  }

  /** @throws Error after close: what comes then would have no session */
  #write(summary: SessionSummary, endedAt_epochMs: number | null): Result<{ readonly bytes: number }, StoreError> {
    if (this.#isClosed) throw new Error(`expected session ${this.#start.id} to be open, it was closed`);
    const rows = this.#buffer.pending();
    const bytes = this.#bytes + bytesOf(rows);
    try {
      // Begun "immediate", so that a lock held elsewhere shows before anything is written.
      const number = this.#db
        .transaction(() => {
          const number = this.#number ?? this.#table.insert(this.#start);
          this.#insert(number, rows);
          this.#table.update(number, summary, rows, bytes, endedAt_epochMs);
          return number;
        })
        .immediate();
      this.#number = number;
    } catch (error) {
      return err(storeErrorOf(error, this.#db.name));
    }
    this.#bytes = bytes;
    this.#buffer.settle();
    return ok({ bytes });
  }

  #insert(session: number, rows: PendingRows): void {
    const block = this.#db.prepare(
      `INSERT INTO block (session, number, rate_group, first_ord, last_ord, first_us, last_us, frames, columns,
         previous, checksum, body) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`,
    );
    for (const b of rows.blocks) {
      block.run(
        session,
        b.number,
        b.group,
        b.firstOrd,
        b.lastOrd,
        b.first_us,
        b.last_us,
        b.frames,
        b.columns,
        b.previous,
        b.checksum,
        b.body,
      );
    }
    const event = this.#db.prepare(
      'INSERT INTO event (session, number, ord, t_us, side, kind, body, checksum) VALUES (?, ?, ?, ?, ?, ?, ?, ?)',
    );
    for (const e of rows.events) event.run(session, e.number, e.ord, e.t_us, e.side, e.kind, e.body, e.checksum);
  }
}

function bytesOf(rows: PendingRows): number {
  let bytes = 0;
  for (const block of rows.blocks) bytes += block.body.length;
  for (const event of rows.events) bytes += event.body.length;
  return bytes;
}
