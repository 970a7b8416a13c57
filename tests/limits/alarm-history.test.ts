/** Each time an alarm was raised, from the event log. */
import { expect, test } from 'vitest';
import type { JournalOutput } from '../../shared-core/journal.ts';
import { alarmHistory } from '../../shared-core/limits/alarm-history.ts';

type Output = Extract<JournalOutput, { kind: 'alarm' }>;

function event(t_s: number, id: string, change: Output['change'], state: Output['state']) {
  const body: Output = {
    ...{ kind: 'alarm', id, rule: id, level: 'caution', title: id.toUpperCase(), change, state },
    ...{ value: 191, limit: 190, isFirstOut: id === 'a' },
  };
  return { t_us: t_s * 1e6, body };
}

test('given alarms that return, latch, are shelved and come back, when their history is read, then each raising is one line', () => {
  const history = alarmHistory([
    event(10, 'a', 'tripped', 'active-unacknowledged'),
    event(12, 'b', 'tripped', 'active-unacknowledged'),
    event(13, 'a', 'acknowledged', 'active-acknowledged'),
    event(20, 'a', 'returned', 'latched'),
    event(25, 'a', 'cleared', 'normal'),
    event(30, 'b', 'shelved', 'shelved'),
    event(90, 'b', 'unshelved', 'active-unacknowledged'),
    event(95, 'c', 'unshelved', 'normal'),
    event(100, 'a', 'tripped', 'active-unacknowledged'),
    event(101, 'a', 'returned', 'returned-unacknowledged'),
    event(102, 'a', 'tripped', 'active-unacknowledged'),
  ]);
  expect(history.map((each) => [each.id, each.raisedAt_us / 1e6, each.end])).toEqual([
    ['a', 10, 'returned'],
    ['b', 12, 'shelved'],
    ['b', 90, null],
    ['a', 100, 'returned'],
    ['a', 102, null],
  ]);
  expect(history[0]).toMatchObject({ acknowledgedAt_us: 13e6, endedAt_us: 20e6, clearedAt_us: 25e6, isFirstOut: true });
  expect(history[1]).toMatchObject({ endedAt_us: 30e6, acknowledgedAt_us: null });
  expect(history[3]).toMatchObject({ endedAt_us: 101e6, clearedAt_us: null });
});

test('given a log that begins with a return, when its history is read, then nothing is made up', () => {
  expect(alarmHistory([event(1, 'a', 'returned', 'normal'), event(2, 'a', 'cleared', 'normal')])).toEqual([]);
});
