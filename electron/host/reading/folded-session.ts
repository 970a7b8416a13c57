/**
 * A recorded session folded through the pipeline into series that can be
 * drawn: minimum and maximum of every channel, derived ones too, per time
 * step. Steps widen as the session grows, so that memory stays bounded; finer
 * views fold their own window again (`detailView`).
 *
 * The session being recorded can be folded too: each `update` goes on from
 * where the last one stopped. For short sessions; long ones are read from
 * their levels (`session-views.ts`).
 */
import { err, ok, type Result } from '../../../shared-core/base/result.ts';
import type { SeriesView } from '../../../shared-core/bridge/contract.ts';
import type { JournalInput, JournalSink } from '../../../shared-core/journal.ts';
import { Pipeline } from '../../../shared-core/pipeline.ts';
import type { RigSheet } from '../../../shared-core/rig/rig-sheet.ts';
import type { SessionStore, StoreError } from '../store/store-contract.ts';

const FIRST_STEP_US = 50_000;
const MOST_STEPS = 40_000;
/** Derived values look back up to 30 s (totaliser regression); a window is folded from a minute before. */
export const WARM_UP_US = 60_000_000;

interface Place {
  readonly t_us: number;
  readonly ord: number;
}

/** Receives the fold's values step by step. */
export class StepSeries {
  step_us = FIRST_STEP_US;
  steps = 0;
  #channels: string[] = [];
  #min: Float32Array[] = [];
  #max: Float32Array[] = [];
  #capacity = 1024;

