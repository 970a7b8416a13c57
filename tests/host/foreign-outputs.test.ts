/** A bench that is only listened to gets no byte, whatever is asked. */
import { expect, test } from 'vitest';
import { Outputs } from '../../electron/host/outputs.ts';
import type { BenchCommand } from '../../shared-core/line/messages.ts';

const commands: readonly BenchCommand[] = [
  { name: 'IDENTIFY' },
  { name: 'TARE-THRUST' },
  { name: 'THROTTLE', permille: 0 },
  { name: 'THROTTLE', permille: 500 },
  { name: 'IGNITION', on: false },
  { name: 'IGNITION', on: true },
  { name: 'STARTER', on: true },
  { name: 'STARTER', on: false },
  { name: 'FAN', on: true },
];

test('given a bench read by a profile, when anything is asked of its outputs, then it is refused in words and no byte goes out', () => {
  const written: Uint8Array[] = [];
  const journal: string[] = [];
  let now_us = 0;
  const outputs = new Outputs({
    write: (bytes) => written.push(bytes) > 0,
    journal: {
      command: (id) => journal.push(id),
      unanswered: (id) => journal.push(id),
      outputs: (_live, why) => journal.push(why),
    },
    pace: () => 1,
    now_us: () => now_us,
    session_us: () => now_us,
    starter: () => ({ left_s: 8, restLeft_s: 0 }) as ReturnType<ConstructorParameters<typeof Outputs>[0]['starter']>,
    startLists: () => ({ open: 0, isOverridden: false }),
    runState: () => 'running',
    isLinkUp: () => true,
    runningAbort: () => null,
    unavailable: 'Not sent: only listened to.',
  });
  const refusal = { ok: false, error: { kind: 'refused', sentence: 'Not sent: only listened to.' } };
  expect(outputs.setLive(true, 'by operator 1')).toMatchObject(refusal);
  for (const command of commands) expect(outputs.command('operator 1', command), command.name).toMatchObject(refusal);
  expect(outputs.holdStarter('operator 1', true)).toMatchObject(refusal);
  expect(outputs.holdStarter('operator 1', false)).toMatchObject(refusal);
  outputs.pageGone();
  for (let i = 0; i < 500; i++) {
    now_us += 20_000;
    outputs.idle();
  }
  expect(written).toEqual([]);
  expect(journal).toEqual([]);
  expect(outputs.view()).toMatchObject({ live: false, unavailable: 'Not sent: only listened to.', commands: [] });
});
