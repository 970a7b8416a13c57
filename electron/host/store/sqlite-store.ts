/**
 * The session store over SQLite. Opening, locking and setting aside are in
 * `open-store.ts`; a session being recorded is `sqlite-writer.ts`.
 */
import { statfsSync } from 'node:fs';
import { dirname } from 'node:path';
import type Database from 'better-sqlite3';
import { err, ok, type Result } from '../../../shared-core/base/result.ts';
import type { SessionRow } from '../../../shared-core/bridge/contract.ts';
import type { JournalEvent, JournalSink } from '../../../shared-core/journal.ts';
import type { BenchTable } from '../../../shared-core/line/messages.ts';
import { BlockDamage } from './block-file.ts';
import { decodeJson } from './event-json.ts';
import type { Keyframe } from './keyframe.ts';
import { OpenBlocks } from './open-blocks.ts';
import { binRefusal, mayLetGo, tidyTags } from './retention.ts';
import { rowOf, type SessionRecord, SessionTable } from './session-table.ts';
import { storeErrorOf } from './sqlite-errors.ts';
import { replayBlocks } from './sqlite-replay.ts';
import { verifySession } from './sqlite-verify.ts';
import { SqliteWriter } from './sqlite-writer.ts';
import type {
  DerivedView,
  EventChoice,
  ListOptions,
  RawView,
  SessionStart,
  SessionStore,
  SessionWriter,
  StoredSession,
  StoredTables,
  StoreError,
  VerifyReport,
  ViewWindow,
} from './store-contract.ts';
import { eventOf, StoredBlocks } from './stored-blocks.ts';
import { StoredLevels } from './stored-levels.ts';
import { derivedView, rawView } from './stored-views.ts';

export interface StoreDoor {
  /** Called once, after the database is closed. */
  readonly onClose: () => void;
  /** Whether a session without an end is being recorded by somebody else; asked only of a read-only store. */
  readonly isRecordedElsewhere: () => boolean;
}

/** One in review, one being recorded, one more. */
const KEPT_SESSIONS = 3;

export class SqliteStore implements SessionStore {
  readonly path: string;
  readonly #db: Database.Database;
  readonly #door: StoreDoor;
  readonly #table: SessionTable;
  readonly #open = new Set<string>();
  /** By session number: of those that were read last. Statements are prepared once, blocks opened once. */
  readonly #kept = new Map<number, { id: string; stored: StoredBlocks; blocks: OpenBlocks }>();

  constructor(db: Database.Database, path: string, door: StoreDoor) {
    this.#db = db;
    this.path = path;
    this.#door = door;
    this.#table = new SessionTable(db);
  }

  /**
   * Where the disk is full or in trouble the writer is given all the same: it
   * holds what it gets, and its commits say what is wrong until one succeeds.
   * Errors: read-only (a store opened for reading). @throws Error if the id is taken
   */
  start(session: SessionStart): Result<SessionWriter, StoreError> {
    if (this.#db.readonly) return err({ kind: 'read-only', path: this.path });
    return this.#attempt(() => {
      if (this.#open.has(session.id) || this.#table.find(session.id) !== undefined) {
        throw new Error(`expected a new session id, ${session.id} is taken`);
      }
      this.#open.add(session.id);
      const writer = new SqliteWriter(this.#db, session, () => this.#open.delete(session.id));
      // Shows the session in the list at once. An error is found again by the first real commit.
      writer.commit({ duration_us: 0, runs: [], alarms: 0, aborts: 0, marks: 0 });
      return ok(writer);
    });
  }

  list(options: ListOptions = {}): Result<SessionRow[], StoreError> {
    return this.#attempt(() => {
      const records = this.#table
        .all()
        .filter((record) => options.includeBinned === true || record.binned_at_epochMs === null);
      const isElsewhere = this.#isRecordedElsewhere(records);
      return ok(records.map((record) => rowOf(record, this.#open.has(record.id) || isElsewhere)));
    });
  }

  load(id: string): Result<StoredSession, StoreError> {
    return this.#withSession(id, (record, stored) => {
      const events = eventsOf(stored, 0, record.last_ord);
      const isRecording = this.#open.has(id) || this.#isRecordedElsewhere([record]);
      return ok({ row: rowOf(record, isRecording), rig: this.#table.rig(record.number), events });
    });
  }

  events(id: string, choice: EventChoice = {}): Result<readonly JournalEvent[], StoreError> {
    return this.#withSession(id, (record, stored) =>
      ok(stored.chosenEvents({ ...choice, toOrd: Math.min(record.last_ord, choice.toOrd ?? Infinity) }).map(eventOf)),
    );
  }

