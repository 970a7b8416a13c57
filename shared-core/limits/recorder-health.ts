/**
 * The recorder: a run that is not recorded is a run that cannot be explained.
 * Trips when it has stopped, when it has held data in memory for too long, and
 * when the disk is nearly full. The host says how it stands.
 */
import type { RecorderFacts } from '../pipeline/host-facts.ts';
import type { RecorderRule } from './rules.ts';
import type { Watch } from './watch.ts';

/** At `held_s` and `leastFree_MB` themselves it is still healthy; NaN is not. */
export function isRecorderIll(rule: Pick<RecorderRule, 'held_s' | 'leastFree_MB'>, facts: RecorderFacts): boolean {
  if (facts.state === 'stopped') return true;
  if (facts.state === 'holding' && !(facts.held_s <= rule.held_s)) return true;
  return !(facts.freeBytes >= rule.leastFree_MB * 1e6);
}

export function recorderWatch(rule: RecorderRule, wasTripped: boolean): Watch {
  let isTripped = wasTripped;
  return {
    step({ facts }) {
      if (facts.recorder !== null) isTripped = isRecorderIll(rule, facts.recorder);
      return isTripped;
    },
    rest() {
      isTripped = false;
    },
    remember(memory) {
      isTripped = memory.flag(isTripped);
    },
    reading({ facts }) {
      const { recorder } = facts;
      if (recorder === null || recorder.state === 'stopped') return { value: NaN, limit: NaN, unit: '' };
      if (!(recorder.held_s <= rule.held_s)) return { value: recorder.held_s, limit: rule.held_s, unit: 's' };
      return { value: recorder.freeBytes / 1e6, limit: rule.leastFree_MB, unit: 'MB' };
    },
  };
}
