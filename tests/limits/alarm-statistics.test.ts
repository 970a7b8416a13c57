import { describe, expect, test } from 'vitest';
import type { JournalOutput } from '../../shared-core/journal.ts';
import type { AlarmLife } from '../../shared-core/limits/alarm-life.ts';
import { alarmStatistics } from '../../shared-core/limits/alarm-statistics.ts';
import type { AlarmLevel } from '../../shared-core/limits/rules.ts';

const s = 1_000_000;
type Change = Extract<JournalOutput, { kind: 'alarm' }>['change'];
const stateAfter: Readonly<Record<Change, AlarmLife>> = {
  tripped: 'active-unacknowledged',
  returned: 'returned-unacknowledged',
  acknowledged: 'active-acknowledged',
  cleared: 'normal',
  shelved: 'shelved',
  unshelved: 'active-unacknowledged',
  removed: 'out-of-service',
  restored: 'normal',
};

function event(t_s: number, id: string, change: Change, level: AlarmLevel = 'caution') {
  const state = stateAfter[change];
  const body: JournalOutput = {
    ...{ kind: 'alarm', id, rule: id, level, title: id.toUpperCase(), change, state },
    ...{ value: 1, limit: 0, isFirstOut: false },
  };
  return { t_us: t_s * s, body };
}

describe('given an hour with a handful of alarms, counted by hand', () => {
  const statistics = alarmStatistics(
    [
      event(100, 'a', 'tripped'),
      event(110, 'b', 'tripped', 'abort'),
      event(130, 'b', 'acknowledged', 'abort'),
      event(160, 'b', 'cleared', 'abort'),
      event(400, 'a', 'returned'),
      event(410, 'a', 'cleared'),
      event(2000, 'c', 'tripped'),
      event(2004, 'c', 'returned'),
      event(3000, 'a', 'tripped'),
      event(3100, 'a', 'shelved'),
      event(3400, 'a', 'unshelved'),
      { t_us: 3500 * s, body: { kind: 'run-state', state: 'cooling', run: 1 } as const },
    ],
    3600 * s,
  );
  test('then rate, standing and times are those', () => {
    expect(statistics).toMatchObject({
      ...{ raised: 5, perHour: 5, mostInTenMinutes: 2, floods: 0, inFlood_us: 0, mostStanding: 2 },
      ...{ byLevel: { notice: 0, caution: 4, warning: 0, abort: 1 }, standing: ['a'], shelved: 1, outOfService: 0 },
      ...{ fleeting: 1, chattering: [], medianToAcknowledged_s: 20 },
    });
    expect(statistics.perTenMinutes).toBeCloseTo(5 / 6);
  });
  test('then the most frequent leads, with its share and how long it stood', () => {
    expect(statistics.topTen.map((each) => [each.id, each.raised])).toEqual([
      ['a', 3],
      ['b', 1],
      ['c', 1],
    ]);
    // 300 s, then 100 s until it was shelved, then 200 s until the end.
    expect(statistics.topTen[0]).toMatchObject({ active_us: 600 * s, longest_us: 300 * s, share_percent: 60 });
    expect(statistics.topTen[2]).toMatchObject({ fleeting: 1, active_us: 4 * s });
  });
});

describe('chattering: more than 5 changes within 5 min', () => {
  const chatter = (every_s: number, changes: number) =>
    alarmStatistics(
      Array.from({ length: changes }, (_, i) => event(i * every_s, 'a', i % 2 === 0 ? 'tripped' : 'cleared')),
      7200 * s,
    ).chattering;
  test('given 5 changes in it, then not; 6 are', () => {
    expect(chatter(10, 5)).toEqual([]);
    expect(chatter(10, 6)).toEqual(['a']);
  });
  test('given 6 changes over exactly 5 min, then it is; a second more each, then not', () => {
    expect(chatter(60, 20)).toEqual(['a']);
    expect(chatter(61, 20)).toEqual([]);
  });
  test('given a short one that comes again within a minute, then it is not fleeting but chattering', () => {
    const events = [0, 30].flatMap((t_s) => [event(t_s, 'a', 'tripped'), event(t_s + 5, 'a', 'cleared')]);
    expect(alarmStatistics(events, 3600 * s).fleeting).toBe(0);
  });
});

describe('floods', () => {
  test('given 12 alarms ten seconds apart, then one flood, from the eleventh until fewer than five are left', () => {
    const events = Array.from({ length: 12 }, (_, i) => event(i * 10, `a${i}`, 'tripped'));
    const { floods, inFlood_us, mostInTenMinutes } = alarmStatistics(events, 3600 * s);
    // Begins at 100 s; the eighth of them (70 s) leaves at 670 s.
    expect({ floods, inFlood_us, mostInTenMinutes }).toEqual({ floods: 1, inFlood_us: 570 * s, mostInTenMinutes: 12 });
  });
  test('given the session ends in it, then it counts until there', () => {
    const events = Array.from({ length: 12 }, (_, i) => event(i * 10, `a${i}`, 'tripped'));
    expect(alarmStatistics(events, 300 * s).inFlood_us).toBe(200 * s);
  });
});

test('given a session without an alarm or without a duration, then nothing is made up', () => {
  const none = alarmStatistics([], 0);
  expect(none).toMatchObject({ raised: 0, perHour: NaN, topTen: [], standing: [], medianToAcknowledged_s: null });
});
