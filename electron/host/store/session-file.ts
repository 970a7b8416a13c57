/**
 * One session as a file of its own, and back: the rows as they are, so that
 * `verify` of the copy says exactly what it says of the original. The file is
 * a database of the same form with one session in it, without a log beside it.
 */
import { closeSync, existsSync, fsyncSync, openSync, renameSync, rmSync, statSync } from 'node:fs';
import { dirname } from 'node:path';
import Database from 'better-sqlite3';
import { err, ok, type Result } from '../../../shared-core/base/result.ts';
import { openFileReadOnly } from './open-store.ts';
import { migrate } from './schema.ts';
import { storeErrorOf } from './sqlite-errors.ts';
import type { SqliteStore } from './sqlite-store.ts';
import type { StoreError } from './store-contract.ts';

/** Each with the column that names the session; in the order in which they must be written. */
const TABLES = [
  'session',
  'session_rig',
  'library',
  'level_group',
  'event',
  'block',
  'fresh',
  'level',
  'keyframe',
] as const;
/** Numbers that a table gives its rows by itself: not carried over. */
const OWN_NUMBER: Readonly<Record<string, string>> = { session: 'number', fresh: 'number' };

export interface CopiedSession {
  readonly id: string;
  readonly bytes: number;
}

/**
 * Writes one session to `file`, which is there whole or not at all. Of a
 * session being recorded: what is durable at this moment.
 * Errors: session-not-found, disk-full, read-only, folder-missing, damaged, io; `exists` if the file is there already.
 */
export function exportSession(store: SqliteStore, id: string, file: string): Result<CopiedSession, StoreError> {
  if (existsSync(file)) return err({ kind: 'exists', path: file, id: null });
  if (!existsSync(dirname(file))) return err({ kind: 'folder-missing', path: dirname(file) });
  const part = `${file}.part`;
  let target: Database.Database | null = null;
  try {
    rmSync(part, { force: true });
    target = new Database(part);
    // Written from front to back once: no log, and the file is synced as a whole.
    target.pragma('journal_mode = OFF');
    target.pragma('synchronous = OFF');
    migrate(target, 0);
    const to = target;
    const done = store.withDatabase((from) => copySession(from, id, to));
    if (!done.ok) return done;
    target.close();
    target = null;
    sync(part);
    renameSync(part, file);
    return ok({ id, bytes: statSync(file).size });
  } catch (error) {
    return err(storeErrorOf(error, file));
  } finally {
    target?.close();
    rmSync(part, { force: true });
  }
}

/** A session that was taken in. */
export interface TakenIn extends CopiedSession {
  /** It was there before, the same in every number. */
  readonly wasThere: boolean;
}

/**
 * Takes all sessions of a file into the store, or none, after they have been
 * verified. A file with one that is not whole is refused: it is for `salvage`.
 * One that is there already, the same in every number, is left as it is.
 * @returns the sessions that are now there
 * Errors: those of `verifyFile` and `takeInVerified`
 */
export function importSession(file: string, store: SqliteStore): Result<readonly TakenIn[], StoreError> {
  const verified = verifyFile(file);
  return verified.ok ? takeInVerified(file, store) : verified;
}

/**
 * Reads all of a session file.
 * @returns the sessions in it, all of them whole
 * Errors: those of opening the file; damaged where one is not whole
 */
export function verifyFile(file: string): Result<readonly CopiedSession[], StoreError> {
  return withFile(file, (source, sessions) => {
    for (const { id } of sessions) {
      const verified = source.verify(id);
      if (!verified.ok) return verified;
      if (verified.value.isWhole) continue;
      const detail = `session ${id} in it is not whole (${verified.value.findings[0]})`;
      return err({ kind: 'damaged', path: file, detail, setAsideAs: null });
    }
    return ok(sessions);
  });
}

/**
 * For a file that `verifyFile` has found whole: all of its sessions in one
 * transaction, or none. Not to be done while a session is recorded: it takes seconds.
 * Errors: those of opening the file; `exists` for another session of the same name; disk-full, read-only, io
 */
