/** A file that is there whole or not at all: written beside its place under another name, then moved. */
import { closeSync, fstatSync, openSync, renameSync, rmSync } from 'node:fs';
import { err, ok, type Result } from '../../../shared-core/base/result.ts';
import type { RowError, RowTaker } from './rows.ts';

export interface FileWork {
  readonly taker: RowTaker;
  read(): Promise<Result<{ rows: number }, RowError>>;
  /** Writes what is still held. */
  end(): void;
}

/**
 * @param begin given the open file's descriptor
 * Errors: those of the work; `disk-full`, `folder-missing` or `io` where the
 * file cannot be written. On any of them, and on a cancel, nothing is left.
 */
export async function whole(
  path: string,
  begin: (file: number) => FileWork,
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
    const work = begin(file);
    const read = await work.read();
    if (!read.ok) return read;
    work.end();
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
  if (code === 'ENOSPC' || code === 'EDQUOT') return { kind: 'disk-full', path };
  if (code === 'ENOENT') return { kind: 'folder-missing', path };
  if (code === 'EACCES' || code === 'EROFS' || code === 'EPERM') return { kind: 'read-only', path };
  if (code === undefined) throw error;
  return { kind: 'io', path, detail: message };
}
