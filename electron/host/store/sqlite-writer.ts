/**
 * One session being recorded into SQLite. A commit is one transaction with
 * all that the buffer holds; the buffer lets go only after it. Most commits
 * add one row to table `fresh` and touch nothing else.
 */
import type Database from 'better-sqlite3';
import { err, ok, type Result } from '../../../shared-core/base/result.ts';
import type { JournalEvent } from '../../../shared-core/journal.ts';
import type { Block } from './block-file.ts';
import type { Keyframe } from './keyframe.ts';
import { type PendingRows, SessionBuffer } from './session-buffer.ts';
import { SessionTable } from './session-table.ts';
import { storeErrorOf } from './sqlite-errors.ts';
import type { SessionStart, SessionSummary, SessionWriter, StoreError } from './store-contract.ts';

export class SqliteWriter implements SessionWriter {
  readonly #db: Database.Database;
  readonly #start: SessionStart;
  readonly #table: SessionTable;
  readonly #onClosed: () => void;
  readonly #rows: RowWriter;
  readonly #insertFresh: Database.Statement<unknown[]>;
  readonly #overwriteFresh: Database.Statement<unknown[]>;
  readonly #clearFresh: Database.Statement<[number]>;
  readonly #insertKeyframe: Database.Statement<unknown[]>;
  /** Prepared once: at one commit a second, preparing costs more than writing. */
  readonly #commit: Database.Transaction<(change: Change) => Numbers>;
  readonly #buffer = new SessionBuffer();
  #numbers: Numbers = { session: null, slots: [], used: 0, turn: 0 };
  /** Of all that is durable, without the fresh blocks; and those. */
  #bytes = 0;
  #freshBytes = 0;
  /** What the session's row says of runs, alarms and marks. */
  #summarySaid = '';
  #duration_us = 0;
  #isClosed = false;

