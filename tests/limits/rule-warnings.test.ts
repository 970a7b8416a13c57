import { describe, expect, test } from 'vitest';
import { ruleWarnings } from '../../shared-core/limits/rule-warnings.ts';
import { parseRigSheet } from '../../shared-core/rig/rig-schema.ts';
import { rule, smallRig } from '../pipeline-support.ts';

test.each([
  { timeToAct_s: 5, warns: false },
  { timeToAct_s: 4.9, warns: true },
  { timeToAct_s: 0, warns: true },
])('given $timeToAct_s s to act, then it warns of a hard-wired trip: $warns', ({ timeToAct_s, warns }) => {
  const [first] = ruleWarnings(rule.threshold('a', { timeToAct_s }));
  expect(first?.includes('needs a hard-wired trip on the stand, not an operator') ?? false).toBe(warns);
});

test.each([
  { what: 'a delay that takes all the time', each: rule.threshold('a', { onDelay_ms: 10_000 }), says: 'on-delay' },
  { what: 'an abort without a plan', each: rule.threshold('a', { level: 'abort' }), says: 'without an advisory plan' },
  { what: 'a plan below abort', each: rule.threshold('a', { advisory: 'overspeed' }), says: 'only when the level' },
  { what: 'no deadband', each: rule.threshold('a', { reset: 220 }), says: 'chatter' },
  { what: 'no deadband of a rate', each: rule.rate('a', { reset_perS: 4 }), says: 'chatter' },
  { what: 'a waiting time without a state', each: rule.frozen('a', { whenFor_s: 5 }), says: 'waiting time' },
])('given $what, then it says so', ({ each, says }) => {
  expect(ruleWarnings(each).join(' ')).toContain(says);
});

test('given nothing to say, then it says nothing', () => {
  expect(ruleWarnings(rule.threshold('a'))).toEqual([]);
});

describe('given a rule that does not say what happens, what to do or in how much time', () => {
  const parsed = (change: object) => parseRigSheet(smallRig([{ ...rule.rate('a'), ...change } as never]));
  test.each([
    { change: { consequence: '' } },
    { change: { consequence: ' ' } },
    { change: { operatorAction: '' } },
    { change: { operatorAction: '  ' } },
    { change: { timeToAct_s: undefined } },
    { change: { timeToAct_s: -1 } },
    { change: { timeToAct_s: NaN } },
  ])('when it has $change, then the sheet is refused, with the place', ({ change }) => {
    const answer = parsed(change);
    expect(answer.ok ? '' : answer.error.join(' ')).toContain(`rules[0].${Object.keys(change)[0]}`);
  });
  test('when it has all three, then it is taken', () => {
    expect(parsed({}).ok).toBe(true);
  });
});

test.each([
  { each: rule.rate('a', { reset_perS: 5 }), field: 'reset_perS' },
  { each: rule.spread('a', { reset: 41 }), field: 'reset' },
  { each: rule.deviation('a', { reset: 21 }), field: 'reset' },
  { each: rule.clockDrift('a', { reset_ppm: 501 }), field: 'reset_ppm' },
  { each: rule.fuelTime('a', { reset_min: 9 }), field: 'reset_min' },
  { each: rule.coolDown('a', { idle_rpm: 4500 }), field: 'idle_rpm' },
])('given $each.kind with its levels the wrong way round, then the sheet is refused at $field', ({ each, field }) => {
  const answer = parseRigSheet(smallRig([each]));
  expect(answer.ok ? '' : answer.error.join(' ')).toContain(`rules[0].${field}: must`);
});

test.each([
  rule.spread('a'),
  rule.deviation('a'),
  rule.frozen('a'),
  rule.range('a'),
  rule.clockDrift('a'),
  rule.recorder('a'),
  rule.fuelTime('a'),
  rule.coolDown('a'),
  rule.endurance('a'),
])('given a $kind rule as it should be, then the sheet is taken', (each) => {
  expect(parseRigSheet(smallRig([each]))).toMatchObject({ ok: true });
});
