/**
 * Threshold on one channel: trips beyond `trip`, returns inside `reset`; at
 * either level itself, and between them, the state is kept. Delays are in
 * `delayed.ts`; which sensors speak for themselves is decided in `judge.ts`.
 */
import { type Delayed, stepDelayed } from './delayed.ts';
import type { ThresholdRule } from './rules.ts';

export type Levels = Pick<ThresholdRule, 'direction' | 'trip' | 'reset'>;

/** Errors: none. NaN is beyond, as an open thermocouple with upscale burnout is. */
export function isBeyond(levels: Levels, sample: number): boolean {
  // "Not at or inside", because every comparison with NaN is false.
  return levels.direction === 'high' ? !(sample <= levels.trip) : !(sample >= levels.trip);
}

/** NaN is not inside. */
export function isInside(levels: Levels, sample: number): boolean {
  return levels.direction === 'high' ? sample < levels.reset : sample > levels.reset;
}

/** Takes one sample, in place; returns whether the limit is tripped. NaN trips. */
export function stepThreshold(rule: ThresholdRule, delayed: Delayed, t_us: number, sample: number): boolean {
  return stepDelayed(delayed, t_us, isBeyond(rule, sample), isInside(rule, sample), rule.onDelay_ms, rule.offDelay_ms);
}