  constructor(db: Database.Database, start: SessionStart, onClosed: () => void) {
    this.#db = db;
    this.#start = start;
    this.#table = new SessionTable(db);
    this.#onClosed = onClosed;
    this.#rows = new RowWriter(db);
    this.#insertFresh = db.prepare(
      `INSERT INTO fresh (session, turn, first_ord, last_ord, first_us, last_us, frames, previous, checksum, body,
         newest_ord, all_frames, events, event_chain, duration_us, bytes)
       VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`,
    );
    this.#overwriteFresh = db.prepare(
      `UPDATE fresh SET session = ?, turn = ?, first_ord = ?, last_ord = ?, first_us = ?, last_us = ?, frames = ?,
         previous = ?, checksum = ?, body = ?, newest_ord = ?, all_frames = ?, events = ?, event_chain = ?,
         duration_us = ?, bytes = ? WHERE number = ?`,
    );
    this.#clearFresh = db.prepare('DELETE FROM fresh WHERE session = ?');
    this.#insertKeyframe = db.prepare('INSERT INTO keyframe (session, ord, t_us, body) VALUES (?, ?, ?, ?)');
    this.#commit = db.transaction((change: Change) => this.#apply(change));
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

  derived(t_us: number, keys: readonly string[], value: Float64Array, updated_us: Float64Array, from: number): void {
    this.#buffer.derived(t_us, keys, value, updated_us, from);
  }

  keyframe(keyframe: Keyframe): void {
    this.#buffer.keyframe(keyframe);
  }

  get heldBytes(): number {
    return this.#buffer.heldBytes;
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
    const rows = this.#buffer.pending(endedAt_epochMs !== null);
    const said = saidOf(summary);
    const isNews = said !== this.#summarySaid || rows.clearsFresh || endedAt_epochMs !== null;
    const isIdle = rows.isEmpty && !isNews && summary.duration_us === this.#duration_us;
    if (this.#numbers.session !== null && isIdle) return ok({ bytes: this.#bytes + this.#freshBytes });
    const bytes = this.#bytes + bytesOf(rows);
    const freshBytes = (rows.clearsFresh ? 0 : this.#freshBytes) + sum(rows.fresh);
    const all = bytes + freshBytes;
    try {
      // Begun "immediate", so that a lock held elsewhere shows before anything is written.
      this.#numbers = this.#commit.immediate({ rows, summary, bytes: all, isNews, endedAt_epochMs });
    } catch (error) {
      return err(storeErrorOf(error, this.#db.name));
    }
    this.#bytes = bytes;
    this.#freshBytes = freshBytes;
    this.#summarySaid = said;
    this.#duration_us = summary.duration_us;
    this.#buffer.settle();
    return ok({ bytes: all });
  }

  /** Inside the transaction: changes nothing of the writer, since it may fail. */
  #apply({ rows, summary, bytes, isNews, endedAt_epochMs }: Change): Numbers {
    const { session: known, slots, used, turn } = this.#numbers;
    const session = known ?? this.#table.insert(this.#start);
    const next = {
      session,
      slots: [...slots],
      used: rows.clearsFresh ? 0 : used,
      turn: turn + (rows.clearsFresh ? 1 : 0),
    };
    this.#rows.insert(session, rows);
    for (const { ord, t_us, body } of rows.keyframes) this.#insertKeyframe.run(session, ord, t_us, body);
    const tail = [rows.lastOrd, rows.frameCount, rows.eventCount, rows.eventChain, summary.duration_us, bytes];
    const put = (values: readonly unknown[]) => {
      const slot = next.slots[next.used++];
      if (slot !== undefined) this.#overwriteFresh.run(session, next.turn, ...values, ...tail, slot);
      else next.slots.push(Number(this.#insertFresh.run(session, next.turn, ...values, ...tail).lastInsertRowid));
    };
    for (const block of rows.fresh) put(valuesOf(block));
    // Events alone: a row that says how far they go.
    const isEventsAlone = rows.fresh.length === 0 && !rows.clearsFresh && rows.events.length > 0;
    if (isEventsAlone) put([0, 0, 0, 0, 0, rows.frameChain, rows.frameChain, NO_BODY]);
    // Without a fresh block the session's row must say where all stands.
    if (isNews || rows.fresh.length === 0) {
      this.#table.update(session, summary, rows, bytes, endedAt_epochMs, next.turn);
    }
    if (endedAt_epochMs !== null) this.#clearFresh.run(session);
    return next;
  }
}

/** What the database calls the session, and its rows in table `fresh`. */
interface Numbers {
  /** Null until the session's own row is durable. */
  readonly session: number | null;
  /** Rows of `fresh`, rising, and how many of them are of this turn. */
  readonly slots: readonly number[];
  readonly used: number;
  readonly turn: number;
}

interface Change {
  readonly rows: PendingRows;
  readonly summary: SessionSummary;
  readonly bytes: number;
  readonly isNews: boolean;
  readonly endedAt_epochMs: number | null;
}

const NO_BODY = new Uint8Array(0);

/** Writes long blocks, events and levels of a session: all but its fresh blocks and its own row. */
export class RowWriter {
  readonly #block: Database.Statement<unknown[]>;
  readonly #event: Database.Statement<unknown[]>;
  readonly #group: Database.Statement<unknown[]>;
  readonly #level: Database.Statement<unknown[]>;

  constructor(db: Database.Database) {
    this.#block = db.prepare(
      `INSERT INTO block (session, first_ord, last_ord, first_us, last_us, frames, previous, checksum, body)
       VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)`,
    );
    this.#event = db.prepare(
      'INSERT INTO event (session, number, ord, t_us, side, kind, body, checksum) VALUES (?, ?, ?, ?, ?, ?, ?, ?)',
    );
    this.#group = db.prepare('INSERT INTO level_group (session, rate_group, base_us, keys) VALUES (?, ?, ?, ?)');
    this.#level = db.prepare(
      'INSERT INTO level (session, rate_group, level, chunk, place, body) VALUES (?, ?, ?, ?, ?, ?)',
    );
  }

  insert(session: number, rows: PendingRows): void {
    for (const b of rows.blocks) this.#block.run(session, ...valuesOf(b));
    for (const e of rows.events) {
      this.#event.run(session, e.number, e.ord, e.t_us, e.side, e.kind, e.body, e.checksum);
    }
    for (const g of rows.levelGroups) {
      this.#group.run(session, g.group, g.base_us, g.keys === null ? null : JSON.stringify(g.keys));
    }
    for (const l of rows.levels) this.#level.run(session, l.group, l.level, l.chunk, l.column, l.body);
  }
}

function valuesOf(b: Block): (number | Uint8Array)[] {
  return [b.firstOrd, b.lastOrd, b.first_us, b.last_us, b.frames, b.previous, b.checksum, b.body];
}

/** Of what `RowWriter` writes. */
export function bytesOf(rows: PendingRows): number {
  return sum(rows.blocks) + sum(rows.events) + sum(rows.levels) + sum(rows.keyframes);
}

function sum(rows: readonly { readonly body: { readonly length: number } }[]): number {
  let bytes = 0;
  for (const row of rows) bytes += row.body.length;
  return bytes;
}

/**
 * What of a summary is worth a write of the session's row at once. The peak
 * speed of a run under way changes all the time: it goes with the next long block.
 */
function saidOf(summary: SessionSummary): string {
  const runs = summary.runs.map((run) => `${run.run} ${run.from_us} ${run.to_us}`);
  return `${summary.alarms} ${summary.aborts} ${summary.marks} ${runs.join(', ')}`;
}
