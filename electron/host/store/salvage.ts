/**
 * Saves what can be read of a damaged database into a new folder: sessions,
 * their rig sheets and events row by row, their frames block by block, also
 * where the tables' trees are broken (`page-scan.ts`). The damaged file is
 * only read. What is missing is told, and shows in `verify` of the new file.
 */
import { closeSync, copyFileSync, existsSync, fstatSync, openSync, readSync, rmSync, truncateSync } from 'node:fs';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import { err, ok, type Result } from '../../../shared-core/base/result.ts';
import type { JournalEvent } from '../../../shared-core/journal.ts';
import type { RigSheet } from '../../../shared-core/rig/rig-sheet.ts';
import { type Block, openBlock, TICK_GROUP } from './block-file.ts';
import { BlockFrames } from './block-frames.ts';
import { decodeJson } from './event-json.ts';
import { DATABASE_NAME, openStore } from './open-store.ts';
import { blocksInPages, type FoundBlock } from './page-scan.ts';
import { SCHEMA_VERSION } from './schema.ts';
import type { SessionRecord } from './session-table.ts';
import { storeErrorOf } from './sqlite-errors.ts';
import type { SqliteStore } from './sqlite-store.ts';
import type { SessionSummary, StoreError } from './store-contract.ts';

export interface SalvagedSession {
  readonly id: string;
  readonly frames: number;
  /** By the session's own count; NaN where that could not be read. */
  readonly framesLost: number;
  readonly events: number;
  readonly eventsLost: number;
  /** What is missing, as `verify` of the new file says; empty where all was saved. */
  readonly findings: readonly string[];
}

export interface SalvageReport {
  /** The new database. */
  readonly path: string;
  readonly sessions: readonly SalvagedSession[];
  /** What could not be read at all, one sentence each. */
  readonly lost: readonly string[];
}

/**
 * @param damagedPath the damaged file, of this version of the format
 * @param newFolder where the new database goes; must not have one
 * Errors: folder-missing (no such file), `exists`, those of opening a new store;
 * schema-too-new, damaged (a damaged file of an older version)
 */
export function salvage(damagedPath: string, newFolder: string): Result<SalvageReport, StoreError> {
  const path = join(newFolder, DATABASE_NAME);
  if (!existsSync(damagedPath)) return err({ kind: 'folder-missing', path: damagedPath });
  if (existsSync(path)) return err({ kind: 'exists', path, id: null });
  const store = openStore(newFolder);
  if (!store.ok) return store;
  const padded = join(newFolder, 'cut-off.sqlite');
  let isBegun = false;
  try {
    const ruin = openRuin(damagedPath, padded);
    if (!ruin.ok) return ruin;
    isBegun = true;
    try {
      return ok({ path, ...saveAll(damagedPath, ruin.value, store.value) });
    } finally {
      ruin.value?.close();
    }
  } catch (error) {
    return err(storeErrorOf(error, path));
  } finally {
    store.value.close();
    rmSync(padded, { force: true });
    // Nothing was saved: the next try finds the folder as it was.
    if (!isBegun) rmSync(path, { force: true });
  }
}

/**
 * SQLite refuses a file that is shorter than its header says, though all that
 * lies before the cut is there: a copy is filled up with empty pages.
 */
function filledUp(path: string, copy: string): string {
  const header = Buffer.alloc(100);
  const file = openSync(path, 'r');
  const size = readSync(file, header, 0, 100, 0) < 100 ? 0 : fstatSync(file).size;
  closeSync(file);
  const due = (header.readUInt16BE(16) === 1 ? 65_536 : header.readUInt16BE(16)) * header.readUInt32BE(28);
  // A damaged header may say anything; a file of ours is not a hundred times as long as what is left of it.
  if (size === 0 || size >= due || due > 100 * size) return path;
  copyFileSync(path, copy);
  truncateSync(copy, due);
  return copy;
}

