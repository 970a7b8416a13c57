/**
 * The bench's clock against the host's. Every rate and every integral rests on
 * the bench's clock; one that drifts makes fuel figures wrong by as much. How
 * the drift is found is in `pipeline/host-facts.ts`.
 */
import type { ClockDriftRule } from './rules.ts';
import type { Watch } from './watch.ts';

/** State after one finding; between reset and trip it is kept. NaN (a clock that gives no number) trips. */
export function isDrifting(rule: ClockDriftRule, wasTripped: boolean, drift_ppm: number): boolean {
  const size_ppm = Math.abs(drift_ppm);
  if (!(size_ppm <= rule.trip_ppm)) return true;
  return size_ppm < rule.reset_ppm ? false : wasTripped;
}

export function clockDriftWatch(rule: ClockDriftRule, wasTripped: boolean): Watch {
  let isTripped = wasTripped;
  return {
    step({ facts }) {
      const { span_s, drift_ppm } = facts.clock;
      if (span_s >= rule.least_s) isTripped = isDrifting(rule, isTripped, drift_ppm);
      return isTripped;
    },
    rest() {
      isTripped = false;
    },
    remember(memory) {
      isTripped = memory.flag(isTripped);
    },
    reading: ({ facts }) => ({ value: facts.clock.drift_ppm, limit: rule.trip_ppm, unit: 'ppm' }),
  };
}
