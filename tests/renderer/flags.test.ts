import { describe, expect, test } from 'vitest';
import { flagsOfEvents, mergeFlags, type TrendFlag } from '../../renderer/plots/flags.ts';
import type { JournalEvent } from '../../shared-core/journal.ts';

function flag(id: string, t_us: number, text = 'CHT 1 high'): TrendFlag {
  return { id, t_us, kind: 'alarm', level: 'caution', text };
}

describe('given flags already on the axis', () => {
  test('when the same moment comes again under another id, then nothing changes, not even the list', () => {
    const before = [flag('a:cht1', 10)];
    expect(mergeFlags(before, [flag('e:7', 10)])).toBe(before);
  });
  test('when an earlier and a later one come, then all stand in time order', () => {
    const merged = mergeFlags([flag('b', 20)], [flag('c', 30), flag('a', 10)]);
    expect(merged.map((f) => f.t_us)).toEqual([10, 20, 30]);
  });
  test('when two different alarms trip at one moment, then both stand', () => {
    expect(mergeFlags([flag('a', 10)], [flag('b', 10, 'EGT 1 high')])).toHaveLength(2);
  });
});

test('given the events of a session, when they become flags, then trips, marks and points do, returns and ticks do not', () => {
  const alarm = {
    kind: 'alarm',
    id: 'cht1-caution',
    rule: 'cht1-caution',
    level: 'caution',
    title: 'CHT 1 high',
    state: 'active-unacknowledged',
    value: 190.2,
    limit: 190,
    isFirstOut: true,
  } as const;
  const events: JournalEvent[] = [
    { ord: 1, t_us: 10, side: 'out', body: { ...alarm, change: 'tripped' } },
    { ord: 2, t_us: 20, side: 'out', body: { ...alarm, change: 'returned' } },
    {
      ord: 3,
      t_us: 30,
      side: 'in',
      body: { kind: 'operator', by: 'operator 1', action: { kind: 'mark', text: 'lean' } },
    },
    { ord: 4, t_us: 40, side: 'in', body: { kind: 'operator', by: 'operator 1', action: { kind: 'acknowledge-all' } } },
    {
      ord: 5,
      t_us: 50,
      side: 'out',
      body: { kind: 'point', point: { name: '3', from_us: 40, to_us: 50, samples: 2, means: {} } },
    },
  ];
  expect(flagsOfEvents(events).map((f) => [f.kind, f.t_us, f.text])).toEqual([
    ['alarm', 10, 'CHT 1 high'],
    ['mark', 30, 'lean'],
    ['point', 50, 'Point 3'],
  ]);
});
