/** The whole session as a bar: runs shaded, a head that can be dragged or moved by keys. The replay follows. */
import { useEffect, useRef } from 'react';
import type { RunRow } from '../../shared-core/bridge/contract.ts';
import { formatClock } from '../ui/format.ts';
import { goToTime, pause, play } from './review-store.ts';

export interface ScrubBarProps {
  readonly now_us: number;
  readonly duration_us: number;
  readonly runs: readonly RunRow[];
  readonly isPlaying: boolean;
  /** Where it is being dragged to; null when let go. */
  readonly onDrag: (t_us: number | null) => void;
}

/** While being dragged the replay is moved this often: each move may mean folding the session anew. */
const FOLLOW_MS = 250;

export function ScrubBar({ now_us, duration_us, runs, isPlaying, onDrag }: ScrubBarProps) {
  const bar = useRef<HTMLDivElement>(null);
  const drag = useRef<{ readonly wasPlaying: boolean; t_us: number; timer: ReturnType<typeof setInterval> | null }>(
    null,
  );
  useEffect(
    () => () => {
      if (drag.current?.timer) clearInterval(drag.current.timer);
    },
    [],
  );

  const timeOf = (clientX: number): number => {
    const box = bar.current?.getBoundingClientRect();
    if (!box || box.width === 0) return 0;
    return Math.max(0, Math.min(1, (clientX - box.left) / box.width)) * duration_us;
  };
  const begin = (t_us: number): void => {
    if (isPlaying) pause();
    const now = { wasPlaying: isPlaying, t_us, timer: null as ReturnType<typeof setInterval> | null };
    let asked_us = NaN;
    now.timer = setInterval(() => {
      if (now.t_us === asked_us) return;
      asked_us = now.t_us;
      void goToTime(now.t_us);
    }, FOLLOW_MS);
    drag.current = now;
    onDrag(t_us);
  };
  const end = async (): Promise<void> => {
    const was = drag.current;
    if (!was) return;
    drag.current = null;
    if (was.timer) clearInterval(was.timer);
    await goToTime(was.t_us);
    onDrag(null);
    if (was.wasPlaying) play();
  };

  const percent = (t_us: number): string => `${duration_us > 0 ? ((t_us / duration_us) * 100).toFixed(3) : 0}%`;
  return (
    <div
      ref={bar}
      className="scrub"
      role="slider"
      tabIndex={0}
      aria-label="Time in the session"
      aria-valuemin={0}
      aria-valuemax={Math.round(duration_us / 1e6)}
      aria-valuenow={Math.round(now_us / 1e6)}
      aria-valuetext={`${formatClock(now_us / 1e6)} of ${formatClock(duration_us / 1e6)}`}
      data-testid="scrub"
      onPointerDown={(e) => {
        if (e.button !== 0 || duration_us <= 0) return;
        e.currentTarget.setPointerCapture(e.pointerId);
        begin(timeOf(e.clientX));
      }}
      onPointerMove={(e) => {
        if (!drag.current) return;
        drag.current.t_us = timeOf(e.clientX);
        onDrag(drag.current.t_us);
      }}
      onPointerUp={() => void end()}
      onPointerCancel={() => void end()}
      onKeyDown={(e) => {
        // Arrows are the place's own keys; a slider has these besides.
        const to = {
          Home: 0,
          End: duration_us,
          PageUp: now_us + duration_us / 10,
          PageDown: now_us - duration_us / 10,
        }[e.key];
        if (to === undefined) return;
        e.preventDefault();
        void goToTime(to);
      }}
    >
      <div className="scrub-line" />
      {runs.map((run) => (
        <div
          key={run.run}
          className="scrub-run"
          title={`Run ${run.run}`}
          style={{ left: percent(run.from_us), width: percent((run.to_us ?? duration_us) - run.from_us) }}
        />
      ))}
      <div className="scrub-done" style={{ width: percent(now_us) }} />
      <div className="scrub-head" style={{ left: percent(now_us) }} />
    </div>
  );
}
