/**
 * The session store in memory: for tests, and to go on recording where no
 * database can be opened. What is in it ends with the process, and whoever
 * uses it says so.
 */
import { err, ok, type Result } from '../../../shared-core/base/result.ts';
import type { SessionRow } from '../../../shared-core/bridge/contract.ts';
import { RAW_MAX } from '../../../shared-core/channels/quality.ts';
import type { JournalEvent, JournalInput, JournalSink } from '../../../shared-core/journal.ts';
import type { Keyframe } from './keyframe.ts';
import { binRefusal, mayLetGo, tidyTags } from './retention.ts';
import type {
  DerivedView,
  EventChoice,
  ListOptions,
  RawView,
  SessionStart,
  SessionStore,
  SessionSummary,
  SessionWriter,
  StoredSession,
  StoredTables,
  StoreError,
  VerifyReport,
  ViewWindow,
} from './store-contract.ts';

type Entry =
  | {
      readonly kind: 'frame';
      readonly ord: number;
      readonly t_us: number;
      readonly group: number;
      readonly raw: Int32Array;
    }
  | { readonly kind: 'tick'; readonly ord: number; readonly t_us: number }
  | { readonly kind: 'event'; readonly ord: number; readonly t_us: number; readonly event: JournalEvent };

interface Held {
  readonly start: SessionStart;
  readonly entries: Entry[];
  readonly keyframes: Keyframe[];
  summary: SessionSummary;
  bytes: number;
  isOpen: boolean;
  isKept: boolean;
  note: string;
  tags: readonly string[];
  binnedAt_epochMs: number | null;
}

const ASK_EVERY_US = 1_000_000;

export class MemoryStore implements SessionStore {
  readonly path = 'memory';
  readonly #sessions = new Map<string, Held>();
  /** Set, makes every commit fail with it: a disk in trouble. */
  trouble: StoreError | null = null;

