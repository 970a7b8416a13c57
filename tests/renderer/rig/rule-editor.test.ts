/** The parts of the limit editor that need no page: fields by kind, findings by field, words of the preview. */
import { describe, expect, test } from 'vitest';
import {
  blankRule,
  fieldOf,
  fieldsOf,
  freeId,
  kindTitles,
  missingNumbers,
  type RuleKind,
  unitOf,
  withField,
} from '../../../renderer/rig/rule-fields.ts';
import { findingsOf, sheetWith } from '../../../renderer/rig/rule-findings.ts';
import { previewWords } from '../../../renderer/rig/rule-preview.ts';
import type { LimitRule } from '../../../shared-core/limits/rules.ts';
import { lapwing120 } from '../../../shared-core/rig/lapwing.ts';
import { parseRigSheet } from '../../../shared-core/rig/rig-schema.ts';

const ruleOf = (id: string): LimitRule => {
  const found = lapwing120.rules.find((each) => each.id === id);
  if (found === undefined) throw new Error(`the demo rig has no rule ${id}`);
  return found;
};
const specOf = (rule: LimitRule, key: string) => {
  const found = fieldsOf[rule.kind].find((each) => each.key === key);
  if (found === undefined) throw new Error(`${rule.kind} has no field ${key}`);
  return found;
};

describe('given the fields of each kind', () => {
  const baseFields = new Set([
    ...['id', 'kind', 'title', 'level', 'when', 'whenFor_s', 'latch', 'consequence', 'operatorAction'],
    ...['timeToAct_s', 'advisory'],
  ]);
  test.each(Object.keys(kindTitles) as RuleKind[])(
    'when a %s of the demo rig is edited, then no field of it is left out',
    (kind) => {
      const rule = lapwing120.rules.find((each) => each.kind === kind);
      const known = new Set(fieldsOf[kind].map((spec) => spec.key.split('.')[0]));
      const blank = blankRule(kind, 'x', 'rpm', 'stop');
      const names = Object.keys(rule ?? blank).filter((name) => !baseFields.has(name));
      expect(names.filter((name) => !known.has(name))).toEqual([]);
    },
  );
  test.each(Object.keys(kindTitles) as RuleKind[])('when a new %s is filled, then the sheet takes it', (kind) => {
    let rule = blankRule(kind, freeId(kind, lapwing120.rules), 'rpm', 'ignition');
    expect(findingsOf(sheetWith(lapwing120, rule), rule).byField.size).toBeGreaterThan(0);
    for (const spec of fieldsOf[kind]) {
      if (spec.as === 'channels') rule = withField(rule, spec, ['cht1', 'cht2']);
      if (spec.as === 'number' && Number.isNaN(fieldOf(rule, spec.key))) {
        // Idle lies below high power, reset below trip (but above it for fuel).
        const value = spec.key === 'idle_rpm' ? 10 : spec.key.startsWith('reset') && kind !== 'fuel-time' ? 20 : 30;
        rule = withField(rule, spec, value);
      }
    }
    rule = { ...rule, title: 'New', consequence: 'It breaks.', operatorAction: 'Stop.', timeToAct_s: 20 };
    expect(missingNumbers(rule)).toEqual([]);
    const sheet = sheetWith(lapwing120, rule);
    expect([...findingsOf(sheet, rule).byField], `${kind}`).toEqual([]);
    expect(parseRigSheet(JSON.parse(JSON.stringify(sheet))).ok).toBe(true);
  });
});

describe('given a trip that is moved', () => {
  test('when it goes from 7 000 to 6 700, then the reset goes with it', () => {
    const rule = ruleOf('rpm-abort');
    expect(withField(rule, specOf(rule, 'trip'), 6700)).toMatchObject({ trip: 6700, reset: 6200 });
  });
  test('when it is being rewritten and empty, then the reset stays, and comes along later', () => {
    const rule = ruleOf('rpm-abort');
    const emptied = withField(rule, specOf(rule, 'trip'), NaN);
    expect(emptied).toMatchObject({ reset: 6500 });
    expect(missingNumbers(emptied)).toEqual(['trip']);
  });
  test('when a heat is cleared altogether, then the starter counts none', () => {
    const rule = ruleOf('starter-duty');
    const half = withField(rule, specOf(rule, 'heat.most_s'), NaN);
    expect(missingNumbers(half)).toEqual(['heat.most_s']);
    expect(withField(half, specOf(rule, 'heat.tau_s'), NaN)).toMatchObject({ heat: undefined });
  });
});

describe('given what the sheet refuses', () => {
  test.each([
    { part: { reset: 8000 }, field: 'reset', words: 'must not be above trip (7000)' },
    { part: { consequence: '  ' }, field: 'consequence', words: 'Say what happens if nobody acts.' },
    { part: { title: '' }, field: 'title', words: 'Give it a short name' },
    { part: { timeToAct_s: NaN }, field: 'timeToAct_s', words: 'A number is missing.' },
    { part: { onDelay_ms: -1 }, field: 'onDelay_ms', words: '' },
    { part: { advisory: 'nothing' }, field: 'advisory', words: '' },
  ])('when it is about $field, then it stands at that field', ({ part, field, words }) => {
    const rule = { ...ruleOf('rpm-abort'), ...part } as LimitRule;
    const { byField, others } = findingsOf(sheetWith(lapwing120, rule), rule);
    expect([...byField.keys()]).toEqual([field]);
    expect(byField.get(field)).toContain(words);
    expect(others).toEqual([]);
  });
});

test('given units, when a head is watched, then differences are in K and rates in K/s', () => {
  const channels = new Map([['cht1', { unit: '°C' }]]);
  const rule = { kind: 'threshold', channel: 'cht1' } as LimitRule;
  expect(unitOf(rule, 'channel', channels)).toBe('°C');
  expect(unitOf(rule, 'difference', channels)).toBe('K');
  expect(unitOf(rule, 'rate', channels)).toBe('K/s');
});

describe('given the words of the preview', () => {
  const rule = ruleOf('rpm-abort');
  const standing = { verdict: 'inside', isResting: false, value: 6312, room: 688, subject: 'rpm' } as const;
  test('when there is room, then it is said how much', () => {
    expect(previewWords(rule, standing, 'rpm', 0).detail).toBe('Now 6\u2009312\u2009rpm, 688\u2009rpm from its trip.');
  });
  test('when it is beyond, then its delay is said', () => {
    const words = previewWords(rule, { ...standing, verdict: 'beyond', value: 7012, room: -12 }, 'rpm', 0);
    expect(words.verdict).toBe('Would be tripped now');
    expect(words.detail).toBe('Now 7\u2009012\u2009rpm, 12\u2009rpm beyond its trip, once it has held for 50\u2009ms.');
  });
  test('when the sensor has failed, then that counts as over the limit', () => {
    const words = previewWords(rule, { ...standing, verdict: 'beyond', value: NaN, room: null }, 'rpm', 0);
    expect(words.detail).toContain('no good value');
  });
  test('when it rests, then a condition that holds is not hidden', () => {
    const resting = { ...standing, isResting: true, verdict: 'beyond', value: 7012, room: -12 } as const;
    const words = previewWords({ ...rule, when: ['running'] }, resting, 'rpm', 0);
    expect(words.verdict).toBe('Not judged now');
    expect(words.detail).toContain('Its condition holds all the same');
  });
});
