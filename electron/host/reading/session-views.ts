/**
 * Views of a long session without folding it: channels of the bench from the
 * levels of their raw integers, calibrated here; derived channels from the
 * levels that were written while the pipeline ran. Folded are only short
 * windows of derived channels, and the last minutes of them where the session
 * is still being recorded or broke off.
 *
 * A session is folded whole instead (`folded-session.ts`) when it is short, when
 * its bench changed its channel table, and, for a channel, when its calibration
 * turns round within what was measured or no levels of it were written.
 */
import { ok, type Result } from '../../../shared-core/base/result.ts';
import type { SeriesView } from '../../../shared-core/bridge/contract.ts';
import { type CalibrationTerms, calibrated, identityCalibration } from '../../../shared-core/channels/calibration.ts';
import type { Channel } from '../../../shared-core/channels/channel.ts';
import { channelsOfTable } from '../../../shared-core/channels/channel-list.ts';
import { channelsOnRig } from '../../../shared-core/channels/channel-settings.ts';
import { findChannel } from '../../../shared-core/channels/usual-keys.ts';
import type { BenchTable } from '../../../shared-core/line/messages.ts';
import type { RigSheet } from '../../../shared-core/rig/rig-sheet.ts';
import type { RawView, SessionStore, StoreError } from '../store/store-contract.ts';
import { columns, SeriesFold, StepSeries, WARM_UP_US } from './folded-session.ts';

/** A session up to this long is folded within a second. */
const LONG_SESSION_US = 600_000_000;
/** Derived channels in a window up to this long are folded at its own resolution. */
const DETAIL_US = 120_000_000;

export class SessionViews {
  readonly id: string;
  readonly #store: SessionStore;
  readonly #rig: RigSheet;
  readonly #table: BenchTable;
  readonly #channels: readonly Channel[];
  /** The end of the session beyond the derived levels, folded on with each look. */
  #tail: { readonly from_us: number; readonly fold: SeriesFold } | null = null;

  private constructor(store: SessionStore, id: string, rig: RigSheet, table: BenchTable) {
    this.id = id;
    this.#store = store;
    this.#rig = rig;
    this.#table = table;
    this.#channels = channelsOnRig(channelsOfTable(table), rig.channels);
  }

  /** Null where the session is to be folded. */
  static of(store: SessionStore, id: string): Result<SessionViews | null, StoreError> {
    const found = store.tables(id);
    if (!found.ok) return found;
    const { row, rig, tables } = found.value;
    const table = tables[0];
    if (row.duration_us < LONG_SESSION_US || table === undefined) return ok(null);
    const views = new SessionViews(store, id, rig, table);
    return ok(views.isOf(tables) ? views : null);
  }

  /** Whether all of these tables, which may have come since, mean the same columns. */
  isOf(tables: readonly BenchTable[]): boolean {
    const shape = shapeOf(this.#table);
    return tables.every((each) => shapeOf(each) === shape);
  }

  /** One series for each channel; null where one of them can only be had by folding the whole session. */
  view(
    keys: readonly string[],
    from_us: number,
    to_us: number,
    pixels: number,
  ): Result<SeriesView[] | null, StoreError> {
    if (!(to_us > from_us && pixels >= 1)) return ok([]);
    const found = new Map<string, SeriesView>();
    const derived: string[] = [];
    for (const key of keys) {
      const channel = this.#channels.find((each) => each.key === key);
      if (channel === undefined) derived.push(key);
      else {
        const series = this.#bench(channel, from_us, to_us, pixels);
        if (!series.ok || series.value === null) return series as Result<null, StoreError>;
        found.set(key, series.value);
      }
    }
    if (derived.length > 0) {
      const series = this.#derived(derived, from_us, to_us, pixels);
      if (!series.ok || series.value === null) return series;
      for (const each of series.value) found.set(each.channel, each);
    }
    return ok(keys.flatMap((key) => found.get(key) ?? []));
  }

  #bench(channel: Channel, from_us: number, to_us: number, pixels: number): Result<SeriesView | null, StoreError> {
    const { origin, key } = channel;
    if (origin.kind !== 'bench') throw new Error(`expected ${key} to be a channel of the bench`);
    const raw = this.#store.viewRaw(this.id, origin.group, origin.column, { from_us, to_us, pixels });
    if (!raw.ok) return raw;
    const terms: CalibrationTerms =
      this.#rig.calibrations.find((each) => findChannel(this.#channels, each.channel) === channel) ??
      identityCalibration;
    // As the pipeline does it (pipeline/live-store.ts), so that values are the same to the bit.
    const plain = (each: number): number => each * origin.factor + origin.offset;
    if (turnsRound(terms, raw.value, plain)) return ok(null);
    const { edges_us, count } = raw.value;
    const min = new Float64Array(count.length).fill(Number.NaN);
    const max = new Float64Array(count.length).fill(Number.NaN);
    for (let pixel = 0; pixel < count.length; pixel++) {
      if (count[pixel] === 0) continue;
      const a = calibrated(terms, plain(raw.value.min[pixel]!));
      const b = calibrated(terms, plain(raw.value.max[pixel]!));
      // A falling calibration, or a negative factor, makes the lowest count the highest value.
      min[pixel] = Math.min(a, b);
      max[pixel] = Math.max(a, b);
    }
    return ok({ channel: key, from_us, to_us, t_us: edges_us.slice(0, pixels), min, max });
  }

