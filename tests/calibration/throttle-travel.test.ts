import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { calibrationRecordSchema } from '../../shared-core/calibration/record-schema.ts';
import {
  type ThrottleEvent,
  type ThrottleState,
  throttleInstructions,
  throttleTravelNext,
  throttleTravelRecord,
  throttleTravelStart,
  travelOf,
  usualThrottleRules,
} from '../../shared-core/calibration/throttle-travel.ts';

const walk: ThrottleEvent[] = [
  { kind: 'linkage-is-off' },
  { kind: 'servo', isOn: true },
  { kind: 'stands-closed', pulse_us: 1100, demand_percent: 0 },
  { kind: 'linkage-is-on' },
  { kind: 'captured', pulse_us: 1120 },
  { kind: 'captured', pulse_us: 1128 },
  { kind: 'captured', pulse_us: 1880 },
  { kind: 'verified', pulse_us: 1121, isRight: true },
  { kind: 'verified', pulse_us: 1500, isRight: true },
  { kind: 'verified', pulse_us: 1880, isRight: true },
];
const head = { id: 't-1', date: '2026-11-25', who: 'technician 1', reference: '', dueAfter_months: 12 };

function afterEvents(events: readonly ThrottleEvent[]): ThrottleState {
  return events.reduce<ThrottleState>((state, event) => {
    const next = throttleTravelNext(state, event);
    if (!next.ok) throw new Error(next.error);
    return next.value;
  }, throttleTravelStart(usualThrottleRules));
}

test('given the walk in its order, then the travel is set, verified and recorded', () => {
  const state = afterEvents(walk);
  expect(state.step).toBe('done');
  expect(travelOf(state)).toEqual({
    closed_us: 1120,
    open_us: 1880,
    deadZone_us: 8,
    hardLow_us: 800,
    hardHigh_us: 2200,
  });
  const record = throttleTravelRecord(state, ['throttle', 'servo_pulse'], head);
  expect(record).toMatchObject({ ok: true, value: { verdict: 'pass', calibrations: [] } });
  expect(record.ok && calibrationRecordSchema.safeParse(JSON.parse(JSON.stringify(record.value))).success).toBe(true);
});

test('given a servo that opens towards shorter pulses, then the record says so', () => {
  const reversed: ThrottleEvent[] = [
    ...walk.slice(0, 4),
    { kind: 'captured', pulse_us: 1900 },
    { kind: 'dead-zone-skipped' },
    { kind: 'captured', pulse_us: 1100 },
    { kind: 'verified', pulse_us: 1900, isRight: true },
    { kind: 'verified', pulse_us: 1500, isRight: true },
    { kind: 'verified', pulse_us: 1100, isRight: true },
  ];
  const record = throttleTravelRecord(afterEvents(reversed), ['throttle'], head);
  expect(record.ok && record.value.findings.join(' ')).toContain('shorter pulses');
  expect(record.ok && record.value.findings.join(' ')).toContain('not looked for');
});

describe('given an event that is out of order or out of bounds, then the state stays and it says what is first', () => {
  test.each([
    { name: 'linkage on before anything', steps: 0, event: { kind: 'linkage-is-on' }, says: 'Take the linkage off' },
    { name: 'a capture without supply', steps: 1, event: { kind: 'captured', pulse_us: 1500 }, says: 'no supply' },
    {
      name: 'linkage on before closed',
      steps: 2,
      event: { kind: 'linkage-is-on' },
      says: 'Drive the throttle to closed',
    },
    {
      name: 'closed with demand left',
      steps: 2,
      event: { kind: 'stands-closed', pulse_us: 1100, demand_percent: 3 },
      says: 'not 0',
    },
    {
      name: 'no demand known',
      steps: 2,
      event: { kind: 'stands-closed', pulse_us: 1100, demand_percent: NaN },
      says: 'not 0',
    },
    { name: 'a pulse below the hard limit', steps: 4, event: { kind: 'captured', pulse_us: 799 }, says: 'hard limits' },
    { name: 'no pulse', steps: 4, event: { kind: 'captured', pulse_us: NaN }, says: 'hard limits' },
    { name: 'ends too near', steps: 6, event: { kind: 'captured', pulse_us: 1319 }, says: 'further in' },
    {
      name: 'a pulse above the hard limit',
      steps: 6,
      event: { kind: 'captured', pulse_us: 2201 },
      says: 'hard limits',
    },
    {
      name: 'a pulse that is not the one asked for',
      steps: 8,
      event: { kind: 'verified', pulse_us: 1506, isRight: true },
      says: '1500 µs is right',
    },
    {
      name: 'NaN at mid travel',
      steps: 8,
      event: { kind: 'verified', pulse_us: NaN, isRight: true },
      says: 'is right',
    },
    {
      name: 'a throttle that stands elsewhere',
      steps: 9,
      event: { kind: 'verified', pulse_us: 1880, isRight: false },
      says: 'begin anew',
    },
    { name: 'anything when done', steps: 10, event: { kind: 'linkage-is-off' }, says: 'set already' },
  ] as const)('$name', ({ steps, event, says }) => {
    const next = throttleTravelNext(afterEvents(walk.slice(0, steps)), event);
    expect(!next.ok && next.error).toContain(says);
  });
  test('the ends exactly far enough apart are taken', () => {
    expect(afterEvents([...walk.slice(0, 6), { kind: 'captured', pulse_us: 1320 }]).step).toBe('verify-closed');
  });
});

test('given the servo supply is lost with the linkage on, then all begins with the linkage off again', () => {
  const state = afterEvents([...walk.slice(0, 6), { kind: 'servo', isOn: false }]);
  expect(state).toMatchObject({ step: 'take-linkage-off', closed_us: null, servoOn: false });
  expect(afterEvents([...walk, { kind: 'servo', isOn: false }]).step).toBe('done');
});

test('given an unfinished walk, then there is no record', () => {
  for (let steps = 0; steps < walk.length; steps++) {
    const state = afterEvents(walk.slice(0, steps));
    expect(throttleTravelRecord(state, ['throttle'], head)).toEqual({
      ok: false,
      error: `Not finished: ${throttleInstructions[state.step]}`,
    });
  }
});

test('given any order of events, then the linkage is never called for before the servo is powered and at closed', () => {
  const pulse_us = fc.integer({ min: 700, max: 2300 });
  const event: fc.Arbitrary<ThrottleEvent> = fc.oneof(
    fc.constantFrom<ThrottleEvent>(
      ...walk,
      { kind: 'servo', isOn: false },
      { kind: 'begin-anew' },
      { kind: 'dead-zone-skipped' },
    ),
    pulse_us.map((each) => ({ kind: 'captured' as const, pulse_us: each })),
  );
  fc.assert(
    fc.property(fc.array(event, { maxLength: 60 }), (events) => {
      let state = throttleTravelStart(usualThrottleRules);
      let wasClosed = false;
      for (const each of events) {
        const next = throttleTravelNext(state, each);
        if (!next.ok) continue;
        state = next.value;
        if (each.kind === 'stands-closed') wasClosed = true;
        if (state.step === 'take-linkage-off' || state.step === 'power-servo') wasClosed = false;
        const needsServo = !['take-linkage-off', 'power-servo', 'done'].includes(state.step);
        if (needsServo && !state.servoOn) return false;
        if (state.linkage === 'on' && state.step !== 'take-linkage-off' && state.step !== 'done' && !wasClosed)
          return false;
      }
      return true;
    }),
    { seed: 20261125, numRuns: 2000 },
  );
});
