/**
 * The update from version 2 to 3: frames of each session are read from its old
 * blocks and recorded anew, as long blocks with levels. Events stay as they
 * are. Runs inside the update's transaction, after a copy of the old file has
 * been made (`schema.ts`).
 *
 * A block of the old file that is damaged is left out: what it had is in the
 * copy only, its ords are missing, and `verify` says so.
 */
import type Database from 'better-sqlite3';
import type { JournalEvent } from '../../../../shared-core/journal.ts';
import { BlockDamage } from '../block-file.ts';
import { decodeJson } from '../event-json.ts';
import { type PendingRows, SessionBuffer } from '../session-buffer.ts';
import { bytesOf, RowWriter } from '../sqlite-writer.ts';
import { openShortBlock, type ShortBlock, type ShortBlockFrames } from './short-block.ts';

/** Frames between two looks at what is ready to be written: bounds the memory of the update. */
const FRAMES_AT_A_TIME = 4096;

export function rewriteShortBlocks(db: Database.Database): void {
  const sessions = db.prepare<[], { number: number }>('SELECT number FROM session').all();
  for (const { number } of sessions) rewriteSession(db, number);
}

function rewriteSession(db: Database.Database, session: number): void {
  const buffer = new SessionBuffer();
  const table = tableOf(db, session);
  if (table !== null) buffer.event(table);
  const writer = new RowWriter(db);
  let bytes = 0;
  let waiting = 0;
  const write = (isEnd: boolean): PendingRows => {
    const rows = { ...buffer.pending(isEnd), events: [] };
    // Fresh blocks stay in the buffer: each will be part of a long one.
    if (rows.blocks.length > 0 || isEnd) {
      writer.insert(session, rows);
      bytes += bytesOf(rows);
      buffer.settle();
    }
    waiting = 0;
    return rows;
  };
  for (const frame of framesOf(db, session)) {
    buffer.frame(frame.ord, frame.t_us, frame.group, frame.raw, frame.raw.length);
    if (++waiting >= FRAMES_AT_A_TIME) write(false);
  }
  const end = write(true);
  const events = db.prepare<[number], number>('SELECT coalesce(sum(length(body)), 0) FROM event WHERE session = ?');
  db.prepare('UPDATE session SET frames = ?, frame_chain = ?, bytes = ? WHERE number = ?').run(
    end.frameCount,
    end.frameChain,
    bytes + events.pluck().get(session)!,
    session,
  );
}

/** The first channel table, which says how fast each group is: the levels need it before the first frame. */
function tableOf(db: Database.Database, session: number): JournalEvent | null {
  const row = db
    .prepare<[number], { ord: number; t_us: number; body: string }>(
      "SELECT ord, t_us, body FROM event WHERE session = ? AND kind = 'table' ORDER BY number LIMIT 1",
    )
    .get(session);
  if (row === undefined) return null;
  try {
    return { ord: row.ord, t_us: row.t_us, side: 'in', body: decodeJson(row.body) } as JournalEvent;
  } catch {
    // Damaged: verify will name it. Levels are then made as for 100 Hz.
    return null;
  }
}

interface OldFrame {
  readonly ord: number;
  readonly t_us: number;
  readonly group: number;
  readonly raw: Int32Array;
}

/** All groups merged by `ord`, one block of each in memory. */
function* framesOf(db: Database.Database, session: number): Generator<OldFrame> {
  const groups = db
    .prepare<[number], number>('SELECT DISTINCT rate_group FROM block_before_3 WHERE session = ? ORDER BY rate_group')
    .pluck()
    .all(session);
  const next = db.prepare<[number, number, number], ShortBlock>(
    `SELECT number, rate_group AS "group", first_ord AS firstOrd, last_ord AS lastOrd, first_us, last_us, frames,
       columns, previous, checksum, body
     FROM block_before_3 WHERE session = ? AND rate_group = ? AND number > ? ORDER BY number LIMIT 1`,
  );
  const readers = groups.map((group) => new GroupReader((number) => next.get(session, group, number)));
  let last = -1;
  for (;;) {
    let first = readers[0];
    for (const reader of readers) if (first === undefined || reader.ord < first.ord) first = reader;
    if (first === undefined || first.ord === Number.POSITIVE_INFINITY) return;
    // Twice the same ord is damage; the first one counts.
    if (first.ord > last) {
      last = first.ord;
      yield first.frame();
    }
    first.next();
  }
}

class GroupReader {
  readonly #after: (number: number) => ShortBlock | undefined;
  #block: ShortBlock | undefined;
  #frames: ShortBlockFrames | null = null;
  #at = 0;
  ord = Number.POSITIVE_INFINITY;

  constructor(after: (number: number) => ShortBlock | undefined) {
    this.#after = after;
    this.#load(-1);
  }

  frame(): OldFrame {
    const { times_us, columns } = this.#frames!;
    const raw = Int32Array.from(columns, (column) => column[this.#at]!);
    return { ord: this.ord, t_us: times_us[this.#at]!, group: this.#block!.group, raw };
  }

  next(): void {
    this.#at++;
    if (this.#at < this.#frames!.ords.length) this.ord = this.#frames!.ords[this.#at]!;
    else this.#load(this.#block!.number);
  }

  #load(number: number): void {
    for (let after = number; ; after = this.#block.number) {
      this.#block = this.#after(after);
      this.ord = Number.POSITIVE_INFINITY;
      if (this.#block === undefined) return;
      try {
        this.#frames = openShortBlock(this.#block);
      } catch (error) {
        if (!(error instanceof BlockDamage)) throw error;
        continue;
      }
      this.#at = 0;
      this.ord = this.#frames.ords[0]!;
      return;
    }
  }
}
