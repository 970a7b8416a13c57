/** The frame that a plot draws, and the value range of each band in it. Pure. */
import type { ChannelKey } from '../../shared-core/channels/channel.ts';
import { type Range, valueRange } from './axis.ts';
import type { TrendBand } from './bands.ts';
import { type Columns, extent } from './decimate.ts';

/** What to draw: session times and one set of columns per channel key. A new object for every change. */
export interface TrendFrame {
  readonly from_us: number;
  readonly to_us: number;
  readonly series: ReadonlyMap<ChannelKey, Columns>;
}

/** Half of the least change worth an axis of its own, by unit: noise must not look like an event. */
const leastSpan: Readonly<Record<string, number>> = {
  rpm: 400,
  '°C': 20,
  N: 10,
  N·m: 1,
  kW: 0.5,
  'L/h': 1,
  '%': 10,
  V: 2,
  A: 2,
  hPa: 5,
};

/** Range of a band, kept calm by the one before it in `kept` (by band id), which is brought up to date. */
export function rangeOf(band: TrendBand, frame: TrendFrame, kept: Map<string, Range>): Range {
  let low = Infinity;
  let high = -Infinity;
  for (const channel of band.channels) {
    const columns = frame.series.get(channel.key);
    const found = columns ? extent(columns, frame.from_us, frame.to_us) : null;
    if (!found) continue;
    low = Math.min(low, found.low);
    high = Math.max(high, found.high);
  }
  const before = kept.get(band.id) ?? null;
  if (!(high >= low)) return before ?? { low: 0, high: 1, step: 0.5 };
  const range = valueRange(
    before,
    low,
    high,
    band.limits.map((l) => l.value),
    leastSpan[band.unit] ?? 0.1,
  );
  kept.set(band.id, range);
  return range;
}
