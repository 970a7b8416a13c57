/**
 * A measurement between two times, from the drawn columns of a `view` answer:
 * values at both ends, and minimum, maximum and mean between. The windows and
 * flags of the overview too. Pure.
 */
import type { SeriesView } from '../../shared-core/bridge/contract.ts';
import { alarmLevels } from '../../shared-core/limits/rules.ts';
import type { TrendFlag } from '../plots/flags.ts';

/** Columns asked for between A and B. */
export const MEASURE_COLUMNS = 600;

export interface Measured {
  /** Middle of the first and the last column that hold data; NaN if none does. */
  readonly atA: number;
  readonly atB: number;
  readonly min: number;
  readonly max: number;
  /** Mean of the middles of the columns that hold data: an estimate, not the mean of the samples. */
  readonly mean: number;
  /** Columns that hold data. */
  readonly columns: number;
}

export function measured(view: Pick<SeriesView, 'min' | 'max'>): Measured {
  let min = NaN;
  let max = NaN;
  let sum = 0;
  let columns = 0;
  let atA = NaN;
  let atB = NaN;
  for (let i = 0; i < view.min.length; i++) {
    const low = view.min[i]!;
    const high = view.max[i]!;
    if (Number.isNaN(low) || Number.isNaN(high)) continue;
    const middle = (low + high) / 2;
    if (columns === 0) atA = middle;
    atB = middle;
    columns++;
    sum += middle;
    if (!(min <= low)) min = low;
    if (!(max >= high)) max = high;
  }
  return { atA, atB, min, max, mean: columns > 0 ? sum / columns : NaN, columns };
}

export interface Stretch {
  readonly from_us: number;
  readonly to_us: number;
}

/** Below this a window shows single samples only. */
export const SHORTEST_US = 200_000;

/** The window made `factor` times as long, with `around_us` in its place, kept within the session. */
export function zoomedStretch(now: Stretch, factor: number, around_us: number, duration_us: number): Stretch {
  const span_us = now.to_us - now.from_us;
  const next_us = Math.min(duration_us, Math.max(Math.min(SHORTEST_US, duration_us), span_us * factor));
  const share = span_us > 0 ? (around_us - now.from_us) / span_us : 0.5;
  return within({ from_us: around_us - share * next_us, to_us: around_us + (1 - share) * next_us }, duration_us);
}

export function pannedStretch(now: Stretch, by_us: number, duration_us: number): Stretch {
  return within({ from_us: now.from_us + by_us, to_us: now.to_us + by_us }, duration_us);
}

/** Moved, not cut, until it lies within the session; cut only where it is longer than that. */
export function within(stretch: Stretch, duration_us: number): Stretch {
  const span_us = Math.min(stretch.to_us - stretch.from_us, duration_us);
  const from_us = Math.min(Math.max(0, stretch.from_us), duration_us - span_us);
  return { from_us, to_us: from_us + span_us };
}

/** One flag of several that fell together, and how many they are. */
export interface FlagGroup {
  readonly flag: TrendFlag;
  readonly count: number;
}

/**
 * Flags that would cover each other, within `apart_us`, become one: the
 * gravest, or the first of equals. In order of time.
 */
export function thinned(flags: readonly TrendFlag[], apart_us: number): readonly FlagGroup[] {
  const inOrder = [...flags].sort((a, b) => a.t_us - b.t_us);
  const groups: { flag: TrendFlag; count: number; from_us: number }[] = [];
  for (const flag of inOrder) {
    const last = groups.at(-1);
    if (!last || flag.t_us - last.from_us >= apart_us) {
      groups.push({ flag, count: 1, from_us: flag.t_us });
      continue;
    }
    last.count++;
    if (weight(flag) > weight(last.flag)) last.flag = flag;
  }
  return groups;
}

function weight(flag: TrendFlag): number {
  return flag.level === null ? -1 : alarmLevels.indexOf(flag.level);
}
