/** Rate, loss, faults and latency of the link over the last ten minutes: small lines with their least and most. */
import { useEffect } from 'react';
import { formatNumber, formatQuantity } from '../ui/format.ts';
import { keepLinkHistory, type LinkLook, LOOKS_KEPT, useLinkHistory } from './link-history.ts';

const WIDTH = 120;
const HEIGHT = 26;

const trends: readonly {
  readonly title: string;
  readonly key: keyof LinkLook;
  readonly decimals: number;
  readonly unit: string;
}[] = [
  { title: 'Lines', key: 'linesPerSecond', decimals: 0, unit: '/s' },
  { title: 'Lost', key: 'loss_percent', decimals: 2, unit: '%' },
  { title: 'Faults and missing', key: 'faults', decimals: 0, unit: '/s' },
  { title: 'Latency', key: 'hostLatency_ms', decimals: 1, unit: 'ms' },
  { title: 'Drift', key: 'drift_ppm', decimals: 0, unit: 'ppm' },
];

export function LinkTrends() {
  const looks = useLinkHistory((s) => s.looks);
  useEffect(() => keepLinkHistory(), []);
  return (
    <div className="link-trends" data-testid="link-trends" data-looks={looks.length}>
      {trends.map(({ title, key, decimals, unit }) => {
        const values = looks.map((look) => look[key]);
        const good = values.filter(Number.isFinite);
        const [low, high] = good.length === 0 ? [NaN, NaN] : [Math.min(...good), Math.max(...good)];
        const range = `${formatNumber(low, decimals)} to ${formatQuantity(high, decimals, unit)}`;
        return (
          <div key={key}>
            <span className="muted">{title}</span>
            <svg
              viewBox={`0 0 ${WIDTH} ${HEIGHT}`}
              preserveAspectRatio="none"
              role="img"
              aria-label={`${title}, last ${LOOKS_KEPT / 60} minutes: ${good.length === 0 ? 'nothing yet' : range}`}
            >
              <path d={pathOf(values, low, high)} fill="none" stroke="currentColor" vectorEffect="non-scaling-stroke" />
            </svg>
            <span>{good.length === 0 ? 'nothing yet' : range}</span>
          </div>
        );
      })}
    </div>
  );
}

/** Newest at the right edge; a gap where there is no number. */
function pathOf(values: readonly number[], low: number, high: number): string {
  let path = '';
  let isOpen = false;
  values.forEach((value, i) => {
    if (!Number.isFinite(value)) {
      isOpen = false;
      return;
    }
    const x = WIDTH - (values.length - 1 - i) * (WIDTH / LOOKS_KEPT);
    const y = high > low ? HEIGHT - 2 - ((value - low) / (high - low)) * (HEIGHT - 4) : HEIGHT / 2;
    path += `${isOpen ? 'L' : 'M'}${x.toFixed(1)} ${y.toFixed(1)}`;
    isOpen = true;
  });
  return path;
}
