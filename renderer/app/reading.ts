/**
 * The present reading of a channel: its value, whether it may be believed, and
 * how old it is. A stale or failed value is never handed out as good.
 */
import type { DisplayBatch } from '../../shared-core/bridge/contract.ts';
import { type QualityCode, quality } from '../../shared-core/channels/quality.ts';
import type { AlarmLevel, LimitRule } from '../../shared-core/limits/rules.ts';

/** Newest value of each channel, by ordinal; kept up to date in place. */
export interface Present {
  t_us: number;
  readonly value: Float64Array;
  readonly quality: Uint8Array;
  readonly updated_us: Float64Array;
  /** Session time of the step that held the last good value; −1 for never. */
  readonly good_us: Float64Array;
}

export function emptyPresent(channels: number): Present {
  return {
    t_us: 0,
    value: new Float64Array(channels).fill(NaN),
    quality: new Uint8Array(channels).fill(quality.absent),
    updated_us: new Float64Array(channels).fill(-1),
    good_us: new Float64Array(channels).fill(-1),
  };
}

/** Takes a step in. A channel with no good sample in the step keeps its last good value, and its age. */
export function takeStep(present: Present, batch: DisplayBatch): void {
  present.t_us = batch.to_us;
  for (let c = 0; c < present.value.length; c++) {
    const last = batch.last[c] ?? NaN;
    if (!Number.isNaN(last)) {
      present.value[c] = last;
      present.good_us[c] = batch.to_us;
    }
    present.quality[c] = batch.quality[c] ?? quality.absent;
    present.updated_us[c] = batch.updated_us[c] ?? -1;
  }
}

export type ReadingState = 'good' | 'stale' | 'failed' | 'absent';

export interface Reading {
  /** Last good value; NaN if there never was one. */
  readonly value: number;
  readonly state: ReadingState;
  /** What is wrong, in a fitter's words; empty when good. */
  readonly fault: string;
  /** Since the last sample, or since the last good one where the sensor has failed; NaN if there never was one. */
  readonly age_s: number;
  readonly level: AlarmLevel | null;
  /** The alarm behind `level` waits for acknowledgement: its mark blinks. */
  readonly isBlinking: boolean;
}

const faultWords: Readonly<Record<QualityCode, string>> = {
  0: '',
  1: 'open circuit',
  2: 'short circuit',
  3: 'over range',
  4: 'under range',
  5: 'stale',
  6: 'no signal',
};

/** Where no rule says when a channel is stale. Longer than any slow group's period. */
export const STALE_AFTER_US = 3_000_000;

/** Reading of one channel at `now_us`. */
export function readingOf(
  present: Present | null,
  ordinal: number,
  now_us: number,
  staleAfter_us: number,
  sight: { readonly level: AlarmLevel; readonly isBlinking: boolean } | undefined,
): Reading {
  const level = sight?.level ?? null;
  const isBlinking = sight?.isBlinking ?? false;
  const updated_us = present?.updated_us[ordinal] ?? -1;
  const value = present?.value[ordinal] ?? NaN;
  const code = (present?.quality[ordinal] ?? quality.absent) as QualityCode;
  if (!present || (updated_us < 0 && Number.isNaN(value)) || code === quality.absent) {
    return { value: NaN, state: 'absent', fault: faultWords[6], age_s: NaN, level, isBlinking };
  }
  const age_s = updated_us < 0 ? NaN : Math.max(0, (now_us - updated_us) / 1e6);
  if (code !== quality.good && code !== quality.stale) {
    const good_us = present.good_us[ordinal] ?? -1;
    const lost_s = good_us < 0 ? NaN : Math.max(0, (now_us - good_us) / 1e6);
    return { value, state: 'failed', fault: faultWords[code], age_s: lost_s, level, isBlinking };
  }
  if (code === quality.stale || !(age_s * 1e6 <= staleAfter_us)) {
    return { value, state: 'stale', fault: faultWords[5], age_s, level, isBlinking };
  }
  return { value, state: 'good', fault: '', age_s, level, isBlinking };
}

/** When each channel counts as stale: the strictest sensor rule that names it. */
export function staleTimes_us(rules: readonly LimitRule[]): ReadonlyMap<string, number> {
  const times = new Map<string, number>();
  for (const rule of rules) {
    if (rule.kind !== 'sensor') continue;
    for (const channel of rule.channels) {
      times.set(channel, Math.min(times.get(channel) ?? Infinity, rule.stale_ms * 1000));
    }
  }
  return times;
}
