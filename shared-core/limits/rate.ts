/**
 * Rate of change: the slope over the last seconds, by least squares, beyond a
 * magnitude. Without enough samples there is no slope, and the state is held.
 */
import { SlidingSlope } from '../derive/sliding-slope.ts';
import { type Delayed, holdDelayed, newDelayed, rememberDelayed, stepDelayed } from './delayed.ts';
import type { RateRule } from './rules.ts';
import { restDelayed, sampleOf, standingOf, type Watch, type Watched } from './watch.ts';

/** Takes one slope, in place; returns whether it is too fast. NaN (a value that is not good) trips. */
export function stepRate(rule: RateRule, delayed: Delayed, t_us: number, slope_perS: number): boolean {
  const speed_perS = rule.direction === 'rising' ? slope_perS : -slope_perS;
  return stepDelayed(
    delayed,
    t_us,
    !(speed_perS <= rule.trip_perS),
    speed_perS < rule.reset_perS,
    rule.onDelay_ms,
    rule.offDelay_ms,
  );
}

export function rateWatch(rule: RateRule, watched: Watched, unit: string, isTripped: boolean): Watch {
  const delayed = newDelayed(isTripped);
  const slope = new SlidingSlope({ window_s: rule.window_s });
  let last_perS = NaN;
  return {
    step(scene) {
      const { t_us, store } = scene;
      const standing = standingOf(scene, watched);
      if (store.updated_us[watched.ordinal] === t_us) last_perS = slope.push(t_us, sampleOf(scene, watched));
      if (standing === 'bad') return stepRate(rule, delayed, t_us, NaN);
      if (standing === 'fresh' && !Number.isNaN(last_perS)) return stepRate(rule, delayed, t_us, last_perS);
      return standing === 'same' ? delayed.isTripped : holdDelayed(delayed);
    },
    rest: () => restDelayed(delayed),
    remember(memory) {
      rememberDelayed(memory, delayed);
      slope.remember(memory);
      last_perS = memory.number(last_perS);
    },
    reading: (scene) => ({
      value: Number.isNaN(sampleOf(scene, watched)) ? NaN : last_perS,
      limit: rule.direction === 'rising' ? rule.trip_perS : -rule.trip_perS,
      unit: unit === '°C' ? 'K/s' : `${unit}/s`,
    }),
  };
}
