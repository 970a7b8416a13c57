/**
 * A value outside the physical range of its channel, as the bench's table (or
 * the rig sheet) gives it: no engine did that, a sensor or its wiring did.
 */
import { type Delayed, holdDelayed, newDelayed, rememberDelayed, stepDelayed } from './delayed.ts';
import type { RangeRule } from './rules.ts';
import { restDelayed, sampleOf, standingOf, type Watch, type Watched } from './watch.ts';

export interface Range {
  /** NaN where unknown: that side is not judged. */
  readonly low: number;
  readonly high: number;
}

/** Takes one sample, in place. At the ends of the range themselves it is inside; NaN trips. */
export function stepRange(
  rule: Pick<RangeRule, 'onDelay_ms' | 'offDelay_ms'>,
  range: Range,
  delayed: Delayed,
  t_us: number,
  value: number,
): boolean {
  const isOutside = Number.isNaN(value) || value < range.low || value > range.high;
  return stepDelayed(delayed, t_us, isOutside, !isOutside, rule.onDelay_ms, rule.offDelay_ms);
}

export function rangeWatch(rule: RangeRule, watched: Watched, range: Range, unit: string, isTripped: boolean): Watch {
  const delayed = newDelayed(isTripped);
  return {
    step(scene) {
      const standing = standingOf(scene, watched);
      if (standing === 'bad') return stepRange(rule, range, delayed, scene.t_us, NaN);
      if (standing === 'fresh') return stepRange(rule, range, delayed, scene.t_us, sampleOf(scene, watched));
      return standing === 'same' ? delayed.isTripped : holdDelayed(delayed);
    },
    rest: () => restDelayed(delayed),
    remember: (memory) => rememberDelayed(memory, delayed),
    reading(scene) {
      const value = sampleOf(scene, watched);
      return { value, limit: value < range.low ? range.low : range.high, unit };
    },
  };
}
