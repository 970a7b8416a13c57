/** A file that is there whole or not at all: written beside its place under another name, then moved. */
import { closeSync, fstatSync, fsyncSync, openSync, renameSync, rmSync, writeSync } from 'node:fs';
import { err, ok, type Result } from '../../../shared-core/base/result.ts';
import type { RowError, RowTaker } from './rows.ts';

export interface FileWork {
  readonly taker: RowTaker;
  read(): Promise<Result<{ rows: number }, RowError>>;
  /** Writes what is still held. */
  end(): void;
}

/** Writes some of the bytes and says how many, or throws; `writeSync` of Node but in tests. */
export type WriteSome = (file: number, bytes: Uint8Array, from: number) => number;

const writeToDisk: WriteSome = (file, bytes, from) => writeSync(file, bytes, from, bytes.length - from);

/**
 * @param begin given the way to write: all of the bytes are in the file when it returns
 * Errors: those of the work; `disk-full`, `folder-missing` or `io` where the
 * file cannot be written. On any of them, and on a cancel, nothing is left.
 */
export async function whole(
  path: string,
  begin: (write: (bytes: Uint8Array) => void) => FileWork,
  writeSome: WriteSome = writeToDisk,
): Promise<Result<{ path: string; bytes: number; rows: number }, RowError>> {
  const unfinished = `${path}.part`;
  let file: number;
  try {
    file = openSync(unfinished, 'w');
  } catch (error) {
    return err(fileError(error, path));
  }
  let isOpen = true;
  try {
    const work = begin((bytes) => {
      // A disk that is nearly full takes a part and says nothing; only the next write fails.
      for (let from = 0; from < bytes.length; ) from += writeSome(file, bytes, from);
    });
    const read = await work.read();
    if (!read.ok) return read;
    work.end();
    // Some file systems find out that there is no room only here.
    fsyncSync(file);
    const bytes = fstatSync(file).size;
    closeSync(file);
    isOpen = false;
    renameSync(unfinished, path);
    return ok({ path, bytes, rows: read.value.rows });
  } catch (error) {
    return err(fileError(error, path));
  } finally {
    if (isOpen) closeSync(file);
    rmSync(unfinished, { force: true });
  }
}

function fileError(error: unknown, path: string): RowError {
  const { code, message } = error as NodeJS.ErrnoException;
  if (code === 'ENOSPC' || code === 'EDQUOT' || code === 'EFBIG') return { kind: 'disk-full', path };
  if (code === 'ENOENT') return { kind: 'folder-missing', path };
  if (code === 'EACCES' || code === 'EROFS' || code === 'EPERM') return { kind: 'read-only', path };
  if (code === undefined) throw error;
  return { kind: 'io', path, detail: message };
}
