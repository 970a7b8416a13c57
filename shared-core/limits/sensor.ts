/**
 * Sensor of one channel: trips when its state is not good, or when no fresh
 * sample has come for too long; returns when it has been good again for as
 * long as it takes to trip, so that a loose lead raises one alarm, not fifty.
 */
import { type QualityCode, quality } from '../channels/quality.ts';
import { type Delayed, stepDelayed } from './delayed.ts';
import type { SensorRule } from './rules.ts';

/**
 * A channel is not called stale before it has missed two samples: a rule that
 * asks for less than the bench sends would cry all the time.
 */
export const LEAST_STALE_PERIODS = 2.5;

/** Age at which a channel is stale under a rule, given its group's period. */
export function staleAfter_us(stale_ms: number, period_us: number): number {
  return Math.max(stale_ms * 1000, LEAST_STALE_PERIODS * period_us);
}

/**
 * Takes the state of a sensor at one instant, in place.
 * @param code present quality as sent by the bench; `absent` before the first sample is no failure yet
 * @param isStale no fresh sample for too long
 */
export function stepSensor(
  rule: SensorRule,
  delayed: Delayed,
  t_us: number,
  code: QualityCode,
  isStale: boolean,
): boolean {
  const isFailed = isStale || (code !== quality.good && code !== quality.absent);
  const isGood = !isStale && code === quality.good;
  return stepDelayed(delayed, t_us, isFailed, isGood, rule.onDelay_ms, rule.onDelay_ms);
}
