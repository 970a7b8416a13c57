import { describe, expect, test } from 'vitest';
import { type AlarmLife, alarmEvents, nextAlarmLife } from '../../shared-core/limits/alarm-life.ts';

const AU = 'active-unacknowledged';
const AA = 'active-acknowledged';
const RU = 'returned-unacknowledged';

/** Every state and event, by hand; in the order trip, return, acknowledge, reset. */
const plain: [AlarmLife, AlarmLife[]][] = [
  ['normal', [AU, 'normal', 'normal', 'normal']],
  [AU, [AU, RU, AA, AU]],
  [AA, [AA, 'normal', AA, AA]],
  [RU, [AU, RU, 'normal', RU]],
  ['latched', [AU, 'latched', 'latched', 'normal']],
];
const latching: [AlarmLife, AlarmLife[]][] = [
  ['normal', [AU, 'normal', 'normal', 'normal']],
  [AU, [AU, RU, AA, AU]],
  [AA, [AA, 'latched', AA, AA]],
  [RU, [AU, RU, 'latched', RU]],
  ['latched', [AU, 'latched', 'latched', 'normal']],
];

describe.each([
  { isLatching: false, table: plain },
  { isLatching: true, table: latching },
])('given a rule that latches: $isLatching', ({ isLatching, table }) => {
  test.each(table.flatMap(([life, after]) => alarmEvents.map((event, i) => ({ life, event, next: after[i] }))))(
    'when $life meets $event, then $next',
    ({ life, event, next }) => {
      expect(nextAlarmLife(life, event, isLatching)).toBe(next);
    },
  );
});
