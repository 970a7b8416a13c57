/**
 * A band that may be used for a limited time in each run, such as rpm above
 * rated: time above `trip` is added up (until back inside `reset`), and more
 * than `allowed_s` of it trips. The sum starts anew with each run; the alarm
 * returns when the channel is back inside `reset`, and trips again at once
 * when it leaves, because the time is used up.
 */
import type { FoldMemory } from '../pipeline/fold-memory.ts';
import type { TimedBandRule } from './rules.ts';

export interface TimedBand {
  run: number;
  isInBand: boolean;
  isTripped: boolean;
  used_us: number;
  last_us: number;
}

export function newTimedBand(isTripped = false): TimedBand {
  return { run: 0, isInBand: isTripped, isTripped, used_us: 0, last_us: NaN };
}

export function rememberBand(memory: FoldMemory, band: TimedBand): void {
  band.run = memory.number(band.run);
  band.isInBand = memory.flag(band.isInBand);
  band.isTripped = memory.flag(band.isTripped);
  band.used_us = memory.number(band.used_us);
  band.last_us = memory.number(band.last_us);
}

/** Takes one sample, in place; returns whether the limit is tripped. NaN counts as in the band. */
export function stepTimedBand(
  rule: TimedBandRule,
  band: TimedBand,
  t_us: number,
  sample: number,
  run: number,
): boolean {
  if (run !== band.run) {
    band.run = run;
    band.used_us = 0;
    band.isInBand = false;
  }
  if (band.isInBand && !Number.isNaN(band.last_us)) band.used_us += t_us - band.last_us;
  band.last_us = t_us;
  if (!(sample <= rule.trip)) band.isInBand = true;
  else if (sample < rule.reset) band.isInBand = false;
  band.isTripped = band.isInBand && band.used_us > rule.allowed_s * 1e6;
  return band.isTripped;
}

/** The channel is not known for the moment: no time is counted, the state stays. */
export function holdTimedBand(band: TimedBand, t_us: number): boolean {
  band.last_us = t_us;
  return band.isTripped;
}
