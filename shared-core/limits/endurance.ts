/**
 * Fasteners: after a long run, or many hours since they were last secured,
 * threadlocker and torque are due again. Common practice, no maker's figure.
 * The hours are counted in `pipeline/host-facts.ts` and carried from session
 * to session; the operator's `fasteners-locked` begins them anew.
 */
import type { EngineHours } from '../pipeline/host-facts.ts';
import type { EnduranceRule } from './rules.ts';
import type { Watch } from './watch.ts';

/** More than the hours, not at them. NaN (hours that are not known) is due. */
export function isLockingDue(rule: Pick<EnduranceRule, 'run_h' | 'sinceLocked_h'>, hours: EngineHours): boolean {
  return !(hours.longestRun_h <= rule.run_h) || !(hours.sinceLocked_h <= rule.sinceLocked_h);
}

export function enduranceWatch(rule: EnduranceRule): Watch {
  return {
    step: ({ facts }) => isLockingDue(rule, facts.hours),
    rest() {},
    remember() {},
    reading({ facts: { hours } }) {
      const isByRun = !(hours.longestRun_h <= rule.run_h);
      return isByRun
        ? { value: hours.longestRun_h, limit: rule.run_h, unit: 'h' }
        : { value: hours.sinceLocked_h, limit: rule.sinceLocked_h, unit: 'h' };
    },
  };
}
