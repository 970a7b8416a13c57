/**
 * Trainee records: one JSON line each, in `training-records.jsonl` of the
 * data folder. Lines are only ever added. A line that cannot be read (a crash
 * in mid-write, another program's hand) is left as it is and counted.
 */
import { closeSync, fstatSync, fsyncSync, openSync, readFileSync, readSync, writeSync } from 'node:fs';
import { join } from 'node:path';
import { err, ok, type Result } from '../../../shared-core/base/result.ts';
import type { BridgeError } from '../../../shared-core/bridge/contract.ts';
import { parseRecord, type TrainingRecord } from '../../../shared-core/training/record.ts';

export const RECORD_FILE = 'training-records.jsonl';
const NEWLINE = 0x0a;

/** Durable when it returns ok. One write, so that two hosts never mix their lines. */
export function addRecord(folder: string, record: TrainingRecord): Result<null, BridgeError> {
  try {
    const file = openSync(join(folder, RECORD_FILE), 'a+');
    try {
      const line = Buffer.from(`${endsInMidLine(file) ? '\n' : ''}${JSON.stringify(record)}\n`);
      const written = writeSync(file, line, 0, line.length);
      if (written < line.length) throw new Error(`the disk took ${written} of ${line.length} bytes`);
      fsyncSync(file);
    } finally {
      closeSync(file);
    }
    return ok(null);
  } catch (error) {
    return err(fileTrouble('The record of this lesson was not written', error));
  }
}

/** Newest first. No file yet is no error. */
export function readRecords(
  folder: string,
): Result<{ readonly records: readonly TrainingRecord[]; readonly unreadable: number }, BridgeError> {
  let text: string;
  try {
    text = readFileSync(join(folder, RECORD_FILE), 'utf8');
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === 'ENOENT') return ok({ records: [], unreadable: 0 });
    return err(fileTrouble('The training records cannot be read', error));
  }
  const records: TrainingRecord[] = [];
  let unreadable = 0;
  for (const line of text.split('\n')) {
    if (line.trim() === '') continue;
    const record = recordIn(line);
    if (record === null) unreadable++;
    else records.push(record);
  }
  return ok({ records: records.reverse(), unreadable });
}

function recordIn(line: string): TrainingRecord | null {
  try {
    return parseRecord(JSON.parse(line));
  } catch {
    return null;
  }
}

/** What a crash left of the last line must not swallow the next one. */
function endsInMidLine(file: number): boolean {
  const { size } = fstatSync(file);
  if (size === 0) return false;
  const last = Buffer.alloc(1);
  readSync(file, last, 0, 1, size - 1);
  return last[0] !== NEWLINE;
}

function fileTrouble(sentence: string, error: unknown): BridgeError {
  return {
    kind: 'disk',
    sentence: `${sentence}: ${error instanceof Error ? error.message : String(error)}.`,
    remedy: 'The session itself is recorded; its debrief can be made again. Free the disk or look at the folder.',
  };
}
