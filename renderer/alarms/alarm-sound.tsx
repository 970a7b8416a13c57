/**
 * Sound of the live stream's alarms, and what the operator sees and does of
 * it: silence for a minute, why nothing can be heard, the sound test.
 */
import { useEffect } from 'react';
import { act } from '../app/bridge-client.ts';
import { useSettings } from '../app/settings.ts';
import { useStream } from '../app/stream-store.ts';
import { Button } from '../ui/button.tsx';
import { levelWords } from '../ui/level-mark.tsx';
import { play, playOnce, stop, unlockSound, useSound } from './sound-player.ts';

/** Mounted once by the shell. */
export function AlarmSound() {
  const sound = useStream('live', (s) => s.snapshot?.sound ?? null);
  const loudness = useSettings((s) => s.loudness);
  const level = loudness > 0 && sound !== 'notice' ? sound : null;
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
  const loudness = useSettings((s) => s.loudness);
  const state = useSound((s) => s.state);
  const playing = useSound((s) => s.playing);
  const left_s = useStream('live', (s) => {
    const snapshot = s.snapshot;
    if (snapshot === null || snapshot.silencedUntil_us === null) return 0;
    return Math.max(0, Math.ceil((snapshot.silencedUntil_us - snapshot.now_us) / 1e6));
  });
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
          onClick={() => act({ kind: 'silence' })}
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
    <div className="sound-test">
      <span aria-hidden="true">Hear</span>
      {(['caution', 'warning', 'abort'] as const).map((level) => (
        <Button
          small
          key={level}
          onClick={() => playOnce(level, loudness)}
          disabled={loudness === 0}
          aria-label={`Hear ${level}`}
          data-testid={`sound-test-${level}`}
        >
          {levelWords[level]}
        </Button>
      ))}
    </div>
  );
}