  #derived(
    keys: readonly string[],
    from_us: number,
    to_us: number,
    pixels: number,
  ): Result<SeriesView[] | null, StoreError> {
    if (to_us - from_us <= DETAIL_US) return this.#folded(keys, from_us, to_us, pixels);
    const all: SeriesView[] = [];
    for (const key of keys) {
      const levels = this.#store.viewDerived(this.id, key, { from_us, to_us, pixels });
      if (!levels.ok) return levels;
      const { edges_us, min, max, coveredTo_us } = levels.value;
      if (min.length === 0) {
        if (this.#mayHave(key)) return ok(null);
        all.push(gaps(key, from_us, to_us, pixels));
        continue;
      }
      const t_us = edges_us.slice(0, min.length);
      const tail = coveredTo_us < to_us ? this.#tailFrom(coveredTo_us) : null;
      if (tail !== null && !tail.ok) return tail;
      if (tail !== null) fill(tail.value, key, edges_us, min, max, coveredTo_us);
      all.push({ channel: key, from_us, to_us, t_us, min, max });
    }
    return ok(all);
  }

  /** Whether there could be values without levels: in a session from before levels, or one that was salvaged. */
  #mayHave(key: string): boolean {
    const fold = new SeriesFold(this.#rig, new StepSeries(), 0);
    fold.event(0, 0, { kind: 'table', table: this.#table });
    return fold.pipeline.values.channels.some((channel) => channel.key === key);
  }

  /** The window by itself, at its own step. */
  #folded(keys: readonly string[], from_us: number, to_us: number, pixels: number): Result<SeriesView[], StoreError> {
    const series = new StepSeries();
    // At least the spacing of the fastest group, else most columns would be gaps.
    series.step_us = Math.max(1000, (to_us - from_us) / pixels);
    const fold = new SeriesFold(this.#rig, series, from_us);
    const done = this.#feed(fold, from_us, (t_us) => t_us > to_us);
    if (!done.ok) return done;
    return ok(keys.map((key) => columns(series, key, from_us, from_us, to_us, pixels)));
  }

  #tailFrom(from_us: number): Result<SeriesFold, StoreError> {
    const kept = this.#tail;
    if (kept !== null && kept.from_us <= from_us) {
      const done = this.#store.replay(this.id, kept.fold, { fromOrd: kept.fold.lastOrd + 1 });
      return done.ok ? ok(kept.fold) : done;
    }
    const fold = new SeriesFold(this.#rig, new StepSeries(), 0);
    const done = this.#feed(fold, from_us, () => false);
    if (!done.ok) return done;
    this.#tail = { from_us, fold };
    return ok(fold);
  }

  /** Folds from a minute before `from_us`, with the channel table in force. */
  #feed(fold: SeriesFold, from_us: number, shouldStop: (t_us: number) => boolean): Result<null, StoreError> {
    const start_us = Math.max(0, from_us - WARM_UP_US);
    const ord = this.#store.ordBefore(this.id, start_us);
    if (!ord.ok) return ord;
    if (start_us > 0) fold.event(Math.max(0, ord.value - 1), start_us, { kind: 'table', table: this.#table });
    return this.#store.replay(this.id, fold, { fromOrd: start_us > 0 ? ord.value : 0, shouldStop });
  }
}

/** All that decides what a column means. */
function shapeOf(table: BenchTable): string {
  return JSON.stringify([table.groups, table.channels]);
}

/** Whether the polynomial's turning point lies within what the view shows. */
function turnsRound(terms: CalibrationTerms, { min, max, count }: RawView, plain: (raw: number) => number): boolean {
  if (terms.a2 === 0) return false;
  const turn = -terms.a1 / (2 * terms.a2);
  for (let pixel = 0; pixel < min.length; pixel++) {
    if (count[pixel] === 0) continue;
    const a = plain(min[pixel]!);
    const b = plain(max[pixel]!);
    if (Math.min(a, b) < turn && turn < Math.max(a, b)) return true;
  }
  return false;
}

/** Columns that end behind `from_us` take what the fold has of them, too. */
function fill(
  { series }: SeriesFold,
  key: string,
  edges_us: Float64Array,
  min: Float64Array,
  max: Float64Array,
  from_us: number,
): void {
  const column = series.columnOf(key);
  if (column < 0) return;
  for (let p = 0; p < min.length; p++) {
    if (edges_us[p + 1]! <= from_us) continue;
    const first = Math.ceil(Math.max(from_us, edges_us[p]!) / series.step_us);
    const found = series.extremes(column, first, Math.max(first + 1, Math.ceil(edges_us[p + 1]! / series.step_us)));
    if (!(min[p]! <= found.min) && !Number.isNaN(found.min)) min[p] = found.min;
    if (!(max[p]! >= found.max) && !Number.isNaN(found.max)) max[p] = found.max;
  }
}

function gaps(channel: string, from_us: number, to_us: number, pixels: number): SeriesView {
  const t_us = Float64Array.from({ length: pixels }, (_, p) => from_us + (p * (to_us - from_us)) / pixels);
  const none = new Float64Array(pixels).fill(Number.NaN);
  return { channel, from_us, to_us, t_us, min: none, max: none.slice() };
}
