/**
 * Sound of the live stream's alarms, and what the operator sees and does of
 * it: silence for a minute, why nothing can be heard, the sound test.
 */
import { useEffect, useState } from 'react';
import { create } from 'zustand';
import type { Alarm } from '../../shared-core/limits/rules.ts';
import { useSettings } from '../app/settings.ts';
import { useStream } from '../app/stream-store.ts';
import { Button } from '../ui/button.tsx';
import { play, playOnce, stop, unlockSound, useSound } from './sound-player.ts';
import { levelToSound, noSilence, type Silence, silenced } from './sounds.ts';

const none: readonly Alarm[] = [];
const useSilence = create<{ readonly silence: Silence }>(() => ({ silence: noSilence }));

/** Mounted once by the shell. */
export function AlarmSound() {
  const alarms = useStream('live', (s) => s.snapshot?.alarms ?? none);
  const loudness = useSettings((s) => s.loudness);
  const silence = useSilence((s) => s.silence);
  // Silence ends by the clock: look again while it lasts.
  const now_ms = useNow(silence.until_ms);
  const level = loudness > 0 ? levelToSound(alarms, silence, now_ms) : null;

  useEffect(() => {
    const unlock = (): void => unlockSound();
    window.addEventListener('pointerdown', unlock);
    window.addEventListener('keydown', unlock);
    return () => {
      window.removeEventListener('pointerdown', unlock);
      window.removeEventListener('keydown', unlock);
      stop();
    };
  }, []);
  useEffect(() => play(level, loudness), [level, loudness]);
  return null;
}

/** Under the alarm list's head: silence, or why there is no sound. */
export function SoundLine() {
  const alarms = useStream('live', (s) => s.snapshot?.alarms ?? none);
  const loudness = useSettings((s) => s.loudness);
  const state = useSound((s) => s.state);
  const playing = useSound((s) => s.playing);
  const silence = useSilence((s) => s.silence);
  const now_ms = useNow(silence.until_ms);
  const left_s = Math.ceil((silence.until_ms - now_ms) / 1000);
  return (
    <div className="sound-line" data-testid="sound" data-playing={playing ?? 'none'}>
      <span role="status">
        {loudness === 0
          ? 'Sound is off at this seat.'
          : state === 'blocked'
            ? 'No sound before the first click or key.'
            : left_s > 0
              ? `Silent for ${left_s} s; new alarms sound.`
              : 'Sound on.'}
      </span>
      {playing !== null && state === 'ready' && (
        <Button
          small
          onClick={() => useSilence.setState({ silence: silenced(alarms, Date.now()) })}
          data-testid="silence"
          title="Silence the sound for a minute. It acknowledges and resets nothing."
        >
          Silence 60 s
        </Button>
      )}
    </div>
  );
}

/** Each level once, so that it is known and heard before a run. */
export function SoundTest() {
  const loudness = useSettings((s) => s.loudness);
  return (
    <div className="session-acts">
      {(['caution', 'warning', 'abort'] as const).map((level) => (
        <Button
          small
          key={level}
          onClick={() => playOnce(level, loudness)}
          disabled={loudness === 0}
          data-testid={`sound-test-${level}`}
        >
          Hear {level}
        </Button>
      ))}
    </div>
  );
}

/** The page clock, ticking only while it matters. */
function useNow(until_ms: number): number {
  const [now_ms, setNow] = useState(() => Date.now());
  useEffect(() => {
    setNow(Date.now());
    if (until_ms <= Date.now()) return;
    const timer = setInterval(() => {
      setNow(Date.now());
      if (Date.now() >= until_ms) clearInterval(timer);
    }, 500);
    return () => clearInterval(timer);
  }, [until_ms]);
  return now_ms;
}
