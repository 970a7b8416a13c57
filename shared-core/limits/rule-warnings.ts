/**
 * What a person who edits a rule must be told although the rule is valid. What
 * is refused outright is in `rig/rig-schema.ts`.
 */
import type { LimitRule } from './rules.ts';

/** Below this a person cannot see, understand and act. Own choice, on the short side. */
export const LEAST_TIME_FOR_A_PERSON_s = 5;

/** Plain sentences, the gravest first; empty where there is nothing to say. */
export function ruleWarnings(rule: LimitRule): readonly string[] {
  const warnings: string[] = [];
  if (rule.timeToAct_s < LEAST_TIME_FOR_A_PERSON_s) {
    warnings.push(
      `${rule.timeToAct_s} s to act: this needs a hard-wired trip on the stand, not an operator. The alarm may stay as a record of it.`,
    );
  }
  const onDelay_s = 'onDelay_ms' in rule ? rule.onDelay_ms / 1000 : 0;
  if (onDelay_s > 0 && onDelay_s >= rule.timeToAct_s) {
    warnings.push(`The on-delay of ${onDelay_s} s takes all of the ${rule.timeToAct_s} s that there are to act.`);
  }
  if (rule.level === 'abort' && rule.advisory === undefined) {
    warnings.push('An abort rule without an advisory plan leaves the operator without steps.');
  }
  if (rule.advisory !== undefined && rule.level !== 'abort' && rule.kind !== 'cool-down') {
    warnings.push('The advisory plan opens only when the level is abort.');
  }
  const band = deadbandOf(rule);
  if (band === 0) warnings.push('Trip and reset are the same: without a deadband the alarm will chatter.');
  if (rule.whenFor_s !== undefined && rule.whenFor_s > 0 && rule.when.length === 0) {
    warnings.push('The waiting time has no effect: the rule is judged in every run state.');
  }
  return warnings;
}

function deadbandOf(rule: LimitRule): number {
  if ('trip' in rule) return Math.abs(rule.trip - rule.reset);
  if ('trip_perS' in rule) return Math.abs(rule.trip_perS - rule.reset_perS);
  if ('trip_min' in rule) return Math.abs(rule.trip_min - rule.reset_min);
  if ('trip_ppm' in rule) return Math.abs(rule.trip_ppm - rule.reset_ppm);
  return 'trip_percent' in rule ? Math.abs(rule.trip_percent - rule.reset_percent) : Number.NaN;
}
