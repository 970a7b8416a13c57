import { describe, expect, test } from 'vitest';
import { actCommand } from '../../renderer/alarms/advisory-acts.ts';
import { imperativeOf, openAdvisories, overdueBy_s, stepToConfirm } from '../../renderer/alarms/advisory-sight.ts';
import type { Advisory, AdvisoryStepView } from '../../shared-core/advisory/plans.ts';

function advisory(id: string, over: Partial<Advisory>): Advisory {
  return {
    id,
    cause: 'overspeed',
    kind: 'abort',
    escalation: 0,
    title: id,
    imperative: '',
    rank: 2,
    causeText: '',
    alarmId: '',
    openedAt_us: 0,
    completedAt_us: null,
    closedAt_us: null,
    steps: [],
    ...over,
  };
}

function step(over: Partial<AdvisoryStepView>): AdvisoryStepView {
  return {
    step: { id: 's', imperative: 'Close the throttle', why: '', proof: { kind: 'operator' }, allowed_s: 5 },
    state: 'current',
    startedAt_us: 10e6,
    doneAt_us: null,
    isOverdue: false,
    proofText: '',
    ...over,
  };
}

describe('given several advisories', () => {
  test('when they are open, then the graver leads, then the earlier; done ones wait behind; closed ones are gone', () => {
    const order = openAdvisories([
      advisory('later', { rank: 2, openedAt_us: 9 }),
      advisory('done', { rank: 1, completedAt_us: 5 }),
      advisory('closed', { rank: 1, closedAt_us: 5 }),
      advisory('earlier', { rank: 2, openedAt_us: 1 }),
      advisory('grave', { rank: 1, openedAt_us: 20 }),
    ]);
    expect(order.map((a) => a.id)).toEqual(['grave', 'earlier', 'later', 'done']);
  });
});

describe('given a current step that is allowed 5 s from 10 s on', () => {
  test.each([
    { now_us: 15e6, overdue_s: 0 },
    { now_us: 15.5e6, overdue_s: 0.5 },
    { now_us: 9e6, overdue_s: 0 },
  ])('when it is $now_us µs, then it is overdue by $overdue_s s', ({ now_us, overdue_s }) => {
    expect(overdueBy_s(step({}), now_us)).toBe(overdue_s);
  });
  test('when it is done, then it is not overdue', () => {
    expect(overdueBy_s(step({ state: 'done-by-operator' }), 99e6)).toBe(0);
  });
  test('when a channel proves it, then there is nothing to confirm', () => {
    const proof = { kind: 'channel', channel: 'rpm', is: 'below', value: 300, hold_ms: 0 } as const;
    const byChannel = step({ step: { ...step({}).step, proof } });
    expect(stepToConfirm(advisory('a', { steps: [byChannel] }))).toBeNull();
    expect(stepToConfirm(advisory('a', { steps: [byChannel, step({})] }))?.step.id).toBe('s');
  });
});

test.each([
  ['throttle-closed', { name: 'THROTTLE', permille: 0 }],
  ['ignition-off', { name: 'IGNITION', on: false }],
  ['fan-on', { name: 'FAN', on: true }],
  ['starter-off', { name: 'STARTER', on: false }],
] as const)('given the act %s, when it is sent, then it is the safe command', (act, command) => {
  expect(actCommand(act)).toEqual(command);
});

describe('given the line at 44 px', () => {
  const first = step({ step: { ...step({}).step, id: 'cut', imperative: 'Cut the ignition' } });
  const second = step({ step: { ...step({}).step, id: 'close', imperative: 'Close the throttle' }, state: 'waiting' });
  test('when no step is done, then it is the plan that speaks', () => {
    expect(imperativeOf(advisory('a', { imperative: 'Cut the ignition now', steps: [first, second] }))).toBe(
      'Cut the ignition now',
    );
  });
  test('when the first step is done, then it is the step that waits', () => {
    const steps = [
      { ...first, state: 'done-by-channel' },
      { ...second, state: 'current' },
    ] as const;
    expect(imperativeOf(advisory('a', { imperative: 'Cut the ignition now', steps }))).toBe('Close the throttle');
  });
  test('when all is done, then it says so', () => {
    expect(imperativeOf(advisory('a', { completedAt_us: 1 }))).toBe('All steps are done');
  });
});
