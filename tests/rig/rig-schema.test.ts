import { describe, expect, test } from 'vitest';
import { lapwing120 } from '../../shared-core/rig/lapwing.ts';
import { parseRigSheet } from '../../shared-core/rig/rig-schema.ts';

/** A copy with one place changed. */
function changed(path: readonly (string | number)[], value: unknown): unknown {
  const copy = structuredClone(lapwing120) as unknown as Record<string | number, unknown>;
  let at = copy;
  for (const part of path.slice(0, -1)) at = at[part] as Record<string | number, unknown>;
  at[path.at(-1)!] = value;
  return copy;
}

describe('given the demo rig sheet', () => {
  test('when it is written as JSON and read back, then it is the same sheet', () => {
    const read = parseRigSheet(JSON.parse(JSON.stringify(lapwing120)));
    expect(read).toEqual({ ok: true, value: lapwing120 });
  });

  test('then every abort rule names its plan, and every rule says consequence and action', () => {
    for (const rule of lapwing120.rules) {
      expect(rule.consequence.length).toBeGreaterThan(5);
      expect(rule.operatorAction.length).toBeGreaterThan(5);
      if (rule.level === 'abort') expect(lapwing120.plans.map((plan) => plan.cause)).toContain(rule.advisory);
    }
  });
});

describe('given a damaged rig sheet', () => {
  const first = lapwing120.rules.findIndex((rule) => rule.kind === 'threshold' && rule.direction === 'high');
  test.each([
    {
      name: 'a rule without operator action',
      path: ['rules', 0, 'operatorAction'],
      value: undefined,
      says: 'rules[0].operatorAction',
    },
    {
      name: 'reset above trip',
      path: ['rules', first, 'reset'],
      value: 1e6,
      says: `rules[${first}].reset: must not be above trip`,
    },
    { name: 'a level that does not exist', path: ['rules', 0, 'level'], value: 'fatal', says: 'rules[0].level' },
    { name: 'a trip that is no number', path: ['rules', first, 'trip'], value: 'hot', says: `rules[${first}].trip` },
    {
      name: 'an id used twice',
      path: ['rules', 1, 'id'],
      value: 'rpm-abort',
      says: 'rules[1].id: "rpm-abort" is used twice',
    },
    { name: 'a plan missing', path: ['plans'], value: [], says: 'no plan for "overspeed"' },
    { name: 'no displacement', path: ['engine', 'displacement_cm3'], value: 0, says: 'engine.displacement_cm3' },
    { name: 'a field that we do not know', path: ['engine', 'colour'], value: 'red', says: 'colour' },
    { name: 'a newer format', path: ['formatVersion'], value: 2, says: 'formatVersion' },
    {
      name: 'running below rest',
      path: ['runDetection', 'running_rpm'],
      value: 10,
      says: 'runDetection.running_rpm: must be above',
    },
  ])('when it has $name, then it is refused and says where', ({ path, value, says }) => {
    const read = parseRigSheet(changed(path, value));
    expect(read.ok).toBe(false);
    if (!read.ok) expect(read.error.join('\n')).toContain(says);
  });

  test.each([null, 7, 'sheet', [], {}])('when it is %j, then it is refused', (value) => {
    expect(parseRigSheet(value).ok).toBe(false);
  });
});