  start(session: SessionStart): Result<SessionWriter, StoreError> {
    if (this.#sessions.has(session.id)) throw new Error(`expected a new session id, ${session.id} is taken`);
    const held: Held = {
      start: session,
      entries: [],
      keyframes: [],
      summary: { duration_us: 0, runs: [], alarms: 0, aborts: 0, marks: 0 },
      bytes: 0,
      isOpen: true,
      isKept: false,
      note: '',
      tags: [],
      binnedAt_epochMs: null,
    };
    this.#sessions.set(session.id, held);
    return ok(new MemoryWriter(held, () => this.trouble));
  }

  list(options: ListOptions = {}): Result<SessionRow[], StoreError> {
    const rows = [...this.#sessions.values()].map(rowOf);
    const shown = rows.filter((row) => options.includeBinned === true || row.binnedAt_epochMs === null);
    return ok(shown.sort((a, b) => b.startedAt_epochMs - a.startedAt_epochMs));
  }

  load(id: string): Result<StoredSession, StoreError> {
    return this.#withSession(id, (held) => ({
      row: rowOf(held),
      rig: held.start.rig,
      events: held.entries.flatMap((entry) => (entry.kind === 'event' ? [entry.event] : [])),
    }));
  }

  events(id: string, choice: EventChoice = {}): Result<readonly JournalEvent[], StoreError> {
    const { only, without, fromOrd = 0, toOrd = Number.POSITIVE_INFINITY, isNewest } = choice;
    return this.#withSession(id, ({ entries }) => {
      const chosen = entries.flatMap((entry) => {
        if (entry.kind !== 'event' || entry.ord < fromOrd || entry.ord > toOrd) return [];
        const { kind } = entry.event.body;
        return (only?.includes(kind) ?? true) && without?.includes(kind) !== true ? [entry.event] : [];
      });
      return isNewest === true ? chosen.slice(-1) : chosen;
    });
  }

  keyframeBefore(id: string, t_us: number): Result<Keyframe | null, StoreError> {
    return this.#withSession(id, ({ keyframes }) => keyframes.findLast((each) => each.t_us <= t_us) ?? null);
  }

  tables(id: string): Result<StoredTables, StoreError> {
    return this.#withSession(id, (held) => ({
      row: rowOf(held),
      rig: held.start.rig,
      tables: held.entries.flatMap((entry) =>
        entry.kind === 'event' && entry.event.body.kind === 'table' ? [entry.event.body.table] : [],
      ),
    }));
  }

  replay(
    id: string,
    sink: JournalSink,
    options: { fromOrd?: number; shouldStop?: (t_us: number) => boolean } = {},
  ): Result<null, StoreError> {
    return this.#withSession(id, (held) => {
      let ask_us = Number.NEGATIVE_INFINITY;
      // A copy: the sink may be slow, and the session may grow meanwhile.
      for (const entry of [...held.entries]) {
        if (entry.ord < (options.fromOrd ?? 0)) continue;
        if (entry.kind === 'event' && entry.event.side === 'out') continue;
        if (entry.t_us >= ask_us) {
          if (options.shouldStop?.(entry.t_us)) return null;
          ask_us = entry.t_us + ASK_EVERY_US;
        }
        feed(entry, sink);
      }
      return null;
    });
  }

  keep(id: string, keep: boolean): Result<null, StoreError> {
    return this.#withSession(id, (held) => {
      held.isKept = keep;
      return null;
    });
  }

  note(id: string, note: string): Result<null, StoreError> {
    return this.#withSession(id, (held) => {
      held.note = note;
      return null;
    });
  }

  tags(id: string, tags: readonly string[]): Result<null, StoreError> {
    return this.#withSession(id, (held) => {
      held.tags = tidyTags(tags);
      return null;
    });
  }

  bin(id: string, binnedAt_epochMs: number | null): Result<null, StoreError> {
    const held = this.#sessions.get(id);
    if (held === undefined) return err({ kind: 'session-not-found', id });
    const refused = binRefusal(rowOf(held), binnedAt_epochMs);
    if (refused !== null) return err(refused);
    held.binnedAt_epochMs = binnedAt_epochMs;
    return ok(null);
  }

  viewRaw(id: string, group: number, column: number, window: ViewWindow): Result<RawView, StoreError> {
    return this.#withSession(id, ({ entries }) => scanned(entries, group, column, window));
  }

  ordBefore(id: string, t_us: number): Result<number, StoreError> {
    return this.#withSession(id, ({ entries }) => entries.find((entry) => entry.t_us >= t_us)?.ord ?? entries.length);
  }

  /** There are no levels in memory: all is folded. */
  viewDerived(id: string): Result<DerivedView, StoreError> {
    const none = new Float64Array(0);
    return this.#withSession(id, () => ({ edges_us: none, min: none, max: none, coveredTo_us: 0 }));
  }

  check(): Result<null, StoreError> {
    return ok(null);
  }

  verify(id: string): Result<VerifyReport, StoreError> {
    return this.#withSession(id, ({ entries }) => ({
      isWhole: true,
      blocks: 0,
      frames: entries.filter((entry) => entry.kind !== 'event').length,
      events: entries.filter((entry) => entry.kind === 'event').length,
      findings: [],
    }));
  }

  prune(now_epochMs: number): Result<readonly string[], StoreError> {
    const ids = [...this.#sessions.values()].map(rowOf).filter((row) => mayLetGo(row, now_epochMs));
    for (const { id } of ids) this.#sessions.delete(id);
    return ok(ids.map((row) => row.id));
  }

  /** No disk: as much as the host's memory, which nobody knows. */
  freeBytes(): number {
    return Number.POSITIVE_INFINITY;
  }

  close(): void {}

  #withSession<T>(id: string, work: (held: Held) => T): Result<T, StoreError> {
    const held = this.#sessions.get(id);
    return held === undefined ? err({ kind: 'session-not-found', id }) : ok(work(held));
  }
}

class MemoryWriter implements SessionWriter {
  readonly #held: Held;
  readonly #trouble: () => StoreError | null;
  #buffer: Entry[] = [];
  #keyframes: Keyframe[] = [];

  constructor(held: Held, trouble: () => StoreError | null) {
    this.#held = held;
    this.#trouble = trouble;
  }

  frame(ord: number, t_us: number, group: number, raw: Int32Array, columns: number): void {
    this.#buffer.push({ kind: 'frame', ord, t_us, group, raw: raw.slice(0, columns) });
  }

