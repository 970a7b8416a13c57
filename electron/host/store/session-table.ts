/**
 * The statements on table `session` and the way from its row to the row that
 * the logbook shows.
 */
import type Database from 'better-sqlite3';
import type { RunRow, SessionRow } from '../../../shared-core/bridge/contract.ts';
import type { RigSheet } from '../../../shared-core/rig/rig-sheet.ts';
import { decodeJson, encodeJson } from './event-json.ts';
import type { PendingRows } from './session-buffer.ts';
import type { SessionStart, SessionSummary } from './store-contract.ts';

/** Shown beside a session without an end that nobody records any more. */
export const BREAK_NOTE = 'The host ended without closing this session; at most the last second is missing.';

/** The table as it is; where fresh blocks are there, with what the newest of them says. */
export interface SessionRecord {
  readonly number: number;
  readonly id: string;
  readonly started_at_epochMs: number;
  readonly ended_at_epochMs: number | null;
  readonly source: 'port' | 'simulator';
  readonly detail: string;
  readonly rig_name: string;
  readonly rig_version: number;
  readonly duration_us: number;
  readonly runs: string;
  readonly alarms: number;
  readonly aborts: number;
  readonly marks: number;
  readonly is_kept: number;
  readonly note: string;
  readonly break_note: string;
  readonly bytes: number;
  readonly last_ord: number;
  readonly frames: number;
  readonly frame_chain: number;
  readonly events: number;
  readonly event_chain: number;
  /** Of table `library`; null where the session has no row in it. */
  readonly tags: string | null;
  readonly binned_at_epochMs: number | null;
  /** Name of the engine in the rig sheet. */
  readonly engine: string;
}

type SelectedRecord = Omit<SessionRecord, 'engine'>;

const SELECT = `SELECT s.number, s.id, s.started_at_epochMs, s.ended_at_epochMs, s.source, s.detail, s.rig_name,
  s.rig_version, max(s.duration_us, coalesce(f.duration_us, 0)) AS duration_us, s.runs, s.alarms, s.aborts, s.marks,
  s.is_kept, s.note, s.break_note, coalesce(f.bytes, s.bytes) AS bytes, coalesce(f.newest_ord, s.last_ord) AS last_ord,
  coalesce(f.all_frames, s.frames) AS frames, coalesce(f.checksum, s.frame_chain) AS frame_chain,
  coalesce(f.events, s.events) AS events, coalesce(f.event_chain, s.event_chain) AS event_chain,
  library.tags, library.binned_at_epochMs
  FROM session s LEFT JOIN library ON library.session = s.number
  LEFT JOIN fresh f ON f.number = 
    (SELECT max(number) FROM fresh WHERE session = s.number AND turn = s.turn)`;

export class SessionTable {
  readonly #db: Database.Database;
  readonly #update: Database.Statement<unknown[]>;
  /** By session id: numbers are given again. A rig sheet never changes, and is too long to be read again for every list. */
  readonly #engines = new Map<string, string>();

