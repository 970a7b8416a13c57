/**
 * Two sources of one quantity, compared: their difference in percent of the
 * larger. Neither is judged while both are below the rule's floor.
 */
import { type Delayed, stepDelayed } from './delayed.ts';
import type { DisagreementRule } from './rules.ts';

/** (first − second) over the larger magnitude, percent; 0 for two zeros, NaN where either is NaN. */
export function differenceOfLarger_percent(first: number, second: number): number {
  const larger = Math.max(Math.abs(first), Math.abs(second));
  return larger === 0 ? 0 : (100 * (first - second)) / larger;
}

/** Takes a pair of values, in place; returns whether they disagree. NaN in either counts as disagreeing. */
export function stepDisagreement(
  rule: DisagreementRule,
  delayed: Delayed,
  t_us: number,
  first: number,
  second: number,
): boolean {
  const isIdle = Math.abs(first) < rule.floor && Math.abs(second) < rule.floor;
  const difference_percent = Math.abs(differenceOfLarger_percent(first, second));
  return stepDelayed(
    delayed,
    t_us,
    !isIdle && !(difference_percent <= rule.trip_percent),
    isIdle || difference_percent < rule.reset_percent,
    rule.onDelay_ms,
    0,
  );
}
