/** Alarms, marks and points of the whole session as flags above the scrub bar; a click goes there. */
import { useMemo } from 'react';
import type { RunRow } from '../../shared-core/bridge/contract.ts';
import type { TrendFlag } from '../plots/flags.ts';
import { formatClock } from '../ui/format.ts';
import { LevelMark } from '../ui/level-mark.tsx';
import { useWidth } from '../ui/use-width.ts';
import { type FlagGroup, thinned } from './measure.ts';

export interface FlagLaneProps {
  readonly flags: readonly TrendFlag[];
  readonly runs: readonly RunRow[];
  readonly duration_us: number;
  readonly onPick: (t_us: number) => void;
}

/** A flag's own width: those nearer together become one. */
const FLAG_PX = 26;

export function FlagLane({ flags, runs, duration_us, onPick }: FlagLaneProps) {
  const [ref, width] = useWidth();
  const groups = useMemo(
    () => (width > 0 && duration_us > 0 ? thinned(flags, (FLAG_PX / width) * duration_us) : []),
    [flags, width, duration_us],
  );
  return (
    <div ref={ref} className="flag-lane" data-testid="flag-lane">
      {groups.map((group) => (
        <LaneFlag key={group.flag.id} group={group} share={group.flag.t_us / duration_us} onPick={onPick} />
      ))}
      {groups.length === 0 && duration_us > 0 && (
        <span className="flag-lane-none muted">
          {runs.length === 0 ? 'No run, alarm or mark in this session' : 'No alarm or mark in this session'}
        </span>
      )}
    </div>
  );
}

function LaneFlag({
  group: { flag, count },
  share,
  onPick,
}: {
  readonly group: FlagGroup;
  readonly share: number;
  readonly onPick: (t_us: number) => void;
}) {
  const more = count > 1 ? `, and ${count - 1} more here` : '';
  const at = formatClock(flag.t_us / 1e6);
  return (
    <button
      type="button"
      className="lane-flag"
      style={{ left: `${(share * 100).toFixed(3)}%` }}
      title={`${at} ${flag.text}${more}`}
      aria-label={`Go to ${flag.kind} at ${at}: ${flag.text}${more}`}
      onClick={() => onPick(flag.t_us)}
      data-testid={`flag-${flag.kind}`}
      data-level={flag.level ?? 'none'}
      data-us={flag.t_us}
    >
      {flag.level ? (
        <LevelMark level={flag.level} size={18} />
      ) : (
        <svg width="16" height="16" viewBox="0 0 16 16" aria-hidden="true">
          {flag.kind === 'mark' ? (
            <path d="M3 15V1h10l-3 3.5L13 8H4.5" fill="none" stroke="currentColor" strokeWidth="1.8" />
          ) : (
            <path d="M8 2v12M2 8h12" fill="none" stroke="currentColor" strokeWidth="1.8" />
          )}
        </svg>
      )}
      {count > 1 && <span className="lane-count">{count}</span>}
    </button>
  );
}
