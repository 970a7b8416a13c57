/**
 * Play, pause, speeds and the scrub bar over the whole session, with its runs
 * as bars and its alarms, marks and points as flags. Keys: space plays and
 * pauses, arrows move by 1 s, with Shift by 10 s.
 */
import { useEffect, useEffectEvent, useMemo, useState } from 'react';
import type { ReplayView, SessionRow } from '../../shared-core/bridge/contract.ts';
import { isTyping } from '../app/keys.ts';
import { useSettings } from '../app/settings.ts';
import { useStream } from '../app/stream-store.ts';
import { flagsOfEvents } from '../plots/flags.ts';
import { Button } from '../ui/button.tsx';
import { formatClock, formatWallTime } from '../ui/format.ts';
import { Progress } from '../ui/progress.tsx';
import { Segments } from '../ui/segments.tsx';
import { FlagLane } from './flag-lane.tsx';
import { chooseSpeed, goToTime, pause, play, replaySpeeds, stepBy, useReview } from './review-store.ts';
import { ScrubBar } from './scrub-bar.tsx';

const speedOptions = replaySpeeds.map((value) => ({ value, text: `${value}×` }));
const SECOND_US = 1e6;

export function Transport({ row }: { readonly row: SessionRow | null }) {
  const replay = useStream('replay', (s) => s.snapshot?.replay ?? null);
  const now_us = useStream('replay', (s) => s.snapshot?.now_us ?? 0);
  const speed = useReview((s) => s.speed);
  const events = useReview((s) => s.events);
  const flags = useMemo(() => flagsOfEvents(events), [events]);
  /** Where the scrub bar is being dragged to; the replay follows. */
  const [drag_us, setDrag] = useState<number | null>(null);
  useTransportKeys(replay);

  const isReady = replay !== null && replay.duration_us > 0;
  const shown_us = drag_us ?? now_us;
  const duration_us = replay?.duration_us ?? row?.duration_us ?? 0;
  const wall = row ? formatWallTime(row.startedAt_epochMs + shown_us / 1000) : '';
  return (
    <section className="transport" aria-label="Replay" data-testid="transport">
      <FlagLane flags={flags} runs={row?.runs ?? []} duration_us={duration_us} onPick={(t_us) => void goToTime(t_us)} />
      <ScrubBar
        now_us={shown_us}
        duration_us={duration_us}
        runs={row?.runs ?? []}
        isPlaying={replay?.isPlaying ?? false}
        onDrag={setDrag}
      />
      <div className="transport-row">
        <span className="frame-word" data-provenance="REPLAY">
          REPLAY
        </span>
        <Button
          tone="solid"
          className="play"
          onClick={replay?.isPlaying ? pause : play}
          disabled={!isReady}
          aria-keyshortcuts="Space"
          title="Space"
          data-testid="play"
        >
          {replay?.isPlaying ? 'Pause' : 'Play'}
        </Button>
        <div className="steps">
          {[-10, -1, 1, 10].map((s) => (
            <Button
              key={s}
              onClick={() => stepBy(s * SECOND_US)}
              disabled={!isReady}
              title={`${s < 0 ? 'Left' : 'Right'} arrow${Math.abs(s) === 10 ? ' with Shift' : ''}`}
              data-testid={`step-${s}`}
            >
              {s < 0 ? '\u2212' : '+'}
              {Math.abs(s)}
              {'\u2009'}s
            </Button>
          ))}
        </div>
        <Segments
          label="Speed of the replay"
          options={speedOptions}
          value={speed}
          onChoose={chooseSpeed}
          testId="replay-speed"
        />
        <p className="transport-time">
          <b data-testid="replay-time" data-us={shown_us}>
            {formatClock(shown_us / 1e6)}
          </b>{' '}
          of {formatClock(duration_us / 1e6)}
        </p>
        <p className="transport-wall muted" title="Wall clock of the recording">
          {wall}
        </p>
        <div className="transport-progress">
          {replay?.progress != null && <Progress label="Going there" value={replay.progress} />}
        </div>
      </div>
    </section>
  );
}

/** Keys of the whole place, except where a key already means something. */
function useTransportKeys(replay: ReplayView | null): void {
  const onKey = useEffectEvent((event: KeyboardEvent) => {
    if (replay === null || !useSettings.getState().hasKeys) return;
    if (event.ctrlKey || event.altKey || event.metaKey || event.defaultPrevented) return;
    if (isTyping(event.target) || document.querySelector('dialog[open]')) return;
    const target = event.target instanceof HTMLElement ? event.target : null;
    if (event.key === ' ') {
      // Space on a button, a link or a row belongs to it.
      if (event.repeat || target?.closest('button, a, summary, input, [role="tab"], tr[tabindex]')) return;
      event.preventDefault();
      if (replay.isPlaying) pause();
      else play();
    } else if (event.key === 'ArrowLeft' || event.key === 'ArrowRight') {
      if (target?.closest('input[type="radio"], input[type="range"], [role="tab"]')) return;
      event.preventDefault();
      stepBy((event.key === 'ArrowLeft' ? -1 : 1) * (event.shiftKey ? 10 : 1) * SECOND_US);
    }
  });
  useEffect(() => {
    const listener = (event: KeyboardEvent): void => onKey(event);
    window.addEventListener('keydown', listener);
    return () => window.removeEventListener('keydown', listener);
  }, []);
}