/** Null where SQLite will not open the file at all: then only its pages can be searched. */
function openRuin(path: string, padded: string): Result<Database.Database | null, StoreError> {
  const file = filledUp(path, padded);
  let db: Database.Database | null = null;
  try {
    db = new Database(file, { readonly: true, fileMustExist: true });
    const version = db.pragma('user_version', { simple: true }) as number;
    if (version === SCHEMA_VERSION) return ok(db);
    db.close();
    if (version > SCHEMA_VERSION)
      return err({ kind: 'schema-too-new', path, found: version, supported: SCHEMA_VERSION });
    const detail = `it is of version ${version}; open a copy of it with that version, or restore the copy made before its update`;
    return err({ kind: 'damaged', path, detail, setAsideAs: null });
  } catch {
    db?.close();
    return ok(null);
  }
}

function saveAll(path: string, ruin: Database.Database | null, store: SqliteStore): Omit<SalvageReport, 'path'> {
  const lost: string[] = [];
  const blocks = new Map<number, Map<number, Block>>();
  const keep = ({ session, block }: FoundBlock): void => {
    let ofSession = blocks.get(session);
    if (ofSession === undefined) {
      ofSession = new Map();
      blocks.set(session, ofSession);
    }
    // A fresh block and the long one that replaced it end alike at most once; the longer one has all.
    const other = ofSession.get(block.lastOrd);
    if (other === undefined || other.frames < block.frames) ofSession.set(block.lastOrd, block);
  };
  for (const found of blocksInPages(path)) keep(found);
  for (const found of blocksInTables(ruin)) keep(found);
  const sessions: SalvagedSession[] = [];
  for (const record of sessionsOf(ruin, lost)) {
    const rig = ruin === null ? null : rigOf(ruin, record.number);
    const found = blocks.get(record.number) ?? new Map<number, Block>();
    blocks.delete(record.number);
    if (rig === null) {
      lost.push(
        `Session ${record.id}: its rig sheet cannot be read; ${found.size} blocks of it were left in the damaged file.`,
      );
      continue;
    }
    sessions.push(saveSession(store, ruin!, record, rig, [...found.values()]));
  }
  for (const [number, found] of blocks) {
    lost.push(`Session number ${number}: its entry is gone; ${found.size} blocks of it were left in the damaged file.`);
  }
  return { sessions, lost };
}

/** Row by row through the trees: also what is still in the write-ahead log. */
function* blocksInTables(ruin: Database.Database | null): Generator<FoundBlock> {
  if (ruin === null) return;
  for (const table of ['block', 'fresh']) {
    const one = ruin.prepare<[number], Block & { session: number }>(
      `SELECT session, first_ord AS firstOrd, last_ord AS lastOrd, first_us, last_us, frames, previous, checksum, body
       FROM ${table} WHERE rowid = ? AND frames > 0`,
    );
    const last = attempt(() => ruin.prepare(`SELECT max(rowid) FROM ${table}`).pluck().get() as number | null) ?? 0;
    for (let rowid = 1; rowid <= last; rowid++) {
      const row = attempt(() => one.get(rowid));
      if (row === undefined || attempt(() => openBlock(row)) === undefined) continue;
      const { session, ...block } = row;
      yield { session, block };
    }
  }
}

function sessionsOf(ruin: Database.Database | null, lost: string[]): SessionRecord[] {
  if (ruin === null) {
    lost.push('The file does not open as a database: no list of sessions.');
    return [];
  }
  const one = ruin.prepare<[number], SessionRecord>(
    `SELECT s.*, f.all_frames AS fresh_frames FROM session s LEFT JOIN fresh f
       ON f.number = (SELECT max(number) FROM fresh WHERE session = s.number AND turn = s.turn) WHERE s.number = ?`,
  );
  const plain = ruin.prepare<[number], SessionRecord>('SELECT * FROM session WHERE number = ?');
  return eachFrom(
    1,
    lastNumber(ruin, 'SELECT max(number) FROM session'),
    (number) => attempt(() => one.get(number)) ?? plain.get(number),
    () => lost.push('The list of sessions cannot be read to its end.'),
  );
}

function rigOf(ruin: Database.Database, number: number): RigSheet | null {
  const text = attempt(() =>
    ruin.prepare<[number], string>('SELECT rig FROM session_rig WHERE session = ?').pluck().get(number),
  );
  return text === undefined ? null : (attempt(() => decodeJson(text) as RigSheet) ?? null);
}

