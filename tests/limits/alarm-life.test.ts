import { describe, expect, test } from 'vitest';
import { type AlarmLife, alarmEvents, alarmLives, nextAlarmLife } from '../../shared-core/limits/alarm-life.ts';

const AU = 'active-unacknowledged';
const AA = 'active-acknowledged';
const RU = 'returned-unacknowledged';
const G = 'shelved';
const I = 'out-of-service';

/**
 * Every state and event, by hand; in the order trip, return, acknowledge, reset, shelve, unshelve, expire, remove,
 * restore. Rows A, B, C, D, F, G, I of the public descriptions of ISA-18.2; their E is RU of a latching rule here.
 * Where a set-aside alarm comes back, the condition does not hold.
 */
const plain: [AlarmLife, AlarmLife[]][] = [
  ['normal', [AU, 'normal', 'normal', 'normal', G, 'normal', 'normal', I, 'normal']],
  [AU, [AU, RU, AA, AU, G, AU, AU, I, AU]],
  [AA, [AA, 'normal', AA, AA, G, AA, AA, I, AA]],
  [RU, [AU, RU, 'normal', RU, RU, RU, RU, RU, RU]],
  ['latched', [AU, 'latched', 'latched', 'normal', 'latched', 'latched', 'latched', 'latched', 'latched']],
  [G, [G, G, G, G, G, 'normal', 'normal', I, G]],
  [I, [I, I, I, I, I, I, I, I, 'normal']],
];
const latching = plain.map(([life, after]): [AlarmLife, AlarmLife[]] => {
  if (life === AA) return [life, after.with(1, 'latched')];
  return life === RU ? [life, after.with(2, 'latched')] : [life, after];
});

describe.each([
  { isLatching: false, table: plain },
  { isLatching: true, table: latching },
])('given a rule that latches: $isLatching', ({ isLatching, table }) => {
  test('then the table names every state', () => {
    expect(table.map(([life]) => life)).toEqual(alarmLives);
  });
  test.each(table.flatMap(([life, after]) => alarmEvents.map((event, i) => ({ life, event, next: after[i] }))))(
    'when $life meets $event, then $next',
    ({ life, event, next }) => {
      expect(nextAlarmLife(life, event, isLatching)).toBe(next);
    },
  );
  test.each(table.flatMap(([life, after]) => alarmEvents.map((event, i) => ({ life, event, next: after[i]! }))))(
    'when $life meets $event while the condition holds, then only a return from being set aside is another',
    ({ life, event, next }) => {
      const isBack = (life === G || life === I) && next === 'normal';
      expect(nextAlarmLife(life, event, isLatching, true)).toBe(isBack ? AU : next);
    },
  );
});