  tick(ord: number, t_us: number): void {
    this.#buffer.push({ kind: 'tick', ord, t_us });
  }

  event(event: JournalEvent): void {
    this.#buffer.push({ kind: 'event', ord: event.ord, t_us: event.t_us, event });
  }

  keyframe(keyframe: Keyframe): void {
    this.#keyframes.push(keyframe);
  }

  /** Views of a session in memory are folded from its frames. */
  derived(): void {}

  get heldBytes(): number {
    return this.#buffer.reduce((sum, entry) => sum + (entry.kind === 'frame' ? entry.raw.byteLength : 64), 0);
  }

  get held_s(): number {
    const first = this.#buffer[0];
    return first === undefined ? 0 : Math.max(0, (this.#buffer.at(-1)?.t_us ?? 0) - first.t_us) / 1e6;
  }

  commit(summary: SessionSummary): Result<{ readonly bytes: number }, StoreError> {
    if (!this.#held.isOpen) throw new Error(`expected session ${this.#held.start.id} to be open, it was closed`);
    const trouble = this.#trouble();
    if (trouble !== null) return err(trouble);
    for (const entry of this.#buffer) {
      this.#held.entries.push(entry);
      this.#held.bytes += entry.kind === 'frame' ? entry.raw.byteLength : 0;
    }
    this.#buffer = [];
    this.#held.keyframes.push(...this.#keyframes.splice(0));
    this.#held.summary = summary;
    return ok({ bytes: this.#held.bytes });
  }

  close(summary: SessionSummary): Result<null, StoreError> {
    if (!this.#held.isOpen) return ok(null);
    const done = this.commit(summary);
    if (!done.ok) return done;
    this.#held.isOpen = false;
    return ok(null);
  }
}

/** Each pixel by a look at all frames: memory holds short sessions only. */
function scanned(entries: readonly Entry[], group: number, column: number, window: ViewWindow): RawView {
  const { from_us, to_us, pixels } = window;
  const edges_us = Float64Array.from({ length: pixels + 1 }, (_, p) => from_us + (p * (to_us - from_us)) / pixels);
  const min = new Int32Array(pixels).fill(2_147_483_647);
  const max = new Int32Array(pixels).fill(-2_147_483_648);
  const mean = new Float64Array(pixels);
  const count = new Float64Array(pixels);
  const first = new Int32Array(pixels);
  const last = new Int32Array(pixels);
  let p = 0;
  for (const entry of entries) {
    if (entry.kind !== 'frame' || entry.group !== group || entry.t_us < from_us) continue;
    while (p < pixels && edges_us[p + 1]! <= entry.t_us) p++;
    if (p === pixels) break;
    const value = entry.raw[column];
    if (value === undefined || value < -RAW_MAX) continue;
    if (count[p] === 0) first[p] = value;
    last[p] = value;
    min[p] = Math.min(min[p]!, value);
    max[p] = Math.max(max[p]!, value);
    mean[p] = mean[p]! + value;
    count[p] = count[p]! + 1;
  }
  for (let i = 0; i < pixels; i++) mean[i] = mean[i]! / count[i]!;
  return { edges_us, min, max, mean, count, ends: { first, last } };
}

function feed(entry: Entry, sink: JournalSink): void {
  if (entry.kind === 'frame') sink.frame(entry.ord, entry.t_us, entry.group, entry.raw.slice(), entry.raw.length);
  else if (entry.kind === 'tick') sink.tick(entry.ord, entry.t_us);
  else sink.event(entry.ord, entry.t_us, entry.event.body as JournalInput);
}

function rowOf(held: Held): SessionRow {
  const { start, summary } = held;
  return {
    id: start.id,
    startedAt_epochMs: start.startedAt_epochMs,
    provenance: start.source === 'port' ? 'LIVE' : 'SIMULATED',
    rigName: start.rig.name,
    rigVersion: start.rig.version,
    engine: start.rig.engine.name,
    detail: start.detail,
    ...summary,
    isKept: held.isKept,
    isOpen: held.isOpen,
    breakNote: '',
    note: held.note,
    bytes: held.bytes,
    tags: held.tags,
    binnedAt_epochMs: held.binnedAt_epochMs,
  };
}
