/**
 * A session as rows for files: chosen channels, a range of time, and a rate,
 * calibrated and derived or as the bench sent them. One pass over the
 * recording with bounded memory; CSV and Parquet are written from it.
 */
import { err, ok, type Result } from '../../../shared-core/base/result.ts';
import { type QualityCode, quality, qualityOfRaw } from '../../../shared-core/channels/quality.ts';
import type { JournalInput, JournalSink } from '../../../shared-core/journal.ts';
import type { BenchTable } from '../../../shared-core/line/messages.ts';
import { Pipeline } from '../../../shared-core/pipeline.ts';
import type { RigSheet } from '../../../shared-core/rig/rig-sheet.ts';
import { wordsOf } from '../store/error-words.ts';
import type { ErrorWords, SessionStore, StoredSession, StoreError } from '../store/store-contract.ts';
import type { WriteSome } from './whole-file.ts';

export interface RowOptions {
  /** `calibrated`: core units, derived channels too. `raw`: as the bench sent it, in its own unit, before calibration. */
  readonly values?: 'calibrated' | 'raw';
  /** Channel keys in the order of the columns; all when absent. */
  readonly channels?: readonly string[];
  readonly from_us?: number;
  /** Rows up to and including this session time. */
  readonly to_us?: number;
  /** Rows per second, each with the last value of every channel; `all` for a row per line of the fastest group. */
  readonly rate_Hz?: number | 'all';
}

export interface RowHead {
  readonly key: string;
  readonly label: string;
  readonly unit: string;
  readonly decimals: number;
}

export interface RowControl {
  /** Told now and then, 0 to 1. */
  readonly onProgress?: (done: number) => void;
  /** Asked now and then; true ends the reading with `cancelled`. */
  readonly isCancelled?: () => boolean;
  /** Another way to the disk, for tests. */
  readonly writeSome?: WriteSome;
}

/** Receives the rows; arrays are reused from row to row. */
export interface RowTaker {
  heads(heads: readonly RowHead[], session: StoredSession): void;
  /** `values[i]` is NaN where `states[i]` is not good. */
  row(t_us: number, values: Float64Array, states: Uint8Array): void;
}

export type RowError =
  | StoreError
  | { readonly kind: 'cancelled' }
  | { readonly kind: 'unknown-channel'; readonly key: string; readonly known: readonly string[] };

/** What happened and what to do, for each error. */
export function rowErrorWords(error: RowError): ErrorWords {
  if (error.kind === 'cancelled') return { sentence: 'Cancelled. No file was left.', remedy: '' };
  if (error.kind === 'unknown-channel') {
    return {
      sentence: `There is no channel "${error.key}" in this session.`,
      remedy: `It has: ${error.known.join(', ')}.`,
    };
  }
  return wordsOf(error);
}

const USUAL_RATE_HZ = 10;
/** Control comes back to the event loop this often, so that progress is sent and a cancel is heard. */
const TURN_US = 20_000_000;

/**
 * Reads a session's rows.
 * Errors: those of the store, `unknown-channel` before any row, `cancelled`.
 */
export async function readRows(
  store: SessionStore,
  id: string,
  options: RowOptions,
  taker: RowTaker,
  control: RowControl = {},
): Promise<Result<{ rows: number }, RowError>> {
  const session = store.load(id);
  if (!session.ok) return session;
  const { rig, events, row } = session.value;
  const isRaw = options.values === 'raw';
  const known = isRaw ? rawHeads(events) : calibratedHeads(rig, events);
  const heads = chosen(known, options.channels);
  if (!heads.ok) return heads;
  taker.heads(heads.value, session.value);

  const sink = new RowSink(rig, heads.value, isRaw, options, taker);
  const end_us = Math.min(options.to_us ?? Number.POSITIVE_INFINITY, row.duration_us);
  let fromOrd = 0;
  for (;;) {
    let isCut = false;
    let isOver = false;
    const until_us = sink.time_us + TURN_US;
    const done = store.replay(id, sink, {
      fromOrd,
      // Asked before the entry is fed: the sink itself never gets beyond the end.
      shouldStop: (t_us) => {
        isOver = t_us > end_us;
        isCut = isOver || t_us > until_us;
        return isCut;
      },
    });
    if (!done.ok) return done;
    fromOrd = sink.lastOrd + 1;
    control.onProgress?.(Math.min(1, sink.time_us / Math.max(1, end_us)));
    if (!isCut || isOver) break;
    await new Promise((resolve) => setImmediate(resolve));
    if (control.isCancelled?.() === true) return err({ kind: 'cancelled' });
  }
  sink.end();
  return ok({ rows: sink.rows });
}

function chosen(known: readonly RowHead[], keys: readonly string[] | undefined): Result<readonly RowHead[], RowError> {
  if (keys === undefined) return ok(known);
  const heads: RowHead[] = [];
  for (const key of keys) {
    const head = known.find((each) => each.key === key);
    if (head === undefined) return err({ kind: 'unknown-channel', key, known: known.map((each) => each.key) });
    heads.push(head);
  }
  return ok(heads);
}

/** Every channel that the session ever had, in order of first appearance. */
function calibratedHeads(rig: RigSheet, events: StoredSession['events']): RowHead[] {
  const heads = new Map<string, RowHead>();
  const pipeline = new Pipeline(rig);
  for (const event of events) {
    if (event.side !== 'in' || event.body.kind !== 'table') continue;
    pipeline.event(event.ord, event.t_us, event.body);
    for (const { key, label, unit, decimals } of pipeline.values.channels) {
      // One digit more than shown: rounding for the eye is not rounding for the file.
      if (!heads.has(key)) heads.set(key, { key, label, unit, decimals: Math.min(9, decimals + 1) });
    }
  }
  return [...heads.values()];
}

