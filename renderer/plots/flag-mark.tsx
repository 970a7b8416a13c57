/** One flag on the time axis: a button with the mark of its kind, and a hairline through the bands. */
import { formatClock } from '../ui/format.ts';
import { LevelMark } from '../ui/level-mark.tsx';
import type { TrendFlag } from './flags.ts';

export function FlagMark({
  flag,
  left,
  onPick,
}: {
  readonly flag: TrendFlag;
  readonly left: number;
  readonly onPick: ((t_us: number) => void) | undefined;
}) {
  return (
    <div className="trend-flag" data-kind={flag.kind} data-level={flag.level ?? 'none'} style={{ left }}>
      <button
        type="button"
        title={`${formatClock(flag.t_us / 1e6)} ${flag.text}`}
        aria-label={`${flag.kind} at ${formatClock(flag.t_us / 1e6)}: ${flag.text}`}
        onClick={() => onPick?.(flag.t_us)}
      >
        {flag.level ? <LevelMark level={flag.level} size={16} /> : flag.kind === 'mark' ? <PenFlag /> : <PointFlag />}
      </button>
    </div>
  );
}

function PenFlag() {
  return (
    <svg width="16" height="16" viewBox="0 0 16 16" aria-hidden="true">
      <path d="M3 15V1h10l-3 3.5L13 8H4.5" fill="none" stroke="currentColor" strokeWidth="1.8" />
    </svg>
  );
}

function PointFlag() {
  return (
    <svg width="16" height="16" viewBox="0 0 16 16" aria-hidden="true">
      <path d="M8 2v12M2 8h12" fill="none" stroke="currentColor" strokeWidth="1.8" />
      <circle cx="8" cy="8" r="3.2" fill="none" stroke="currentColor" strokeWidth="1.6" />
    </svg>
  );
}
