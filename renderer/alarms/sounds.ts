/**
 * What each level sounds like. Which level sounds now, and silence, are the
 * pipeline's (`Snapshot.sound`): both are recorded. The tones are made in
 * `sound-player.ts`. Sound never carries an alarm alone: a test cell wears ear
 * protection. Notices are silent.
 */
import type { AlarmLevel } from '../../shared-core/limits/rules.ts';

export interface Tone {
  readonly at_ms: number;
  readonly length_ms: number;
  readonly frequency_Hz: number;
}

export interface SoundPattern {
  readonly tones: readonly Tone[];
  /** From the beginning of one round to the next. */
  readonly every_ms: number;
}

export type SoundingLevel = Exclude<AlarmLevel, 'notice'>;

/** More tones, higher and closer together, the graver: told apart by rhythm, not by pitch alone. */
export const soundPatterns: Readonly<Record<SoundingLevel, SoundPattern>> = {
  caution: { tones: [{ at_ms: 0, length_ms: 180, frequency_Hz: 523 }], every_ms: 8000 },
  warning: {
    tones: [
      { at_ms: 0, length_ms: 180, frequency_Hz: 659 },
      { at_ms: 300, length_ms: 180, frequency_Hz: 659 },
    ],
    every_ms: 4000,
  },
  abort: {
    tones: [
      { at_ms: 0, length_ms: 150, frequency_Hz: 880 },
      { at_ms: 220, length_ms: 150, frequency_Hz: 698 },
      { at_ms: 440, length_ms: 150, frequency_Hz: 880 },
    ],
    every_ms: 1200,
  },
};