function rawHeads(events: StoredSession['events']): RowHead[] {
  const heads = new Map<string, RowHead>();
  for (const event of events) {
    if (event.side !== 'in' || event.body.kind !== 'table') continue;
    for (const { key, unit, decimals } of event.body.table.channels) {
      if (!heads.has(key)) heads.set(key, { key, label: key, unit, decimals });
    }
  }
  return [...heads.values()];
}

class RowSink implements JournalSink {
  rows = 0;
  lastOrd = -1;
  time_us = 0;
  readonly #pipeline: Pipeline;
  readonly #heads: readonly RowHead[];
  readonly #isRaw: boolean;
  readonly #from_us: number;
  readonly #to_us: number;
  /** 0 for a row per frame of the fastest group. */
  readonly #step_us: number;
  readonly #taker: RowTaker;
  readonly #values: Float64Array;
  readonly #states: Uint8Array;
  #ordinals: number[] = [];
  #layoutVersion = -1;
  #rawPlaces = new Map<number, { readonly column: number; readonly into: number; readonly scale: number }[]>();
  #fastest = -1;
  #next_us = -1;
  #hasTable = false;

  constructor(rig: RigSheet, heads: readonly RowHead[], isRaw: boolean, options: RowOptions, taker: RowTaker) {
    this.#pipeline = new Pipeline(rig);
    this.#heads = heads;
    this.#isRaw = isRaw;
    this.#from_us = options.from_us ?? 0;
    this.#to_us = options.to_us ?? Number.POSITIVE_INFINITY;
    const rate = options.rate_Hz ?? USUAL_RATE_HZ;
    this.#step_us = rate === 'all' ? 0 : 1e6 / rate;
    this.#taker = taker;
    this.#values = new Float64Array(heads.length).fill(Number.NaN);
    this.#states = new Uint8Array(heads.length).fill(quality.absent);
  }

  frame(ord: number, t_us: number, group: number, raw: Int32Array, columns: number): void {
    this.#before(t_us);
    this.lastOrd = ord;
    this.time_us = t_us;
    if (this.#isRaw) this.#takeRaw(group, raw);
    else this.#pipeline.frame(ord, t_us, group, raw, columns);
    if (this.#step_us === 0 && group === this.#fastest) this.#row(t_us);
  }

  tick(ord: number, t_us: number): void {
    this.#before(t_us);
    this.lastOrd = ord;
    this.time_us = t_us;
    if (!this.#isRaw) this.#pipeline.tick(ord, t_us);
  }

  event(ord: number, t_us: number, body: JournalInput): void {
    this.lastOrd = ord;
    this.time_us = t_us;
    if (body.kind === 'table') this.#takeTable(body.table);
    if (!this.#isRaw) this.#pipeline.event(ord, t_us, body);
  }

  /** The row of the last, begun step. */
  end(): void {
    if (this.#step_us > 0 && this.#next_us >= 0) this.#row(this.time_us);
  }

  /** Writes the row of the step that has just ended, before anything of the next is taken in. */
  #before(t_us: number): void {
    if (this.#step_us === 0 || t_us < this.#next_us) return;
    if (this.#next_us >= 0) this.#row(this.time_us);
    this.#next_us = (Math.floor(t_us / this.#step_us) + 1) * this.#step_us;
  }

  #row(t_us: number): void {
    if (!this.#hasTable || t_us < this.#from_us || t_us > this.#to_us) return;
    if (!this.#isRaw) this.#copyValues();
    this.rows += 1;
    this.#taker.row(t_us, this.#values, this.#states);
  }

  #copyValues(): void {
    const { channels, value, quality: states } = this.#pipeline.values;
    if (this.#pipeline.layoutVersion !== this.#layoutVersion) {
      this.#layoutVersion = this.#pipeline.layoutVersion;
      this.#ordinals = this.#heads.map((head) => channels.findIndex((each) => each.key === head.key));
    }
    for (let i = 0; i < this.#ordinals.length; i++) {
      const ordinal = this.#ordinals[i]!;
      const state = ordinal < 0 ? quality.absent : states[ordinal]!;
      this.#states[i] = state;
      this.#values[i] = state === quality.good ? value[ordinal]! : Number.NaN;
    }
  }

  #takeTable(table: BenchTable): void {
    this.#hasTable = true;
    this.#fastest = table.groups.toSorted((a, b) => b.rate_mHz - a.rate_mHz)[0]?.group ?? -1;
    if (!this.#isRaw) return;
    this.#values.fill(Number.NaN);
    this.#states.fill(quality.absent);
    this.#rawPlaces = new Map();
    for (const { key, group, column, decimals } of table.channels) {
      const into = this.#heads.findIndex((head) => head.key === key);
      if (into < 0) continue;
      const places = this.#rawPlaces.get(group) ?? [];
      places.push({ column, into, scale: 10 ** decimals });
      this.#rawPlaces.set(group, places);
    }
  }

  #takeRaw(group: number, raw: Int32Array): void {
    for (const { column, into, scale } of this.#rawPlaces.get(group) ?? []) {
      const state: QualityCode = qualityOfRaw(raw[column]!);
      this.#states[into] = state;
      this.#values[into] = state === quality.good ? raw[column]! / scale : Number.NaN;
    }
  }
}
