/**
 * The last half hour of display steps of one stream: minimum, maximum, last
 * and quality per channel and step, in arrays made once. Decimation for
 * drawing is in `plots/decimate.ts`.
 */
import type { DisplayBatch, SeriesView } from '../../shared-core/bridge/contract.ts';
import { quality } from '../../shared-core/channels/quality.ts';

/** 30 min, at one step every 30 ms. */
export const RING_STEPS = 60_000;

export class DisplayRing {
  readonly channels: number;
  readonly capacity: number;
  /** By physical index, see `at`. Session time of the step's start and end. */
  readonly from_us: Float64Array;
  readonly to_us: Float64Array;
  /** By channel ordinal, then physical index. Single precision is finer than any screen. */
  readonly min: readonly Float32Array[];
  readonly max: readonly Float32Array[];
  readonly last: readonly Float32Array[];
  readonly quality: readonly Uint8Array[];
  /** From here on the ring holds steps; before it, coarser back-filled columns. NaN while it holds no step. */
  fineFrom_us = NaN;
  #start = 0;
  #count = 0;
  /** Changes whenever the contents change. */
  version = 0;

  constructor(channels: number, capacity: number = RING_STEPS) {
    this.channels = channels;
    this.capacity = capacity;
    this.from_us = new Float64Array(capacity);
    this.to_us = new Float64Array(capacity);
    const floats = () => Array.from({ length: channels }, () => new Float32Array(capacity));
    this.min = floats();
    this.max = floats();
    this.last = floats();
    this.quality = Array.from({ length: channels }, () => new Uint8Array(capacity));
  }

  get count(): number {
    return this.#count;
  }

  /** Physical index of the i-th oldest step. */
  at(i: number): number {
    const p = this.#start + i;
    return p >= this.capacity ? p - this.capacity : p;
  }

  /** Session time of the oldest and of the newest step held; NaN when empty. */
  get oldest_us(): number {
    return this.#count === 0 ? NaN : this.from_us[this.at(0)]!;
  }
  get newest_us(): number {
    return this.#count === 0 ? NaN : this.to_us[this.at(this.#count - 1)]!;
  }

  clear(): void {
    this.#start = 0;
    this.#count = 0;
    this.fineFrom_us = NaN;
    this.version++;
  }

  /**
   * Adds a step at the new end; the oldest makes room. A step that begins
   * before the newest one held means that time went back (a replay was moved):
   * the ring is emptied first, and true is returned.
   */
  push(batch: DisplayBatch): boolean {
    const wentBack = this.#count > 0 && batch.to_us < this.newest_us;
    if (wentBack) this.clear();
    if (Number.isNaN(this.fineFrom_us)) this.fineFrom_us = batch.from_us;
    let p: number;
    if (this.#count === this.capacity) {
      p = this.#start;
      this.#start = this.at(1);
    } else {
      p = this.at(this.#count);
      this.#count++;
    }
    this.from_us[p] = batch.from_us;
    this.to_us[p] = batch.to_us;
    for (let c = 0; c < this.channels; c++) {
      this.min[c]![p] = batch.min[c] ?? NaN;
      this.max[c]![p] = batch.max[c] ?? NaN;
      this.last[c]![p] = batch.last[c] ?? NaN;
      this.quality[c]![p] = batch.quality[c] ?? quality.absent;
    }
    this.version++;
    return wentBack;
  }

  /**
   * Puts older columns, as the host's `view` request gives them, before the
   * oldest step, newest first, until the ring is full. Columns at or after the
   * oldest step held are left out: the steps are finer. Columns are those of the
   * finest series; of a coarser one (derived channels go by seconds) each gets
   * the column that it lies in.
   * @returns how many columns were taken
   */
  backfill(series: readonly { readonly ordinal: number; readonly view: SeriesView }[]): number {
    let finest = series[0]?.view;
    if (!finest) return 0;
    for (const { view } of series) if (view.t_us.length > finest.t_us.length) finest = view;
    const t = finest.t_us;
    const places = series.map(({ view }) => view.t_us.length - 1);
    let taken = 0;
    for (let column = t.length - 1; column >= 0 && this.#count < this.capacity; column--) {
      const from = t[column]!;
      const to = t[column + 1] ?? finest.to_us;
      if (this.#count > 0 && to > this.oldest_us) continue;
      this.#start = this.#start === 0 ? this.capacity - 1 : this.#start - 1;
      this.#count++;
      const p = this.#start;
      this.from_us[p] = from;
      this.to_us[p] = to;
      for (let c = 0; c < this.channels; c++) {
        this.min[c]![p] = NaN;
        this.max[c]![p] = NaN;
        this.last[c]![p] = NaN;
        this.quality[c]![p] = quality.good;
      }
      for (let i = 0; i < series.length; i++) {
        const { ordinal, view } = series[i]!;
        while (places[i]! > 0 && view.t_us[places[i]!]! > (from + to) / 2) places[i] = places[i]! - 1;
        const min = view.min[places[i]!] ?? NaN;
        const max = view.max[places[i]!] ?? NaN;
        this.min[ordinal]![p] = min;
        this.max[ordinal]![p] = max;
        this.last[ordinal]![p] = (min + max) / 2;
      }
      taken++;
    }
    if (taken > 0) this.version++;
    return taken;
  }

  /** Logical index of the first step that ends after `t_us`; `count` if none does. */
  firstAfter(t_us: number): number {
    let low = 0;
    let high = this.#count;
    while (low < high) {
      const mid = (low + high) >> 1;
      if (this.to_us[this.at(mid)]! > t_us) high = mid;
      else low = mid + 1;
    }
    return low;
  }
}