function saveSession(
  store: SqliteStore,
  ruin: Database.Database,
  record: SessionRecord,
  rig: RigSheet,
  found: Block[],
): SalvagedSession {
  const { id, source, detail } = record;
  const writer = unwrap(store.start({ id, startedAt_epochMs: record.started_at_epochMs, source, detail, rig }));
  const summary: SessionSummary = {
    duration_us: record.duration_us,
    runs: (attempt(() => decodeJson(record.runs)) ?? []) as SessionSummary['runs'],
    alarms: record.alarms,
    aborts: record.aborts,
    marks: record.marks,
  };
  const events = eventsOf(ruin, record);
  let event = 0;
  let lastOrd = -1;
  for (const block of found.sort((a, b) => a.firstOrd - b.firstOrd || b.lastOrd - a.lastOrd)) {
    for (const frames = new BlockFrames(openBlock(block), lastOrd + 1); frames.ord < Number.POSITIVE_INFINITY; ) {
      while (event < events.length && events[event]!.ord <= frames.ord) writer.event(events[event++]!);
      lastOrd = frames.ord;
      if (frames.group === TICK_GROUP) writer.tick(frames.ord, frames.t_us);
      else {
        const raw = frames.raw();
        writer.frame(frames.ord, frames.t_us, frames.group, raw, raw.length);
      }
      frames.next();
    }
    unwrap(writer.commit(summary));
  }
  while (event < events.length) writer.event(events[event++]!);
  // The last ord that was recorded is known, so that a missing end shows.
  if (record.ended_at_epochMs === null) unwrap(writer.commit(summary));
  else unwrap(writer.close(summary, record.ended_at_epochMs));
  store.withDatabase((db) => {
    db.prepare(
      'UPDATE session SET last_ord = max(last_ord, ?), is_kept = ?, note = ?, break_note = ? WHERE id = ?',
    ).run(record.last_ord, record.is_kept, record.note, record.break_note, id);
    return ok(null);
  });
  const report = unwrap(store.verify(id));
  const recorded = (record as { fresh_frames?: number | null }).fresh_frames ?? record.frames;
  return {
    id,
    frames: report.frames,
    framesLost: Math.max(0, recorded - report.frames),
    events: report.events,
    eventsLost: Math.max(0, record.events - report.events),
    findings: report.findings,
  };
}

/** Row by row past what cannot be read. */
function eventsOf(ruin: Database.Database, record: SessionRecord): JournalEvent[] {
  const one = ruin.prepare<[number, number], { ord: number; t_us: number; side: string; body: string }>(
    'SELECT ord, t_us, side, body FROM event WHERE session = ? AND number = ?',
  );
  const events: JournalEvent[] = [];
  for (const { ord, t_us, side, body } of eachFrom(0, record.events - 1 + UNCOUNTED, (number) =>
    one.get(record.number, number),
  )) {
    const decoded = attempt(() => decodeJson(body));
    if (decoded !== undefined) events.push({ ord, t_us, side, body: decoded } as JournalEvent);
  }
  return events.sort((a, b) => a.ord - b.ord);
}

/** Events that came with commits since the session's row was last written. */
const UNCOUNTED = 4096;

function eachFrom<T>(first: number, last: number, read: (number: number) => T | undefined, onLost = () => {}): T[] {
  const rows: T[] = [];
  let isLost = false;
  for (let number = first; number <= last; number++) {
    try {
      const row = read(number);
      if (row !== undefined) rows.push(row);
    } catch {
      isLost = true;
    }
  }
  if (isLost) onLost();
  return rows;
}

/** Where not even the last number can be read, the first thousand are tried. */
function lastNumber(ruin: Database.Database, sql: string): number {
  return attempt(() => ruin.prepare(sql).pluck().get() as number | null) ?? 1000;
}

/** Undefined where reading fails: in a ruin, that is what is expected. */
function attempt<T>(read: () => T): T | undefined {
  try {
    return read();
  } catch {
    return undefined;
  }
}

/** @throws the error of the new store: the disk of the rescue is in trouble */
function unwrap<T>(result: Result<T, StoreError>): T {
  if (result.ok) return result.value;
  const { kind } = result.error;
  throw Object.assign(new Error(`writing what was saved failed: ${kind}`), {
    code: kind === 'disk-full' ? 'SQLITE_FULL' : kind === 'read-only' ? 'SQLITE_READONLY' : 'SQLITE_IOERR',
  });
}
