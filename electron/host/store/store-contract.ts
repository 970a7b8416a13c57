/**
 * What the rest of the host knows of the recorder's store. SQLite is one
 * implementation (`sqlite-store.ts`), memory the other (`memory-store.ts`,
 * for tests and for holding data while a disk is in trouble).
 */
import type { Result } from '../../../shared-core/base/result.ts';
import type { SessionRow } from '../../../shared-core/bridge/contract.ts';
import type { JournalEvent, JournalSink, SourceKind } from '../../../shared-core/journal.ts';
import type { BenchTable } from '../../../shared-core/line/messages.ts';
import type { RigSheet } from '../../../shared-core/rig/rig-sheet.ts';
import type { Keyframe } from './keyframe.ts';

export type StoreError =
  | { readonly kind: 'not-a-database'; readonly path: string }
  | { readonly kind: 'foreign-database'; readonly path: string; readonly applicationId: number }
  | { readonly kind: 'schema-too-new'; readonly path: string; readonly found: number; readonly supported: number }
  | { readonly kind: 'damaged'; readonly path: string; readonly detail: string; readonly setAsideAs: string | null }
  | { readonly kind: 'disk-full'; readonly path: string }
  | { readonly kind: 'read-only'; readonly path: string }
  | { readonly kind: 'folder-missing'; readonly path: string }
  | { readonly kind: 'locked'; readonly path: string }
  | { readonly kind: 'session-not-found'; readonly id: string }
  | { readonly kind: 'session-in-use'; readonly id: string; readonly why: 'recording' | 'kept' }
  /** Something of that name is there already: a file, or (`id`) another session. */
  | { readonly kind: 'exists'; readonly path: string; readonly id: string | null }
  | { readonly kind: 'io'; readonly path: string; readonly detail: string };

/** A plain sentence (what happened, what was kept) and what to do, for each error. */
export interface ErrorWords {
  readonly sentence: string;
  readonly remedy: string;
}

export interface SessionStart {
  readonly id: string;
  readonly startedAt_epochMs: number;
  readonly source: SourceKind;
  readonly detail: string;
  readonly rig: RigSheet;
}

/** Kept up to date by the host while recording, for the session list. */
export interface SessionSummary {
  readonly duration_us: number;
  readonly runs: SessionRow['runs'];
  readonly alarms: number;
  readonly aborts: number;
  readonly marks: number;
}

export interface SessionWriter {
  /** Buffers one frame; copies `raw`. Never throws, never waits. */
  frame(ord: number, t_us: number, group: number, raw: Int32Array, columns: number): void;
  tick(ord: number, t_us: number): void;
  event(event: JournalEvent): void;
  /**
   * Values of derived channels after a frame, for levels to draw from; cheap,
   * and no part of the record. `keys[i]` has `value[from + i]`, NaN when not
   * good, taken where `updated_us[from + i]` is `t_us`. The same array of keys
   * means the same channels.
   */
  derived(t_us: number, keys: readonly string[], value: Float64Array, updated_us: Float64Array, from: number): void;
  /** What the fold remembers after the entries so far, for replays to begin from; no part of the record. */
  keyframe(keyframe: Keyframe): void;
  /**
   * Writes all that is buffered in one transaction, durable when it returns
   * ok. On an error nothing of the buffer is lost: the next commit tries again.
   */
  commit(summary: SessionSummary): Result<{ readonly bytes: number }, StoreError>;
  /** Seconds of data buffered and not yet durable. */
  readonly held_s: number;
  /** Memory that they take, packed. */
  readonly heldBytes: number;
  /** Commits and marks the session as ended in order. */
  close(summary: SessionSummary, endedAt_epochMs: number): Result<null, StoreError>;
}

export interface StoredSession {
  readonly row: SessionRow;
  readonly rig: RigSheet;
  /** All events, inputs and outputs, in order of `ord`. */
  readonly events: readonly JournalEvent[];
}

export interface StoredTables {
  readonly row: SessionRow;
  readonly rig: RigSheet;
  readonly tables: readonly BenchTable[];
}

export interface EventChoice {
  /** Only of these kinds, or all but of these. */
  readonly only?: readonly JournalEvent['body']['kind'][];
  readonly without?: readonly JournalEvent['body']['kind'][];
  /** Both inclusive. */
  readonly fromOrd?: number;
  readonly toOrd?: number;
  /** The last of them alone. */
  readonly isNewest?: boolean;
}

