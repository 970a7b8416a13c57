/** Journal events as lines of the event list. */
import { describe, expect, test } from 'vitest';
import { eventLines, lineAt } from '../../../renderer/review/event-words.ts';
import type { JournalEvent, JournalInput, JournalOutput } from '../../../shared-core/journal.ts';
import { lapwing120 } from '../../../shared-core/rig/lapwing.ts';

const channels = new Map([['cht1', { unit: '°C' }]]);
let ord = 0;
const input = (t_s: number, body: JournalInput): JournalEvent => ({ ord: ord++, t_us: t_s * 1e6, side: 'in', body });
const output = (t_s: number, body: JournalOutput): JournalEvent => ({ ord: ord++, t_us: t_s * 1e6, side: 'out', body });
const linesOf = (...events: JournalEvent[]) => eventLines(events, lapwing120, channels);

const trip: JournalOutput = {
  kind: 'alarm',
  id: 'cht1-abort',
  rule: 'cht1-abort',
  level: 'abort',
  title: 'CHT 1 over limit',
  change: 'tripped',
  state: 'active-unacknowledged',
  value: 220.24,
  limit: 220,
  isFirstOut: true,
};

describe('given an alarm', () => {
  test('when it trips, then value, limit and unit stand beside it, and first-out', () => {
    expect(linesOf(output(3, trip))).toMatchObject([
      {
        t_us: 3e6,
        group: 'alarms',
        level: 'abort',
        title: 'CHT 1 over limit',
        detail: '220.2 against 220\u2009°C, first-out',
      },
    ]);
  });
  test('when it is acknowledged, then one line stands for it: the act', () => {
    const lines = linesOf(
      output(3, trip),
      input(5, { kind: 'operator', by: 'operator 1', action: { kind: 'acknowledge', alarmId: 'cht1-abort' } }),
      output(5, { ...trip, change: 'acknowledged', state: 'active-acknowledged' }),
    );
    expect(lines.map((l) => [l.title, l.by])).toEqual([
      ['CHT 1 over limit', ''],
      ['Acknowledged CHT 1 over limit', 'operator 1'],
    ]);
  });
  test('when a failed sensor tripped it, then no number is made up', () => {
    expect(linesOf(output(0, { ...trip, value: null, isFirstOut: false }))[0]?.detail).toBe('');
  });
});

test('given an advisory, when its steps are done, then each names its step, by whom, and how long after the trip', () => {
  const advisory = (change: 'opened' | 'step-done' | 'closed', stepId: string | null, doneBy: 'channel' | null) =>
    ({ kind: 'advisory', id: 'over-temperature@3', cause: 'over-temperature', change, stepId, doneBy }) as const;
  const lines = linesOf(
    output(3, advisory('opened', null, null)),
    output(8, advisory('step-done', 'idle', 'channel')),
    output(90, advisory('closed', null, null)),
  );
  expect(lines.map((l) => [l.title, l.detail])).toEqual([
    ['Advisory: Over-temperature', 'Close the throttle now'],
    ['Close the throttle to idle', 'shown by the channels, 5.0\u2009s after the trip'],
    ['Over-temperature: closed', '87\u2009s after the trip'],
  ]);
});

test('given a command, when the bench refuses it, then the answer names the command and the reason', () => {
  const lines = linesOf(
    input(1, { kind: 'command', id: '0001', command: { name: 'TARE-THRUST' }, by: 'operator 1' }),
    input(1.1, { kind: 'answer', answer: { kind: 'refused', host: 'AB12', id: '0001', reason: 'MOVING', words: [] } }),
  );
  expect(lines.map((l) => [l.title, l.detail])).toEqual([
    ['Tare thrust', ''],
    ['Tare thrust: refused', 'moving'],
  ]);
});

test('given inputs and an identity that the bench repeats, when nothing has changed, then no line is added', () => {
  const identity = {
    version: '1.0',
    bench: 'bench-1',
    firmware: '1.2.0',
    boot: '14BF',
    layout: 'BA26',
    groups: 2,
    channels: 21,
    inputs: 8,
  };
  const lines = linesOf(
    input(0, { kind: 'identity', identity }),
    input(0, { kind: 'input', input: 0, state: 1 }),
    input(5, { kind: 'identity', identity }),
    input(5, { kind: 'input', input: 0, state: 1 }),
    input(6, { kind: 'input', input: 0, state: 0 }),
    input(7, { kind: 'identity', identity: { ...identity, boot: '14C0' } }),
  );
  expect(lines.map((l) => l.t_us / 1e6)).toEqual([0, 0, 6, 7]);
});

test('given counts and clock mappings, then they are left out', () => {
  expect(linesOf(input(1, { kind: 'clock', bench_us: 1, session_us: 1, host_epochMs: 1 }))).toEqual([]);
});

describe('given lines at 1, 3 and 3 s', () => {
  const lines = linesOf(
    input(1, { kind: 'host', text: 'a' }),
    input(3, { kind: 'host', text: 'b' }),
    input(3, { kind: 'host', text: 'c' }),
  );
  test.each([
    { t_us: 0.9e6, at: -1 },
    { t_us: 1e6, at: 0 },
    { t_us: 2.9e6, at: 0 },
    { t_us: 3e6, at: 2 },
    { t_us: NaN, at: -1 },
  ])('when it is $t_us µs, then the present line is $at', ({ t_us, at }) => {
    expect(lineAt(lines, t_us)).toBe(at);
  });
});
