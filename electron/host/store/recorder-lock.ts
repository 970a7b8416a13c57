/**
 * One recorder per data folder. The lock is an exclusive SQLite lock on a
 * small file of its own, because the operating system lets go of it whatever
 * way the process ends; a file with a process number in it would not.
 */
import { existsSync } from 'node:fs';
import Database from 'better-sqlite3';
import { err, ok, type Result } from '../../../shared-core/base/result.ts';
import { storeErrorOf } from './sqlite-errors.ts';
import type { StoreError } from './store-contract.ts';

/** Long enough to outlast the blink of `isRecorderAlive` in another process. */
const WAIT_MS = 300;

export interface RecorderLock {
  release(): void;
}

/** Errors: locked (another recorder is at work), read-only, io. */
export function lockForRecording(lockPath: string): Result<RecorderLock, StoreError> {
  let db: Database.Database | null = null;
  try {
    db = new Database(lockPath, { timeout: WAIT_MS });
    // Nothing is ever written: no journal file is wanted beside it.
    db.pragma('journal_mode = MEMORY');
    db.exec('BEGIN EXCLUSIVE');
    const held = db;
    return ok({ release: () => void held.close() });
  } catch (error) {
    db?.close();
    return err(storeErrorOf(error, lockPath));
  }
}

/** Whether some process records into the folder now. */
export function isRecorderAlive(lockPath: string): boolean {
  if (!existsSync(lockPath)) return false;
  let db: Database.Database | null = null;
  try {
    db = new Database(lockPath, { readonly: true, timeout: 0 });
    db.prepare('SELECT count(*) FROM sqlite_schema').get();
    return false;
  } catch (error) {
    const found = storeErrorOf(error, lockPath);
    return found.kind === 'locked';
  } finally {
    db?.close();
  }
}
