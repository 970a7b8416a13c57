/**
 * From display steps or a `view` answer to one minimum and maximum per pixel
 * column. Columns are aligned to whole multiples of their width in session
 * time, so that a moving window does not make the line shimmer. Pure.
 */
import type { SeriesView } from '../../shared-core/bridge/contract.ts';
import { quality } from '../../shared-core/channels/quality.ts';
import type { DisplayRing } from '../app/display-ring.ts';

/** Columns of one channel in time order; `count` are filled. A NaN column breaks the line. */
export interface Columns {
  count: number;
  /** Middle of the column. */
  readonly t_us: Float64Array;
  readonly min: Float64Array;
  readonly max: Float64Array;
}

/** A channel that is silent for longer is drawn with a gap, however slow its group. */
export const GAP_US = 3_000_000;

export function makeColumns(capacity: number): Columns {
  // Between two columns with data there can be one that breaks the line.
  const size = 2 * capacity + 4;
  return { count: 0, t_us: new Float64Array(size), min: new Float64Array(size), max: new Float64Array(size) };
}

/**
 * Fills `out` with the columns of a channel between two session times. Steps
 * in which the channel had no sample of its own (a slow group) are skipped;
 * those in which it was not good, and silences over `GAP_US`, break the line.
 */
export function decimateRing(
  ring: DisplayRing,
  ordinal: number,
  from_us: number,
  to_us: number,
  pixels: number,
  out: Columns,
): void {
  out.count = 0;
  const minimum = ring.min[ordinal];
  const maximum = ring.max[ordinal];
  const codes = ring.quality[ordinal];
  if (!minimum || !maximum || !codes || pixels < 1 || !(to_us > from_us)) return;
  const width_us = (to_us - from_us) / pixels;
  let column = NaN;
  let lastGood_us = NaN;
  let isBroken = false;
  for (let i = ring.firstAfter(from_us); i < ring.count; i++) {
    const p = ring.at(i);
    const start_us = ring.from_us[p]!;
    if (start_us > to_us) break;
    const min = minimum[p]!;
    if (Number.isNaN(min)) {
      if (codes[p] !== quality.good) isBroken = true;
      continue;
    }
    const end_us = ring.to_us[p]!;
    const gap_us = Math.max(GAP_US, 2 * (end_us - start_us));
    if (!Number.isNaN(lastGood_us) && (isBroken || start_us - lastGood_us > gap_us)) {
      pushBreak(out, (lastGood_us + start_us) / 2);
      column = NaN;
    }
    isBroken = false;
    lastGood_us = end_us;
    const at_us = (start_us + end_us) / 2;
    const its = Math.floor(at_us / width_us);
    if (its === column) merge(out, min, maximum[p]!);
    else if (!push(out, (its + 0.5) * width_us, min, maximum[p]!)) return;
    column = its;
  }
  if (isBroken && !Number.isNaN(lastGood_us)) pushBreak(out, lastGood_us);
}

/** The same from the host's answer: NaN columns of a slow channel are bridged, longer silences break the line. */
export function columnsOfView(view: SeriesView): Columns {
  const n = view.t_us.length;
  const out = makeColumns(n);
  const width_us = n > 1 ? view.t_us[1]! - view.t_us[0]! : 0;
  const gap_us = Math.max(GAP_US, 2.5 * width_us);
  let lastGood_us = NaN;
  for (let i = 0; i < n; i++) {
    const min = view.min[i]!;
    if (Number.isNaN(min)) continue;
    const at_us = view.t_us[i]! + width_us / 2;
    if (at_us - lastGood_us > gap_us) pushBreak(out, (at_us + lastGood_us) / 2);
    lastGood_us = at_us;
    push(out, at_us, min, view.max[i]!);
  }
  return out;
}

/** Older columns up to a time, newer ones from there on: a recording continued by the ring. */
export function joinColumns(older: Columns, newer: Columns, at_us: number): Columns {
  const out = makeColumns(older.count + newer.count);
  for (let i = 0; i < older.count; i++) {
    if (older.t_us[i]! < at_us) push(out, older.t_us[i]!, older.min[i]!, older.max[i]!);
  }
  for (let i = 0; i < newer.count; i++) {
    if (newer.t_us[i]! >= at_us) push(out, newer.t_us[i]!, newer.min[i]!, newer.max[i]!);
  }
  return out;
}

/** Smallest and greatest value in the columns between two times; null when there are none. */
export function extent(
  columns: Columns,
  from_us: number,
  to_us: number,
): { readonly low: number; readonly high: number } | null {
  let low = Infinity;
  let high = -Infinity;
  for (let i = 0; i < columns.count; i++) {
    const t = columns.t_us[i]!;
    const min = columns.min[i]!;
    if (t < from_us || t > to_us || Number.isNaN(min)) continue;
    if (min < low) low = min;
    if (columns.max[i]! > high) high = columns.max[i]!;
  }
  return high >= low ? { low, high } : null;
}

/** Value at a time: the middle of the nearest column within `reach_us`; NaN in a gap. */
export function valueAt(columns: Columns, t_us: number, reach_us: number): number {
  let best = NaN;
  let distance = reach_us;
  for (let i = 0; i < columns.count; i++) {
    const d = Math.abs(columns.t_us[i]! - t_us);
    if (d > distance) continue;
    distance = d;
    best = (columns.min[i]! + columns.max[i]!) / 2;
  }
  return best;
}

/** Newest value in the columns, NaN if the line ends in a gap. */
export function lastValue(columns: Columns): number {
  if (columns.count === 0) return NaN;
  return (columns.min[columns.count - 1]! + columns.max[columns.count - 1]!) / 2;
}

function push(out: Columns, t_us: number, min: number, max: number): boolean {
  if (out.count >= out.t_us.length) return false;
  out.t_us[out.count] = t_us;
  out.min[out.count] = min;
  out.max[out.count] = max;
  out.count++;
  return true;
}

function pushBreak(out: Columns, t_us: number): void {
  push(out, t_us, NaN, NaN);
}

function merge(out: Columns, min: number, max: number): void {
  const i = out.count - 1;
  if (min < out.min[i]!) out.min[i] = min;
  if (max > out.max[i]!) out.max[i] = max;
}
