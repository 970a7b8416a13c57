/** Title of a band, and its channels' names and values at the ends of their lines or at the cursor. */
import { formatNumber } from '../ui/format.ts';
import { type Range, spreadLabels } from './axis.ts';
import type { TrendFrame } from './band-range.ts';
import type { TrendBand } from './bands.ts';
import { lastValue, valueAt } from './decimate.ts';
import { dashes } from './echarts.ts';

const LABEL_HEIGHT = 15;

interface BandLabelsProps {
  readonly band: TrendBand;
  readonly frame: TrendFrame | null;
  readonly range: Range | null;
  readonly top: number;
  readonly height: number;
  readonly left: number;
  readonly right: number;
  readonly at_us: number | null;
  readonly reach_us: number;
}

export function BandLabels({ band, frame, range, top, height, left, right, at_us, reach_us }: BandLabelsProps) {
  const values = band.channels.map((c) => {
    const columns = frame?.series.get(c.key);
    if (!columns) return NaN;
    return at_us === null ? lastValue(columns) : valueAt(columns, at_us, reach_us);
  });
  const wanted = values.map((v) =>
    range && Number.isFinite(v)
      ? top + height * (1 - (v - range.low) / (range.high - range.low)) - LABEL_HEIGHT / 2
      : top + height - LABEL_HEIGHT,
  );
  const placed = spreadLabels(wanted, LABEL_HEIGHT, top - 6, top + height - LABEL_HEIGHT + 6);
  return (
    <div className="band-labels" aria-hidden="true">
      <span className="band-title" style={{ top: top - 2, left: left + 6 }}>
        {band.title} <i>{band.unit}</i>
      </span>
      {band.channels.map((c, n) => (
        <span
          key={c.key}
          className="line-label"
          style={{ top: placed[n], left: `calc(100% - ${right - 6}px)`, width: right - 8 }}
        >
          <svg width="16" height="6" aria-hidden="true">
            <line
              x1="0"
              x2="16"
              y1="3"
              y2="3"
              stroke={`var(--line-${(n % 6) + 1})`}
              strokeWidth="2"
              strokeDasharray={dashes[n % dashes.length]?.join(' ') || undefined}
            />
          </svg>
          <b>{band.channels.length > 1 ? c.label : ''}</b>
          <span>{formatNumber(values[n] ?? NaN, Math.min(c.decimals, 2))}</span>
        </span>
      ))}
    </div>
  );
}
