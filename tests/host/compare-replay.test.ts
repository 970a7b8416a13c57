import { describe, expect, test } from 'vitest';
import { compareReplay } from '../../electron/host/cli/compare-replay.ts';
import type { JournalEvent, JournalOutput } from '../../shared-core/journal.ts';

const running: JournalOutput = { kind: 'run-state', state: 'running', run: 1 };
const recorded: JournalEvent[] = [
  { ord: 1, t_us: 10, side: 'in', body: { kind: 'host', text: 'not an output' } },
  { ord: 2, t_us: 20, side: 'out', body: running },
];

describe('given a recording with one output', () => {
  test('when the replay puts out the same, then nothing is found', () => {
    expect(compareReplay(recorded, [{ t_us: 20, body: { run: 1, state: 'running', kind: 'run-state' } }])).toEqual([]);
  });
  test.each([
    { name: 'another time', replayed: [{ t_us: 21, body: running }] },
    { name: 'another state', replayed: [{ t_us: 20, body: { ...running, state: 'cooling' as const } }] },
    { name: 'nothing', replayed: [] },
    {
      name: 'one more',
      replayed: [
        { t_us: 20, body: running },
        { t_us: 30, body: running },
      ],
    },
  ])('when the replay puts out $name, then it is found', ({ replayed }) => {
    expect(compareReplay(recorded, replayed)).toHaveLength(1);
  });
});
