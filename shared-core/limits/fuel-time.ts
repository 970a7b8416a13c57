/**
 * Minutes of fuel left at the present rate: level over the flow, the flow
 * smoothed so that one gulp of the carburettor is no alarm. Nothing flowing is
 * fuel for ever.
 */
import { type Delayed, holdDelayed, newDelayed, rememberDelayed, stepDelayed } from './delayed.ts';
import type { FuelTimeRule } from './rules.ts';
import { restDelayed, sampleOf, standingOf, type Watch, type Watched } from './watch.ts';

/** @returns minutes; Infinity at no flow (or a meter's small negative zero), NaN where either is NaN */
export function fuelLeft_min(level_L: number, flow_LPerh: number): number {
  if (Number.isNaN(level_L) || Number.isNaN(flow_LPerh)) return NaN;
  return flow_LPerh > 0 ? (60 * Math.max(0, level_L)) / flow_LPerh : Number.POSITIVE_INFINITY;
}

/** First-order smoothing of one flow sample, in seconds since the last one. */
export function smoothed(mean: number, sample: number, elapsed_s: number, window_s: number): number {
  if (Number.isNaN(mean)) return sample;
  return mean + (sample - mean) * (1 - Math.exp(-elapsed_s / window_s));
}

/** Takes one figure, in place; returns whether too little is left. NaN trips. */
export function stepFuelTime(rule: FuelTimeRule, delayed: Delayed, t_us: number, left_min: number): boolean {
  const isShort = !(left_min >= rule.trip_min);
  return stepDelayed(delayed, t_us, isShort, left_min > rule.reset_min, rule.onDelay_ms, rule.offDelay_ms);
}

export function fuelTimeWatch(rule: FuelTimeRule, level: Watched, flow: Watched, isTripped: boolean): Watch {
  const delayed = newDelayed(isTripped);
  let mean_LPerh = NaN;
  let last_us = NaN;
  let left_min = NaN;
  return {
    step(scene) {
      const { t_us, store } = scene;
      const ofLevel = standingOf(scene, level);
      const ofFlow = standingOf(scene, flow);
      const isGood = (standing: string) => standing === 'fresh' || standing === 'same';
      if (ofFlow === 'fresh' && store.updated_us[flow.ordinal] === t_us) {
        mean_LPerh = smoothed(mean_LPerh, sampleOf(scene, flow), (t_us - last_us) / 1e6, rule.window_s);
        last_us = t_us;
      }
      if (ofLevel === 'bad' || ofFlow === 'bad') {
        left_min = NaN;
        mean_LPerh = NaN;
        return stepFuelTime(rule, delayed, t_us, NaN);
      }
      if (!isGood(ofLevel) || !isGood(ofFlow)) return holdDelayed(delayed);
      if (ofLevel !== 'fresh' && ofFlow !== 'fresh') return delayed.isTripped;
      left_min = fuelLeft_min(sampleOf(scene, level), mean_LPerh);
      return stepFuelTime(rule, delayed, t_us, left_min);
    },
    rest() {
      restDelayed(delayed);
      mean_LPerh = NaN;
    },
    remember(memory) {
      rememberDelayed(memory, delayed);
      mean_LPerh = memory.number(mean_LPerh);
      last_us = memory.number(last_us);
      left_min = memory.number(left_min);
    },
    reading: () => ({ value: left_min, limit: rule.trip_min, unit: 'min' }),
  };
}