export function takeInVerified(file: string, store: SqliteStore): Result<readonly TakenIn[], StoreError> {
  return withFile(file, (source, sessions) =>
    store.withDatabase((to) => {
      const all = to.transaction(() =>
        sessions.map(({ id, bytes }): TakenIn => {
          const done = takeIn(source, id, to, store.path);
          if (!done.ok) throw new Undone(done.error);
          return { id, bytes, wasThere: done.value };
        }),
      );
      try {
        return ok(all.immediate());
      } catch (error) {
        if (error instanceof Undone) return err(error.why);
        throw error;
      }
    }),
  );
}

/** Thrown within a transaction, so that it is undone. */
class Undone extends Error {
  readonly why: StoreError;

  constructor(why: StoreError) {
    super(why.kind);
    this.why = why;
  }
}

function withFile<T>(
  file: string,
  work: (source: SqliteStore, sessions: readonly CopiedSession[]) => Result<T, StoreError>,
): Result<T, StoreError> {
  const opened = openFileReadOnly(file);
  if (!opened.ok) return opened;
  const source = opened.value;
  try {
    const listed = source.list({ includeBinned: true });
    if (!listed.ok) return listed;
    return work(
      source,
      listed.value.map(({ id, bytes }) => ({ id, bytes })),
    );
  } finally {
    source.close();
  }
}

/** Whether it was there before. */
function takeIn(source: SqliteStore, id: string, to: Database.Database, path: string): Result<boolean, StoreError> {
  return source.withDatabase((from) => {
    const there = proofOf(to, id);
    if (there !== null) return there === proofOf(from, id) ? ok(true) : err({ kind: 'exists', path, id });
    const done = copySession(from, id, to);
    return done.ok ? ok(false) : done;
  });
}

/** What two sessions share only if their frames and events are the same. */
function proofOf(db: Database.Database, id: string): string | null {
  const proof = db
    .prepare<[string], unknown[]>(
      `SELECT coalesce(f.all_frames, s.frames), coalesce(f.checksum, s.frame_chain), coalesce(f.events, s.events),
         coalesce(f.event_chain, s.event_chain), coalesce(f.newest_ord, s.last_ord), s.started_at_epochMs
       FROM session s LEFT JOIN fresh f ON f.number =
         (SELECT max(number) FROM fresh WHERE session = s.number AND turn = s.turn) WHERE s.id = ?`,
    )
    .raw()
    .get(id);
  return proof === undefined ? null : JSON.stringify(proof);
}

/** Row by row: a session may be larger than memory. One read transaction, so that all rows are of one moment. */
function copySession(from: Database.Database, id: string, to: Database.Database): Result<null, StoreError> {
  return from.transaction((): Result<null, StoreError> => {
    const number = from.prepare<[string], number>('SELECT number FROM session WHERE id = ?').pluck().get(id);
    if (number === undefined) return err({ kind: 'session-not-found', id });
    let session = 0;
    for (const table of TABLES) {
      const columns = columnsOf(from, table);
      const names = columns.join(', ');
      const rows = from
        .prepare<[number], unknown[]>(
          `SELECT ${names} FROM ${table} WHERE ${table === 'session' ? 'number' : 'session'} = ? ORDER BY ${orderOf(table)}`,
        )
        .raw();
      const insert = to.prepare(`INSERT INTO ${table} (${names}) VALUES (${columns.map(() => '?').join(', ')})`);
      const own = columns.indexOf('session');
      for (const row of rows.iterate(number)) {
        if (own >= 0) row[own] = session;
        const done = insert.run(...row);
        if (table === 'session') session = Number(done.lastInsertRowid);
      }
    }
    return ok(null);
  })();
}

function columnsOf(db: Database.Database, table: string): string[] {
  const rows = db.prepare('SELECT name FROM pragma_table_info(?)').pluck().all(table) as string[];
  return rows.filter((name) => name !== OWN_NUMBER[table]);
}

/** As they were written, so that rows that are read together lie together. */
function orderOf(table: string): string {
  return table === 'event' ? 'number' : 'rowid';
}

function sync(path: string): void {
  const file = openSync(path, 'r+');
  try {
    fsyncSync(file);
  } finally {
    closeSync(file);
  }
}