  constructor(db: Database.Database) {
    this.#db = db;
    this.#update = db.prepare(
      `UPDATE session SET duration_us = ?, runs = ?, alarms = ?, aborts = ?, marks = ?, bytes = ?, last_ord = ?,
         frames = ?, frame_chain = ?, events = ?, event_chain = ?, ended_at_epochMs = ?, turn = ?
       WHERE number = ?`,
    );
  }

  find(id: string): SessionRecord | undefined {
    const record = this.#db.prepare<[string], SelectedRecord>(`${SELECT} WHERE s.id = ?`).get(id);
    return record === undefined ? undefined : { ...record, engine: this.#engineOf(record) };
  }

  /** Newest first. */
  all(): SessionRecord[] {
    return this.#db
      .prepare<[], SelectedRecord>(`${SELECT} ORDER BY s.started_at_epochMs DESC, s.number DESC`)
      .all()
      .map((record) => ({ ...record, engine: this.#engineOf(record) }));
  }

  #engineOf({ id, number }: SelectedRecord): string {
    const known = this.#engines.get(id);
    if (known !== undefined) return known;
    const found = this.#db
      .prepare<[number], string | null>("SELECT json_extract(rig, '$.engine.name') FROM session_rig WHERE session = ?")
      .pluck()
      .get(number);
    // Not yet there while the session's own row is being written.
    if (typeof found !== 'string') return '';
    this.#engines.set(id, found);
    return found;
  }

  setTags(number: number, tags: readonly string[]): void {
    this.#db
      .prepare(
        `INSERT INTO library (session, tags) VALUES (?, ?)
         ON CONFLICT (session) DO UPDATE SET tags = excluded.tags`,
      )
      .run(number, encodeJson(tags));
  }

  setBinned(number: number, binnedAt_epochMs: number | null): void {
    this.#db
      .prepare(
        `INSERT INTO library (session, binned_at_epochMs) VALUES (?, ?)
         ON CONFLICT (session) DO UPDATE SET binned_at_epochMs = excluded.binned_at_epochMs`,
      )
      .run(number, binnedAt_epochMs);
  }

  rig(number: number): RigSheet {
    const text = this.#db
      .prepare<[number], string>('SELECT rig FROM session_rig WHERE session = ?')
      .pluck()
      .get(number);
    return decodeJson(text ?? 'null') as RigSheet;
  }

  /** Number of the new session. */
  insert(start: SessionStart): number {
    const done = this.#db
      .prepare(
        `INSERT INTO session (id, started_at_epochMs, source, detail, rig_name, rig_version)
         VALUES (?, ?, ?, ?, ?, ?)`,
      )
      .run(start.id, start.startedAt_epochMs, start.source, start.detail, start.rig.name, start.rig.version);
    const number = Number(done.lastInsertRowid);
    this.#db.prepare('INSERT INTO session_rig (session, rig) VALUES (?, ?)').run(number, encodeJson(start.rig));
    return number;
  }

  /** What a commit changes, in the same transaction as the rows it speaks of. */
  update(
    number: number,
    summary: SessionSummary,
    rows: PendingRows,
    bytes: number,
    endedAt_epochMs: number | null,
    turn: number,
  ): void {
    this.#update.run(
      summary.duration_us,
      encodeJson(summary.runs),
      summary.alarms,
      summary.aborts,
      summary.marks,
      bytes,
      rows.lastOrd,
      rows.frameCount,
      rows.frameChain,
      rows.eventCount,
      rows.eventChain,
      endedAt_epochMs,
      turn,
      number,
    );
  }

  /**
   * Marks every session without an end as broken off, its duration taken from
   * the data. To be called while nobody records: after the lock is held.
   */
  markBrokenOff(): void {
    this.#db
      .prepare(
        `UPDATE session SET break_note = ?, duration_us = max(
           duration_us,
           coalesce((SELECT max(last_us) FROM block WHERE block.session = session.number), 0),
           coalesce((SELECT max(last_us) FROM fresh WHERE fresh.session = session.number AND fresh.turn = session.turn
             AND frames > 0), 0),
           coalesce((SELECT max(t_us) FROM event WHERE event.session = session.number), 0))
         WHERE ended_at_epochMs IS NULL AND break_note = ''`,
      )
      .run(BREAK_NOTE);
  }
}

/** @param isRecording whether a session without an end is being recorded now */
export function rowOf(record: SessionRecord, isRecording: boolean): SessionRow {
  const hasEnd = record.ended_at_epochMs !== null || record.break_note !== '';
  return {
    id: record.id,
    startedAt_epochMs: record.started_at_epochMs,
    duration_us: record.duration_us,
    provenance: record.source === 'port' ? 'LIVE' : 'SIMULATED',
    rigName: record.rig_name,
    rigVersion: record.rig_version,
    engine: record.engine,
    detail: record.detail,
    runs: decodeJson(record.runs) as RunRow[],
    alarms: record.alarms,
    aborts: record.aborts,
    marks: record.marks,
    isKept: record.is_kept !== 0,
    isOpen: !hasEnd && isRecording,
    breakNote: hasEnd || isRecording ? record.break_note : BREAK_NOTE,
    note: record.note,
    bytes: record.bytes,
    tags: record.tags === null ? [] : (decodeJson(record.tags) as string[]),
    binnedAt_epochMs: record.binned_at_epochMs,
  };
}
