/**
 * The one place where errors of the SQLite library and of the file system
 * become store errors. What was not foreseen is thrown on.
 */
import { accessSync, constants, existsSync } from 'node:fs';
import { dirname } from 'node:path';
import type { StoreError } from './store-contract.ts';

/**
 * @param error as caught
 * @param path the database file
 * @throws the error itself where it is none of those foreseen (a mistake of ours: SQLITE_ERROR, SQLITE_CONSTRAINT …)
 */
export function storeErrorOf(error: unknown, path: string): StoreError {
  const code = codeOf(error);
  const detail = error instanceof Error ? error.message : String(error);
  if (code === 'SQLITE_NOTADB') return { kind: 'not-a-database', path };
  if (code.startsWith('SQLITE_CORRUPT')) return { kind: 'damaged', path, detail, setAsideAs: null };
  if (code === 'SQLITE_FULL' || code === 'ENOSPC' || code === 'EDQUOT') return { kind: 'disk-full', path };
  if (code.startsWith('SQLITE_READONLY') || code === 'EACCES' || code === 'EPERM' || code === 'EROFS') {
    return { kind: 'read-only', path };
  }
  if (code.startsWith('SQLITE_BUSY') || code.startsWith('SQLITE_LOCKED') || code.startsWith('SQLITE_PROTOCOL')) {
    return { kind: 'locked', path };
  }
  if (code.startsWith('SQLITE_CANTOPEN')) return cannotOpen(path, detail);
  if (code === 'ENOENT' || code === 'ENOTDIR') return { kind: 'folder-missing', path: dirname(path) };
  // Node's own complaints about arguments are called ERR_…: mistakes of ours.
  if (code.startsWith('SQLITE_IOERR') || /^E(?!RR_)/.test(code)) return { kind: 'io', path, detail };
  throw error;
}

/** SQLite says "unable to open" for a missing folder and a forbidden one alike. */
function cannotOpen(path: string, detail: string): StoreError {
  const folder = dirname(path);
  if (!existsSync(folder)) return { kind: 'folder-missing', path: folder };
  try {
    accessSync(folder, constants.W_OK);
  } catch {
    return { kind: 'read-only', path };
  }
  return { kind: 'io', path, detail };
}

/** better-sqlite3 and Node both put a word in `code`. */
function codeOf(error: unknown): string {
  if (typeof error !== 'object' || error === null || !('code' in error)) return '';
  return typeof error.code === 'string' ? error.code : '';
}
