/**
 * Looks at the first hundred bytes of a database file before SQLite is let
 * near it, so that a file of somebody else is never touched. Layout: "The
 * Database Header", sqlite.org/fileformat2.html, part 1.3.
 */
import { closeSync, existsSync, openSync, readSync, statSync } from 'node:fs';
import { err, ok, type Result } from '../../../shared-core/base/result.ts';
import { APPLICATION_ID, SCHEMA_VERSION } from './schema.ts';
import { storeErrorOf } from './sqlite-errors.ts';
import type { StoreError } from './store-contract.ts';

const HEADER_BYTES = 100;
const MAGIC = 'SQLite format 3\0';

export interface FileHeader {
  /** `empty`: no file, or one of no bytes. */
  readonly state: 'empty' | 'ours';
  readonly version: number;
}

/**
 * Must not be called while this process has the file open in SQLite: closing
 * any descriptor of a file drops all POSIX locks that the process has on it
 * ("How To Corrupt An SQLite Database File", sqlite.org, part 2.2).
 * Errors: not-a-database, foreign-database, schema-too-new, damaged (cut off), read-only, io.
 */
export function readFileHeader(path: string): Result<FileHeader, StoreError> {
  let size: number;
  const header = Buffer.alloc(HEADER_BYTES);
  try {
    if (!existsSync(path)) return ok({ state: 'empty', version: 0 });
    if (statSync(path).isDirectory()) return err({ kind: 'not-a-database', path });
    const file = openSync(path, 'r');
    try {
      readSync(file, header, 0, HEADER_BYTES, 0);
      size = statSync(path).size;
    } finally {
      closeSync(file);
    }
  } catch (error) {
    return err(storeErrorOf(error, path));
  }
  if (size === 0) return ok({ state: 'empty', version: 0 });
  if (header.toString('latin1', 0, 16) !== MAGIC) return err({ kind: 'not-a-database', path });
  if (size < HEADER_BYTES) return err(cutOff(path, size, HEADER_BYTES));

  const applicationId = header.readUInt32BE(68);
  if (applicationId !== APPLICATION_ID) return err({ kind: 'foreign-database', path, applicationId });
  const version = header.readUInt32BE(60);
  if (version > SCHEMA_VERSION) return err({ kind: 'schema-too-new', path, found: version, supported: SCHEMA_VERSION });

  // The page count in the header holds only where the file was last written by
  // a whole checkpoint: with a write-ahead log beside it, SQLite must judge.
  const pageSize = header.readUInt16BE(16) === 1 ? 65_536 : header.readUInt16BE(16);
  const due = pageSize * header.readUInt32BE(28);
  if (size < due && !hasLog(path)) return err(cutOff(path, size, due));
  return ok({ state: 'ours', version });
}

function hasLog(path: string): boolean {
  return [`${path}-wal`, `${path}-journal`].some((log) => existsSync(log) && statSync(log).size > 0);
}

function cutOff(path: string, size: number, due: number): StoreError {
  return { kind: 'damaged', path, detail: `the file ends after ${size} of ${due} bytes`, setAsideAs: null };
}
