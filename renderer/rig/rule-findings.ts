/**
 * What the rig sheet's own reader says of a limit that is being edited, by
 * field: the editor refuses exactly what an import would. Pure.
 */
import type { LimitRule } from '../../shared-core/limits/rules.ts';
import { parseRigSheet } from '../../shared-core/rig/rig-schema.ts';
import type { RigSheet } from '../../shared-core/rig/rig-sheet.ts';
import { missingNumbers } from './rule-fields.ts';

export interface RuleFindings {
  readonly byField: ReadonlyMap<string, string>;
  /** Of the rule or the sheet as a whole. */
  readonly others: readonly string[];
}

/** The sheet with this rule in place of the one with its id, or behind all others. */
export function sheetWith(sheet: RigSheet, rule: LimitRule): RigSheet {
  const isThere = sheet.rules.some((each) => each.id === rule.id);
  const rules = isThere ? sheet.rules.map((each) => (each.id === rule.id ? rule : each)) : [...sheet.rules, rule];
  return { ...sheet, rules };
}

const wholeOf: Readonly<Record<string, string>> = {
  title: 'Give it a short name, as it shall stand in the alarm list.',
  consequence: 'Say what happens if nobody acts.',
  operatorAction: 'Say what the operator does.',
};

/** @param sheet with the rule in it (`sheetWith`) */
export function findingsOf(sheet: RigSheet, rule: LimitRule): RuleFindings {
  const byField = new Map<string, string>();
  const others: string[] = [];
  const missing = [...missingNumbers(rule), ...(Number.isNaN(rule.timeToAct_s) ? ['timeToAct_s'] : [])];
  for (const field of missing) byField.set(field, 'A number is missing.');
  const parsed = parseRigSheet(sheet);
  if (parsed.ok) return { byField, others };
  const at = `rules[${sheet.rules.findIndex((each) => each.id === rule.id)}]`;
  for (const finding of parsed.error) {
    const [place = '', ...words] = finding.split(': ');
    const sentence = words.join(': ');
    if (!place.startsWith(at)) {
      others.push(finding);
      continue;
    }
    const field = place.slice(at.length + 1).replace(/\[\d+\]$/, '');
    if (field === '') others.push(sentence);
    else if (!byField.has(field)) byField.set(field, wholeOf[field] ?? sentence);
  }
  return { byField, others };
}
