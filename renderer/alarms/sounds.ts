/**
 * What is to be heard: a pattern for each level, and which level should sound
 * now. Pure; the tones are made in `sound-player.ts`.
 *
 * Sound never carries an alarm alone: a test cell wears ear protection. It
 * repeats while an alarm of its level waits to be acknowledged; notices are
 * silent. Silence lasts a minute and ends at once when something graver, or
 * something new, trips: it is not an acknowledgement and not a reset.
 */
import type { Alarm, AlarmLevel } from '../../shared-core/limits/rules.ts';
import { alarmLevels } from '../../shared-core/limits/rules.ts';

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

export const SILENCE_MS = 60_000;

export interface Silence {
  /** Page clock; 0 for none. */
  readonly until_ms: number;
  /** Alarms that waited when silence was asked for, by id and trip. */
  readonly hushed: ReadonlySet<string>;
}

export const noSilence: Silence = { until_ms: 0, hushed: new Set() };

/** One trip of one alarm: the same alarm tripping again is a new one. */
function tripOf(alarm: Alarm): string {
  return `${alarm.id}@${alarm.trippedAt_us}`;
}

function isWaiting(alarm: Alarm): boolean {
  return alarm.state === 'active-unacknowledged' || alarm.state === 'returned-unacknowledged';
}

/** Silence for what waits now. */
export function silenced(alarms: readonly Alarm[], now_ms: number): Silence {
  return { until_ms: now_ms + SILENCE_MS, hushed: new Set(alarms.filter(isWaiting).map(tripOf)) };
}

/** The gravest level that should be heard now; null for quiet. */
export function levelToSound(alarms: readonly Alarm[], silence: Silence, now_ms: number): SoundingLevel | null {
  const isHushed = now_ms < silence.until_ms;
  let gravest: SoundingLevel | null = null;
  for (const alarm of alarms) {
    if (!isWaiting(alarm) || alarm.level === 'notice') continue;
    if (isHushed && silence.hushed.has(tripOf(alarm))) continue;
    if (gravest === null || alarmLevels.indexOf(alarm.level) > alarmLevels.indexOf(gravest)) gravest = alarm.level;
  }
  return gravest;
}
