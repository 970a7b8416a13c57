/**
 * Opens the store of a data folder: for the one recorder, or for reading
 * beside it. A file that is not ours, newer, or damaged is never written to.
 */
import { copyFileSync, existsSync, mkdirSync, mkdtempSync, renameSync, rmSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import { err, ok, type Result } from '../../../shared-core/base/result.ts';
import { readFileHeader } from './file-header.ts';
import { isRecorderAlive, lockForRecording } from './recorder-lock.ts';
import { APPLICATION_ID, migrate, migrateKeepingCopy, SCHEMA_VERSION } from './schema.ts';
import { SessionTable } from './session-table.ts';
import { storeErrorOf } from './sqlite-errors.ts';
import { SqliteStore } from './sqlite-store.ts';
import type { StoreError } from './store-contract.ts';

export const DATABASE_NAME = 'runstand.sqlite';
const LOCK_NAME = 'runstand.lock';

/** The recorder must not stand still behind another writer; there should be none. */
const RECORDER_WAIT_MS = 200;
const READER_WAIT_MS = 2000;
/** Files up to this size are checked page by page on opening, in some milliseconds; larger ones by the reading worker. */
const CHECK_UP_TO_BYTES = 4 * 1024 * 1024;
/** What a write-ahead log is cut back to once it has grown beyond. */
const LOG_BYTES = 16 * 1024 * 1024;

/**
 * Opens the folder's store for recording; makes folder and file where there
 * are none. Sessions that nobody closed are marked as broken off.
 *
 * Errors: locked (another recorder is at work in the folder), not-a-database,
 * foreign-database, schema-too-new, damaged, read-only, folder-missing, io.
 * In each of these cases the file is left as it is.
 */
export function openStore(folder: string): Result<SqliteStore, StoreError> {
  const path = join(folder, DATABASE_NAME);
  const lockPath = join(folder, LOCK_NAME);
  try {
    mkdirSync(folder, { recursive: true });
  } catch (error) {
    return err(storeErrorOf(error, path));
  }
  const lock = lockForRecording(lockPath);
  if (!lock.ok) return err({ ...lock.error, path } as StoreError);
  const opened = openForRecording(path, () => lock.value.release());
  if (!opened.ok) lock.value.release();
  return opened;
}

/**
 * Opens the folder's store for reading: in a worker, in a command-line tool,
 * also while another process or thread records into it.
 * Errors: folder-missing (or no store in it), and those of `openStore`.
 */
export function openStoreReadOnly(folder: string): Result<SqliteStore, StoreError> {
  return openFileReadOnly(join(folder, DATABASE_NAME), join(folder, LOCK_NAME));
}

/**
 * Opens one database file for reading, such as one that was set aside. What
 * of a damaged file can be read, is read.
 * @param lockPath lock of the recorder that may be writing to it, if any
 */
export function openFileReadOnly(path: string, lockPath: string | null = null): Result<SqliteStore, StoreError> {
  if (!existsSync(path)) return err({ kind: 'folder-missing', path });
  // No look at the header first: this process may have the file open for recording (see file-header.ts).
  const opened = tryReadOnly(path, path);
  if (!opened.ok) {
    // Without the right to write beside it, a file in WAL mode cannot even be read; a copy elsewhere can.
    const isAtRest = !existsSync(`${path}-wal`) || statSync(`${path}-wal`).size === 0;
    return opened.error.kind === 'read-only' && isAtRest ? openCopy(path) : opened;
  }
  const isRecordedElsewhere = () => lockPath !== null && isRecorderAlive(lockPath);
  // A file of an older version is left as it is: a copy of it is brought up to date and read.
  const version = opened.value.pragma('user_version', { simple: true }) as number;
  if (version < SCHEMA_VERSION) return openUpdatedCopy(opened.value, path);
  return ok(new SqliteStore(opened.value, path, { onClose: () => {}, isRecordedElsewhere }));
}

/**
 * Moves a damaged database (and its logs) to a new name in the same folder.
 * Nothing of it is deleted. Not while it is open.
 * @param now for the name
 * @returns the new path
 */
export function setAside(path: string, now: Date): Result<string, StoreError> {
  const stamp = now.toISOString().slice(0, 19).replaceAll(':', '');
  let target = path.replace(/\.sqlite$/, `-set-aside-${stamp}.sqlite`);
  for (let copy = 2; existsSync(target); copy++) {
    target = path.replace(/\.sqlite$/, `-set-aside-${stamp}-${copy}.sqlite`);
  }
  try {
    renameSync(path, target);
    for (const log of ['-wal', '-shm', '-journal']) {
      if (existsSync(path + log)) renameSync(path + log, target + log);
    }
    return ok(target);
  } catch (error) {
    return err(storeErrorOf(error, path));
  }
}

export interface OpenedStore {
  readonly store: SqliteStore;
  /** A damaged file that was set aside, to be told to the operator; null on a good day. */
  readonly setAside: StoreError | null;
}

/**
 * `openStore`, and where the file is damaged: sets it aside and begins a fresh
 * one, so that a run can be recorded today. Errors: those of `openStore` but damaged.
 */
export function openStoreSettingAside(folder: string, now: Date): Result<OpenedStore, StoreError> {
  const first = openStore(folder);
  if (first.ok) return ok({ store: first.value, setAside: null });
  if (first.error.kind !== 'damaged') return first;
  const moved = setAside(first.error.path, now);
  if (!moved.ok) return moved;
  const second = openStore(folder);
  if (!second.ok) return second;
  return ok({ store: second.value, setAside: { ...first.error, setAsideAs: moved.value } });
}

function openForRecording(path: string, onClose: () => void): Result<SqliteStore, StoreError> {
  const header = readFileHeader(path);
  if (!header.ok) return header;
  let db: Database.Database | null = null;
  try {
    if (header.value.state === 'empty') begin(path);
    db = new Database(path, { timeout: RECORDER_WAIT_MS });
    const refused = refusal(db, path) ?? damage(db, path);
    if (refused !== null) {
      db.close();
      return err(refused);
    }
    const version = db.pragma('user_version', { simple: true }) as number;
    if (version < SCHEMA_VERSION) migrateKeepingCopy(db, path, version);
    // Each commit is synced to the disk: a session is the record of what happened, also after a power cut.
    db.pragma('journal_mode = WAL');
    db.pragma('synchronous = FULL');
    db.pragma('foreign_keys = ON');
    db.pragma(`journal_size_limit = ${LOG_BYTES}`);
    new SessionTable(db).markBrokenOff();
    return ok(new SqliteStore(db, path, { onClose, isRecordedElsewhere: () => false }));
  } catch (error) {
    db?.close();
    return err(storeErrorOf(error, path));
  }
}

/**
 * Makes the file under another name and gives it its own when it is whole:
 * SQLite writes an empty header before ours, and a host killed in between
 * would leave a file that looks like somebody else's.
 */
function begin(path: string): void {
  const unfinished = `${path}.new`;
  for (const name of [unfinished, `${unfinished}-journal`]) rmSync(name, { force: true });
  const db = new Database(unfinished);
  try {
    db.pragma('auto_vacuum = INCREMENTAL');
    migrate(db, 0);
  } finally {
    db.close();
  }
  renameSync(unfinished, path);
}

/** What the header may not have told, because it is still in the write-ahead log. */
function refusal(db: Database.Database, path: string): StoreError | null {
  const applicationId = db.pragma('application_id', { simple: true }) as number;
  if (applicationId !== APPLICATION_ID) return { kind: 'foreign-database', path, applicationId };
  const found = db.pragma('user_version', { simple: true }) as number;
  return found > SCHEMA_VERSION ? { kind: 'schema-too-new', path, found, supported: SCHEMA_VERSION } : null;
}

/** A damaged file shows as rows of a check, or as an error while checking. */
function damage(db: Database.Database, path: string): StoreError | null {
  if (statSync(path).size > CHECK_UP_TO_BYTES) {
    new SessionTable(db).all();
    return null;
  }
  const rows = db.pragma('quick_check(1)') as { quick_check: string }[];
  const detail = rows[0]?.quick_check ?? 'the check says nothing';
  return detail === 'ok' ? null : { kind: 'damaged', path, detail, setAsideAs: null };
}

/** @param file where the bytes are; @param path what errors name */
function tryReadOnly(file: string, path: string): Result<Database.Database, StoreError> {
  let db: Database.Database | null = null;
  try {
    db = new Database(file, { readonly: true, fileMustExist: true, timeout: READER_WAIT_MS });
    // The first read shows whether it is a database at all. A file shorter than a page passes as an empty one.
    const isEmpty = (db.pragma('page_count', { simple: true }) as number) === 0;
    const refused: StoreError | null = isEmpty ? { kind: 'not-a-database', path } : refusal(db, path);
    if (refused === null) return ok(db);
    db.close();
    return err(refused);
  } catch (error) {
    db?.close();
    return err(storeErrorOf(error, path));
  }
}

/**
 * Reads an older file from a copy in the system's temporary folder, brought to
 * this version there; the copy goes when the store is closed.
 */
function openUpdatedCopy(old: Database.Database, path: string): Result<SqliteStore, StoreError> {
  return inTemporaryFolder(path, (copy, remove) => {
    try {
      // With what is still in its write-ahead log.
      old.prepare('VACUUM INTO ?').run(copy);
    } finally {
      old.close();
    }
    return storeOverCopy(copy, path, remove);
  });
}

/** Reads a file whose folder cannot be written from a copy; see `openFileReadOnly`. */
function openCopy(path: string): Result<SqliteStore, StoreError> {
  return inTemporaryFolder(path, (copy, remove) => {
    copyFileSync(path, copy);
    return storeOverCopy(copy, path, remove);
  });
}

function storeOverCopy(copy: string, path: string, remove: () => void): Result<SqliteStore, StoreError> {
  const first = tryReadOnly(copy, path);
  if (!first.ok) return first;
  const version = first.value.pragma('user_version', { simple: true }) as number;
  first.value.close();
  if (version < SCHEMA_VERSION) {
    const db = new Database(copy);
    try {
      migrate(db, version);
    } finally {
      db.close();
    }
  }
  const opened = tryReadOnly(copy, path);
  if (!opened.ok) return opened;
  return ok(new SqliteStore(opened.value, path, { onClose: remove, isRecordedElsewhere: () => false }));
}

function inTemporaryFolder(
  path: string,
  open: (copy: string, remove: () => void) => Result<SqliteStore, StoreError>,
): Result<SqliteStore, StoreError> {
  let folder: string | null = null;
  const remove = () => {
    if (folder !== null) rmSync(folder, { recursive: true, force: true });
  };
  try {
    folder = mkdtempSync(join(tmpdir(), 'runstand-read-'));
    const opened = open(join(folder, DATABASE_NAME), remove);
    if (!opened.ok) remove();
    return opened;
  } catch (error) {
    remove();
    return err(storeErrorOf(error, path));
  }
}
