/**
 * A channel against what was asked of it, such as the servo's pulse against
 * the throttle demand. After each change of the demand by more than
 * `DEMAND_STEP` the channel has `settle_s` to follow.
 */
import { type Delayed, holdDelayed, newDelayed, rememberDelayed, stepDelayed } from './delayed.ts';
import type { DeviationRule } from './rules.ts';
import { restDelayed, sampleOf, standingOf, type Watch, type Watched } from './watch.ts';

/** In the demand's unit (for a throttle: percent): below it a demand has not changed, only been written again. */
export const DEMAND_STEP = 1;

/** Channel less what was asked; NaN where either is. */
export function deviationOf(rule: Pick<DeviationRule, 'gain' | 'offset'>, value: number, demand: number): number {
  return value - (rule.gain * demand + rule.offset);
}

/** Takes one deviation, in place; returns whether it is too large. NaN trips. */
export function stepDeviation(rule: DeviationRule, delayed: Delayed, t_us: number, deviation: number): boolean {
  const size = Math.abs(deviation);
  return stepDelayed(delayed, t_us, !(size <= rule.trip), size < rule.reset, rule.onDelay_ms, rule.offDelay_ms);
}

export function deviationWatch(
  rule: DeviationRule,
  channel: Watched,
  demand: Watched,
  unit: string,
  isTripped: boolean,
): Watch {
  const delayed = newDelayed(isTripped);
  let asked = NaN;
  let askedAt_us = Number.NEGATIVE_INFINITY;
  let deviation = NaN;
  return {
    step(scene) {
      const { t_us } = scene;
      const ofChannel = standingOf(scene, channel);
      const ofDemand = standingOf(scene, demand);
      if (ofChannel === 'bad' || ofDemand === 'bad') {
        deviation = NaN;
        return stepDeviation(rule, delayed, t_us, NaN);
      }
      if (ofChannel === 'none' || ofDemand === 'none' || ofChannel === 'spoken' || ofDemand === 'spoken') {
        return holdDelayed(delayed);
      }
      const now = sampleOf(scene, demand);
      if (!(Math.abs(now - asked) <= DEMAND_STEP)) {
        asked = now;
        askedAt_us = t_us;
      }
      if (ofChannel !== 'fresh' && ofDemand !== 'fresh') return delayed.isTripped;
      if (t_us - askedAt_us < rule.settle_s * 1e6) return holdDelayed(delayed);
      deviation = deviationOf(rule, sampleOf(scene, channel), now);
      return stepDeviation(rule, delayed, t_us, deviation);
    },
    rest() {
      restDelayed(delayed);
      asked = NaN;
    },
    reading: () => ({ value: deviation, limit: deviation < 0 ? -rule.trip : rule.trip, unit }),
    remember(memory) {
      rememberDelayed(memory, delayed);
      asked = memory.number(asked);
      askedAt_us = memory.number(askedAt_us);
      deviation = memory.number(deviation);
    },
  };
}