  keyframeBefore(id: string, t_us: number): Result<Keyframe | null, StoreError> {
    return this.#withSession(id, (record) => {
      const found = this.#db
        .prepare<[number, number, number], Keyframe>(
          `SELECT ord, t_us, body FROM keyframe WHERE session = ? AND t_us <= ? AND ord <= ?
           ORDER BY t_us DESC LIMIT 1`,
        )
        .get(record.number, t_us, record.last_ord);
      return ok(found ?? null);
    });
  }

  tables(id: string): Result<StoredTables, StoreError> {
    return this.#withSession(id, (record) => {
      const bodies = this.#db
        .prepare<[number, number], string>(
          "SELECT body FROM event WHERE session = ? AND kind = 'table' AND ord <= ? ORDER BY number",
        )
        .pluck()
        .all(record.number, record.last_ord);
      const tables = bodies.map((body) => (decodeJson(body) as { table: BenchTable }).table);
      const isRecording = this.#open.has(id) || this.#isRecordedElsewhere([record]);
      return ok({ row: rowOf(record, isRecording), rig: this.#table.rig(record.number), tables });
    });
  }

  replay(
    id: string,
    sink: JournalSink,
    options: { fromOrd?: number; shouldStop?: (t_us: number) => boolean } = {},
  ): Result<null, StoreError> {
    return this.#withSession(id, (record, stored) => {
      const range = { fromOrd: options.fromOrd ?? 0, toOrd: record.last_ord };
      replayBlocks(stored, sink, range, options.shouldStop ?? (() => false));
      // Let go of by the recorder's process while it was read: what came was not all.
      if (this.#table.find(id) === undefined) return err({ kind: 'session-not-found', id });
      return ok(null);
    });
  }

  keep(id: string, keep: boolean): Result<null, StoreError> {
    return this.#withSession(id, (record) => {
      this.#db.prepare('UPDATE session SET is_kept = ? WHERE number = ?').run(keep ? 1 : 0, record.number);
      return ok(null);
    });
  }

  note(id: string, note: string): Result<null, StoreError> {
    return this.#withSession(id, (record) => {
      this.#db.prepare('UPDATE session SET note = ? WHERE number = ?').run(note, record.number);
      return ok(null);
    });
  }

  tags(id: string, tags: readonly string[]): Result<null, StoreError> {
    return this.#withSession(id, (record) => {
      this.#table.setTags(record.number, tidyTags(tags));
      return ok(null);
    });
  }

  bin(id: string, binnedAt_epochMs: number | null): Result<null, StoreError> {
    return this.#withSession(id, (record) => {
      const isRecording = this.#open.has(id) || this.#isRecordedElsewhere([record]);
      const refused = binRefusal(rowOf(record, isRecording), binnedAt_epochMs);
      if (refused !== null) return err(refused);
      this.#table.setBinned(record.number, binnedAt_epochMs);
      return ok(null);
    });
  }

  viewRaw(id: string, group: number, column: number, window: ViewWindow): Result<RawView, StoreError> {
    return this.#withSession(id, (record, _stored, blocks) =>
      ok(rawView(new StoredLevels(this.#db, record.number), blocks, group, column, window)),
    );
  }

  ordBefore(id: string, t_us: number): Result<number, StoreError> {
    return this.#withSession(id, (record, stored) => ok(stored.atTime(t_us)?.firstOrd ?? record.last_ord + 1));
  }

  viewDerived(id: string, key: string, window: ViewWindow): Result<DerivedView, StoreError> {
    return this.#withSession(id, (record) => ok(derivedView(new StoredLevels(this.#db, record.number), key, window)));
  }

  verify(id: string): Result<VerifyReport, StoreError> {
    // One transaction, so that a recorder at work does not rewrite blocks between two looks.
    return this.#attempt(() =>
      this.#db.transaction(() => this.#withSession(id, (record, stored) => ok(verifySession(record, stored))))(),
    );
  }

  /** One transaction for each session. Their pages are given back to the disk. */
  prune(now_epochMs: number): Result<readonly string[], StoreError> {
    return this.#attempt(() => {
      const listed = this.list({ includeBinned: true });
      if (!listed.ok) return listed;
      const ids = listed.value.filter((row) => mayLetGo(row, now_epochMs)).map((row) => row.id);
      for (const id of ids) this.#db.prepare('DELETE FROM session WHERE id = ?').run(id);
      if (ids.length > 0) this.#db.pragma('incremental_vacuum');
      return ok(ids);
    });
  }

  freeBytes(): number {
    try {
      const disk = statfsSync(dirname(this.path));
      return disk.bavail * disk.bsize;
    } catch {
      // The folder has gone; the next commit says so in words.
      return 0;
    }
  }

  /** For work on whole rows (`session-file.ts`, `salvage.ts`). Errors are those of the work. */
  withDatabase<T>(work: (db: Database.Database) => Result<T, StoreError>): Result<T, StoreError> {
    return this.#attempt(() => work(this.#db));
  }

  check(): Result<null, StoreError> {
    return this.#attempt(() => {
      const rows = this.#db.pragma('quick_check(1)') as { quick_check: string }[];
      const detail = rows[0]?.quick_check ?? 'the check says nothing';
      return detail === 'ok' ? ok(null) : err({ kind: 'damaged', path: this.path, detail, setAsideAs: null });
    });
  }

  /**
   * Bounds the file, in pages of 4,096 bytes. Beyond it commits fail as they
   * do on a full disk, and what was written stays.
   */
  limitPages(pages: number): void {
    this.#db.pragma(`max_page_count = ${pages}`);
  }

  close(): void {
    if (!this.#db.open) return;
    this.#db.close();
    this.#door.onClose();
  }

  #isRecordedElsewhere(records: readonly SessionRecord[]): boolean {
    if (!this.#db.readonly) return false;
    return (
      records.some((record) => record.ended_at_epochMs === null && record.break_note === '') &&
      this.#door.isRecordedElsewhere()
    );
  }

  /** Numbers are given again when a session was let go: the id says whether it is still the same one. */
  #keptOf(id: string, number: number): { stored: StoredBlocks; blocks: OpenBlocks } {
    const known = this.#kept.get(number);
    if (known?.id === id) return known;
    const stored = new StoredBlocks(this.#db, number);
    const made = { id, stored, blocks: new OpenBlocks(stored) };
    this.#kept.delete(number);
    this.#kept.set(number, made);
    for (const oldest of this.#kept.keys()) {
      if (this.#kept.size <= KEPT_SESSIONS) break;
      this.#kept.delete(oldest);
    }
    return made;
  }

  #withSession<T>(
    id: string,
    work: (record: SessionRecord, stored: StoredBlocks, blocks: OpenBlocks) => Result<T, StoreError>,
  ): Result<T, StoreError> {
    return this.#attempt(() => {
      const record = this.#table.find(id);
      if (record === undefined) return err({ kind: 'session-not-found', id });
      const { stored, blocks } = this.#keptOf(id, record.number);
      return work(record, stored, blocks);
    });
  }

  #attempt<T>(work: () => Result<T, StoreError>): Result<T, StoreError> {
    try {
      return work();
    } catch (error) {
      if (error instanceof BlockDamage) {
        return err({ kind: 'damaged', path: this.path, detail: error.message, setAsideAs: null });
      }
      return err(storeErrorOf(error, this.path));
    }
  }
}

/** What was committed after `toOrd` was read is left for the next time. */
function eventsOf(stored: StoredBlocks, fromOrd: number, toOrd: number): readonly JournalEvent[] {
  return [...stored.events(fromOrd)].filter((row) => row.ord <= toOrd).map(eventOf);
}