  channels(keys: readonly string[]): void {
    for (const key of keys) {
      if (this.#channels.includes(key)) continue;
      this.#channels.push(key);
      this.#min.push(new Float32Array(this.#capacity).fill(Number.NaN));
      this.#max.push(new Float32Array(this.#capacity).fill(Number.NaN));
    }
  }

  columnOf(key: string): number {
    return this.#channels.indexOf(key);
  }

  put(column: number, t_us: number, value: number): void {
    let step = Math.floor(t_us / this.step_us);
    while (step >= MOST_STEPS) {
      this.#widen();
      step = Math.floor(t_us / this.step_us);
    }
    if (step >= this.#capacity) this.#grow(step + 1);
    if (step >= this.steps) this.steps = step + 1;
    const min = this.#min[column]!;
    const max = this.#max[column]!;
    if (!(min[step]! <= value)) min[step] = value;
    if (!(max[step]! >= value)) max[step] = value;
  }

  extremes(column: number, from: number, to: number): { min: number; max: number } {
    let lowest = Number.NaN;
    let highest = Number.NaN;
    const min = this.#min[column]!;
    const max = this.#max[column]!;
    for (let i = Math.max(0, from); i < Math.min(to, this.steps); i++) {
      if (!(lowest <= min[i]!) && !Number.isNaN(min[i]!)) lowest = min[i]!;
      if (!(highest >= max[i]!) && !Number.isNaN(max[i]!)) highest = max[i]!;
    }
    return { min: lowest, max: highest };
  }

  #grow(steps: number): void {
    const capacity = Math.min(MOST_STEPS, Math.max(steps, this.#capacity * 2));
    const wider = (old: Float32Array): Float32Array => {
      const next = new Float32Array(capacity).fill(Number.NaN);
      next.set(old);
      return next;
    };
    this.#min = this.#min.map(wider);
    this.#max = this.#max.map(wider);
    this.#capacity = capacity;
  }

  /** Two steps become one. */
  #widen(): void {
    const half = Math.ceil(this.steps / 2);
    for (let c = 0; c < this.#channels.length; c++) {
      const min = this.#min[c]!;
      const max = this.#max[c]!;
      for (let i = 0; i < half; i++) {
        const { min: low, max: high } = this.extremes(c, 2 * i, 2 * i + 2);
        min[i] = low;
        max[i] = high;
      }
      min.fill(Number.NaN, half);
      max.fill(Number.NaN, half);
    }
    this.steps = half;
    this.step_us *= 2;
  }
}

/** A pipeline whose values go into a `StepSeries`. */
export class SeriesFold implements JournalSink {
  readonly pipeline: Pipeline;
  readonly series: StepSeries;
  lastOrd = -1;
  end_us = 0;
  readonly #from_us: number;
  #layoutVersion = -1;
  #columns: number[] = [];
  #seen_us: Float64Array = new Float64Array(0);

  constructor(rig: RigSheet, series: StepSeries, from_us: number) {
    this.series = series;
    this.#from_us = from_us;
    this.pipeline = new Pipeline(rig, { onValues: (t_us) => this.#values(t_us), onOutput: () => {} });
  }

  frame(ord: number, t_us: number, group: number, raw: Int32Array, columns: number): void {
    this.lastOrd = ord;
    this.end_us = t_us;
    this.pipeline.frame(ord, t_us, group, raw, columns);
  }
  tick(ord: number, t_us: number): void {
    this.lastOrd = ord;
    this.end_us = t_us;
    this.pipeline.tick(ord, t_us);
  }
  event(ord: number, t_us: number, body: JournalInput): void {
    this.lastOrd = ord;
    this.end_us = t_us;
    this.pipeline.event(ord, t_us, body);
  }

  #values(t_us: number): void {
    const values = this.pipeline.values;
    if (this.pipeline.layoutVersion !== this.#layoutVersion) {
      this.#layoutVersion = this.pipeline.layoutVersion;
      this.series.channels(values.channels.map((each) => each.key));
      this.#columns = values.channels.map((each) => this.series.columnOf(each.key));
      this.#seen_us = new Float64Array(values.channels.length).fill(-1);
    }
    if (t_us < this.#from_us) return;
    for (let i = 0; i < this.#columns.length; i++) {
      const updated_us = values.updated_us[i]!;
      if (updated_us <= this.#seen_us[i]! || values.quality[i] !== 0) continue;
      this.#seen_us[i] = updated_us;
      this.series.put(this.#columns[i]!, updated_us - this.#from_us, values.value[i]!);
    }
  }
}

export class FoldedSession {
  readonly id: string;
  readonly #store: SessionStore;
  readonly #rig: RigSheet;
  readonly #fold: SeriesFold;
  /** Where in the journal each ten seconds begin, for windows folded again. */
  readonly #places: Place[] = [];

  constructor(store: SessionStore, id: string, rig: RigSheet) {
    this.id = id;
    this.#store = store;
    this.#rig = rig;
    this.#fold = new SeriesFold(rig, new StepSeries(), 0);
  }

  get end_us(): number {
    return this.#fold.end_us;
  }

  /** Folds what has been recorded since the last update. */
  update(shouldStop?: (t_us: number) => boolean): Result<null, StoreError> {
    const fold = this.#fold;
    const places = this.#places;
    const sink: JournalSink = {
      frame(ord, t_us, group, raw, columns) {
        if (places.length === 0 || t_us - places.at(-1)!.t_us >= 10_000_000) places.push({ t_us, ord });
        fold.frame(ord, t_us, group, raw, columns);
      },
      tick: (ord, t_us) => fold.tick(ord, t_us),
      event: (ord, t_us, body) => fold.event(ord, t_us, body),
    };
    return this.#store.replay(this.id, sink, {
      fromOrd: fold.lastOrd + 1,
      ...(shouldStop === undefined ? {} : { shouldStop }),
    });
  }

  /** One series per channel; a channel that the session does not have is all gaps. */
  view(channels: readonly string[], from_us: number, to_us: number, pixels: number): Result<SeriesView[], StoreError> {
    const width_us = (to_us - from_us) / pixels;
    if (!(width_us > 0)) return ok([]);
    if (width_us < this.#fold.series.step_us) return this.#detailView(channels, from_us, to_us, pixels);
    return ok(channels.map((key) => columns(this.#fold.series, key, 0, from_us, to_us, pixels)));
  }

  /** The window folded again by itself, at its own step. */
  #detailView(
    channels: readonly string[],
    from_us: number,
    to_us: number,
    pixels: number,
  ): Result<SeriesView[], StoreError> {
    const series = new StepSeries();
    // At least the spacing of the fastest group, else most columns would be gaps.
    series.step_us = Math.max(1000, (to_us - from_us) / pixels);
    const start = this.#places.findLast((place) => place.t_us <= from_us - WARM_UP_US)?.ord ?? 0;
    const fold = new SeriesFold(this.#rig, series, from_us);
    if (start > 0 && this.#fold.pipeline.table !== null) {
      // The table in force; a session whose bench changed layout midway is folded from its beginning instead.
      fold.event(start - 1, 0, { kind: 'table', table: this.#fold.pipeline.table });
    }
    const done = this.#store.replay(this.id, fold, { fromOrd: start, shouldStop: (t_us) => t_us > to_us });
    if (!done.ok) return err(done.error);
    return ok(channels.map((key) => columns(series, key, from_us, from_us, to_us, pixels)));
  }
}

/** Pixel columns out of a step series whose step 0 begins at `zero_us`. */
export function columns(
  series: StepSeries,
  key: string,
  zero_us: number,
  from_us: number,
  to_us: number,
  pixels: number,
): SeriesView {
  const t_us = new Float64Array(pixels);
  const min = new Float64Array(pixels).fill(Number.NaN);
  const max = new Float64Array(pixels).fill(Number.NaN);
  const width_us = (to_us - from_us) / pixels;
  const column = series.columnOf(key);
  for (let p = 0; p < pixels; p++) {
    t_us[p] = from_us + p * width_us;
    if (column < 0) continue;
    const first = Math.floor((t_us[p]! - zero_us) / series.step_us);
    const end = Math.max(first + 1, Math.floor((t_us[p]! + width_us - zero_us) / series.step_us));
    const extremes = series.extremes(column, first, end);
    min[p] = extremes.min;
    max[p] = extremes.max;
  }
  return { channel: key, from_us, to_us, t_us, min, max };
}