export interface VerifyReport {
  readonly isWhole: boolean;
  readonly blocks: number;
  readonly frames: number;
  readonly events: number;
  /** Where it is not whole, one sentence each. */
  readonly findings: readonly string[];
}

export interface ListOptions {
  readonly includeBinned?: boolean;
}

/** A window of session time, shared evenly among pixels. */
export interface ViewWindow {
  readonly from_us: number;
  readonly to_us: number;
  readonly pixels: number;
}

/**
 * One column of raw integers per pixel: exactly what a scan of its samples
 * from `edges_us[p]` to before `edges_us[p + 1]` gives; states count for
 * nothing. Wide pixels have their inner edges moved by up to a quarter of
 * their width (`level-view.ts`). Calibration is the caller's: where it falls,
 * min and max change places; where it turns round, levels cannot be used.
 */
export interface RawView {
  readonly edges_us: Float64Array;
  /** Valid where count > 0, as all below. */
  readonly min: Int32Array;
  readonly max: Int32Array;
  /** From levels: of whole-number means, each within 0.5. */
  readonly mean: Float64Array;
  readonly count: Float64Array;
  /** First and last sample; null where pixels are so wide that levels were read, which lines do not need. */
  readonly ends: { readonly first: Int32Array; readonly last: Int32Array } | null;
}

/**
 * One derived channel from its levels: extremes rounded outward by at most
 * 2⁻¹⁵ of the value. No more columns than steps of two seconds; none where
 * the session has no levels of it.
 */
export interface DerivedView {
  readonly edges_us: Float64Array;
  /** NaN where nothing good is known. */
  readonly min: Float64Array;
  readonly max: Float64Array;
  /** What is behind it is to be folded: not yet in the levels, or lost with a crash. */
  readonly coveredTo_us: number;
}

export interface SessionStore {
  readonly path: string;
  start(session: SessionStart): Result<SessionWriter, StoreError>;
  /** Newest first; without those in the bin unless asked for. */
  list(options?: ListOptions): Result<SessionRow[], StoreError>;
  load(id: string): Result<StoredSession, StoreError>;
  /** Its events, inputs and outputs, those that are asked for, in order; the others are not unpacked. */
  events(id: string, choice?: EventChoice): Result<readonly JournalEvent[], StoreError>;
  /** The last keyframe at or before `t_us`; null where there is none. */
  keyframeBefore(id: string, t_us: number): Result<Keyframe | null, StoreError>;
  /** Its row, its rig sheet and every channel table that came, without reading all events. */
  tables(id: string): Result<StoredTables, StoreError>;
  /**
   * Feeds the session's recorded inputs to the sink in their order, from the
   * first `ord` at or after `fromOrd`. Stops early when `shouldStop` says so,
   * asked about every second of data.
   */
  replay(
    id: string,
    sink: JournalSink,
    options?: { fromOrd?: number; shouldStop?: (t_us: number) => boolean },
  ): Result<null, StoreError>;
  keep(id: string, keep: boolean): Result<null, StoreError>;
  note(id: string, note: string): Result<null, StoreError>;
  /** In place of those before; trimmed, each once, in order. */
  tags(id: string, tags: readonly string[]): Result<null, StoreError>;
  /**
   * Puts the session into the bin, or with null takes it out again. Errors:
   * session-in-use where it is being recorded or kept by hand.
   */
  bin(id: string, binnedAt_epochMs: number | null): Result<null, StoreError>;
  /** A column of a rate group of the bench, fast at any width. */
  viewRaw(id: string, group: number, column: number, window: ViewWindow): Result<RawView, StoreError>;
  /** An ord at or before everything from `t_us` on, and not long before: where to fold a window from. */
  ordBefore(id: string, t_us: number): Result<number, StoreError>;
  viewDerived(id: string, key: string, window: ViewWindow): Result<DerivedView, StoreError>;
  /** Whether the database as a whole is in order, page by page; about a second for 100 MB. Errors: damaged, io. */
  check(): Result<null, StoreError>;
  verify(id: string): Result<VerifyReport, StoreError>;
  /** Deletes sessions that the retention rule lets go; says which. */
  prune(now_epochMs: number): Result<readonly string[], StoreError>;
  freeBytes(): number;
  close(): void;
}

/**
 * The retention rule: a session is let go when it holds no run and no abort
 * alarm, is not kept by hand, is closed, and began more than this long ago.
 */
export const RETENTION_DAYS = 14;

/** A session in the bin is let go this long after it was put there, whatever it holds. Until then it can be restored. */
export const BIN_DAYS = 30;
