/**
 * A sensor that has frozen: its samples are good and never change, not by one
 * count, for longer than anything alive would stand still. Any change returns
 * it. What is not good at all is the sensor rule's business: the state is held
 * where that speaks, else it counts as frozen.
 */
import type { FrozenRule } from './rules.ts';
import { sampleOf, standingOf, type Watch, type Watched } from './watch.ts';

export interface Stillness {
  value: number;
  since_us: number;
  isTripped: boolean;
}

export function newStillness(isTripped = false): Stillness {
  return { value: NaN, since_us: NaN, isTripped };
}

/** Takes one sample, in place; returns whether it has stood still for `still_s`. NaN trips. */
export function stepStillness(
  rule: Pick<FrozenRule, 'still_s'>,
  still: Stillness,
  t_us: number,
  value: number,
): boolean {
  if (Number.isNaN(value)) {
    still.value = NaN;
    still.since_us = NaN;
    still.isTripped = true;
    return true;
  }
  if (value !== still.value) {
    still.value = value;
    still.since_us = t_us;
    still.isTripped = false;
    return false;
  }
  if (t_us - still.since_us >= rule.still_s * 1e6) still.isTripped = true;
  return still.isTripped;
}

export function frozenWatch(rule: FrozenRule, watched: Watched, isTripped: boolean): Watch {
  const still = newStillness(isTripped);
  return {
    step(scene) {
      const standing = standingOf(scene, watched);
      if (standing === 'bad') return stepStillness(rule, still, scene.t_us, NaN);
      // On a tick nothing was sampled: silence is not stillness.
      if (standing === 'fresh' && !scene.isTick) {
        return stepStillness(rule, still, scene.t_us, sampleOf(scene, watched));
      }
      return still.isTripped;
    },
    rest() {
      still.value = NaN;
      still.since_us = NaN;
      still.isTripped = false;
    },
    remember(memory) {
      still.value = memory.number(still.value);
      still.since_us = memory.number(still.since_us);
      still.isTripped = memory.flag(still.isTripped);
    },
    reading: (scene) => ({
      value: Number.isNaN(sampleOf(scene, watched)) ? NaN : (scene.t_us - still.since_us) / 1e6,
      limit: rule.still_s,
      unit: 's',
    }),
  };
}
