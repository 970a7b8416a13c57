/**
 * What no single field of a rig sheet shows and an import must refuse all the
 * same. The schema of the fields is `rig-schema.ts`.
 */
import type { LimitRule } from '../limits/rules.ts';
import type { RigSheet } from './rig-sheet.ts';

/** What no single field shows: levels the wrong way round, ids used twice, plans missing. */
export function contradictions(sheet: RigSheet): string[] {
  const findings: string[] = [];
  const ids = new Set<string>();
  const causes = new Set(sheet.plans.map((each) => each.cause));
  sheet.rules.forEach((each, i) => {
    const at = `rules[${i}]`;
    if (ids.has(each.id)) findings.push(`${at}.id: "${each.id}" is used twice; every rule needs its own`);
    ids.add(each.id);
    findings.push(...ruleContradictions(each, at));
    if (each.advisory !== undefined && !causes.has(each.advisory)) {
      findings.push(`${at}.advisory: no plan for "${each.advisory}" in plans`);
    }
  });
  const planCauses = new Set<string>();
  sheet.plans.forEach((each, i) => {
    if (planCauses.has(each.cause)) findings.push(`plans[${i}].cause: "${each.cause}" has a plan already`);
    planCauses.add(each.cause);
    const steps = new Set<string>();
    each.steps.forEach((step, k) => {
      if (steps.has(step.id)) findings.push(`plans[${i}].steps[${k}].id: "${step.id}" is used twice in this plan`);
      steps.add(step.id);
    });
  });
  findings.push(...contradictionsOfLists(sheet));
  if (sheet.runDetection.running_rpm <= sheet.runDetection.rest_rpm) {
    findings.push(`runDetection.running_rpm: must be above rest_rpm (${sheet.runDetection.rest_rpm})`);
  }
  return findings;
}

function contradictionsOfLists(sheet: RigSheet): string[] {
  const { calibrations, calibrationRecords = [], channels = [], history = [], version } = sheet;
  const findings = [
    ...usedTwice(
      'calibrations',
      'channel',
      calibrations.map((each) => each.channel),
    ),
    ...usedTwice(
      'channels',
      'channel',
      channels.map((each) => each.channel),
    ),
    ...usedTwice(
      'calibrationRecords',
      'id',
      calibrationRecords.map((each) => each.id),
    ),
  ];
  calibrations.forEach((each, i) => {
    if (each.a1 === 0 && each.a2 === 0) {
      findings.push(`calibrations[${i}].a1: with a1 and a2 both 0 the channel always reads the same`);
    }
  });
  channels.forEach(({ low, high }, i) => {
    if (low !== null && high !== null && low >= high) findings.push(`channels[${i}].low: must be below high (${high})`);
  });
  history.forEach((each, i) => {
    if (each.version > version) findings.push(`history[${i}].version: is above that of the sheet (${version})`);
    if (i > 0 && each.version <= history[i - 1]!.version) {
      findings.push(`history[${i}].version: must be above the one before`);
    }
  });
  return findings;
}

function usedTwice(place: string, field: string, names: readonly string[]): string[] {
  return names.flatMap((name, i) =>
    names.indexOf(name) < i ? [`${place}[${i}].${field}: "${name}" is used twice`] : [],
  );
}

/** Levels the wrong way round, within one rule. @param at where it stands: "rules[3]" */
export function ruleContradictions(rule: LimitRule, at: string): string[] {
  const above = (field: string, than: string, limit: number) => `${at}.${field}: must not be above ${than} (${limit})`;
  switch (rule.kind) {
    case 'threshold':
      if (rule.direction === 'high') return rule.reset > rule.trip ? [above('reset', 'trip', rule.trip)] : [];
      return rule.reset < rule.trip ? [`${at}.reset: must not be below trip (${rule.trip})`] : [];
    case 'timed-band':
    case 'spread':
    case 'deviation':
      return rule.reset > rule.trip ? [above('reset', 'trip', rule.trip)] : [];
    case 'disagreement':
      return rule.reset_percent > rule.trip_percent ? [above('reset_percent', 'trip_percent', rule.trip_percent)] : [];
    case 'rate':
      return rule.reset_perS > rule.trip_perS ? [above('reset_perS', 'trip_perS', rule.trip_perS)] : [];
    case 'clock-drift':
      return rule.reset_ppm > rule.trip_ppm ? [above('reset_ppm', 'trip_ppm', rule.trip_ppm)] : [];
    case 'fuel-time':
      return rule.reset_min < rule.trip_min ? [`${at}.reset_min: must not be below trip_min (${rule.trip_min})`] : [];
    case 'cool-down':
      return rule.idle_rpm >= rule.high_rpm ? [`${at}.idle_rpm: must be below high_rpm (${rule.high_rpm})`] : [];
    default:
      return [];
  }
}
