/**
 * Throttle travel, guided. The linkage is off until the servo has been powered
 * and driven to closed, because an unknown servo may jump to anywhere: with
 * the linkage on that could open the throttle or bend the rod. Then both ends
 * are captured, checked, and driven to again.
 *
 * A state machine over what the person confirms and what the bench shows; who
 * moves the servo is decided elsewhere. The map is in `throttle-map.ts`.
 */
import { err, ok, type Result } from '../base/result.ts';
import type { ChannelKey } from '../channels/channel.ts';
import { type CalibrationRecord, dueDate, figure, type RecordHead, verdictOf } from './record.ts';
import { isReversed, pulseOf_us, type ThrottleTravel } from './throttle-map.ts';

export const throttleSteps = [
  'take-linkage-off',
  'power-servo',
  'drive-closed',
  'put-linkage-on',
  'capture-closed',
  'find-dead-zone',
  'capture-open',
  'verify-closed',
  'verify-mid',
  'verify-open',
  'done',
] as const;
export type ThrottleStep = (typeof throttleSteps)[number];

export interface ThrottleRules {
  /** Pulses outside are refused: 800 to 2200 µs suits most servos (settings that autopilots accept). */
  readonly hardLow_us: number;
  readonly hardHigh_us: number;
  /** A shorter travel has too few steps to close finely. */
  readonly leastSpan_us: number;
  readonly mostDeadZone_us: number;
  /** Of the pulse at the three places that are driven to again. */
  readonly verify_us: number;
}

/** Limits and usual ends as autopilots and servo libraries have them (tests/published/data/servo-pulse.json); span and tolerances are ours. */
export const usualThrottleRules: ThrottleRules = {
  hardLow_us: 800,
  hardHigh_us: 2200,
  leastSpan_us: 200,
  mostDeadZone_us: 20,
  verify_us: 5,
};

export type ThrottleEvent =
  /** A person's word: the linkage is off, the arm free. */
  | { readonly kind: 'linkage-is-off' }
  /** The bench's input `servo`. */
  | { readonly kind: 'servo'; readonly isOn: boolean }
  /** The servo stands at closed, seen by a person; demand is 0 and the pulse is this. */
  | { readonly kind: 'stands-closed'; readonly pulse_us: number; readonly demand_percent: number }
  | { readonly kind: 'linkage-is-on' }
  /** Pulse now, at the place that the step asks for. */
  | { readonly kind: 'captured'; readonly pulse_us: number }
  | { readonly kind: 'dead-zone-skipped' }
  /** Driven there: the pulse that the bench shows, and whether the throttle stands where it should. */
  | { readonly kind: 'verified'; readonly pulse_us: number; readonly isRight: boolean }
  | { readonly kind: 'begin-anew' };

export interface ThrottleState {
  readonly step: ThrottleStep;
  readonly rules: ThrottleRules;
  readonly linkage: 'on' | 'off' | 'unknown';
  readonly servoOn: boolean;
  readonly closed_us: number | null;
  readonly open_us: number | null;
  readonly deadZone_us: number | null;
  readonly verified: readonly { readonly place: 0 | 50 | 100; readonly pulse_us: number; readonly isRight: boolean }[];
}

export function throttleTravelStart(rules: ThrottleRules): ThrottleState {
  return {
    step: 'take-linkage-off',
    rules,
    linkage: 'unknown',
    servoOn: false,
    closed_us: null,
    open_us: null,
    deadZone_us: null,
    verified: [],
  };
}

/** What to do at each step, as the screen says it. */
export const throttleInstructions: Readonly<Record<ThrottleStep, string>> = {
  'take-linkage-off': 'Take the linkage off the servo arm. Ignition off, propeller clear.',
  'power-servo': 'Switch the servo supply on. The arm may jump: keep fingers away.',
  'drive-closed': 'Drive the throttle to closed (0 %) and wait until the arm stands.',
  'put-linkage-on': 'Put the linkage on, throttle at its closed stop, without preload.',
  'capture-closed': 'Move to the closed stop until the arm just touches and does not hum. Capture.',
  'find-dead-zone': 'Open in small steps until the throttle just moves. Capture, or skip.',
  'capture-open': 'Move to the open stop until the arm just touches and does not hum. Capture.',
  'verify-closed': 'Drive to 0 % and look: closed, no hum.',
  'verify-mid': 'Drive to 50 % and look: about half open.',
  'verify-open': 'Drive to 100 % and look: fully open, no hum.',
  done: 'Travel is set. Save it as a record.',
};

/** The state after an event; an error is one sentence, and the state stays. */
export function throttleTravelNext(state: ThrottleState, event: ThrottleEvent): Result<ThrottleState, string> {
  if (event.kind === 'begin-anew') return ok({ ...throttleTravelStart(state.rules), servoOn: state.servoOn });
  if (event.kind === 'servo') return ok(servoSwitched(state, event.isOn));
  switch (state.step) {
    case 'take-linkage-off':
      if (event.kind !== 'linkage-is-off') return wrongTime(state);
      return ok({ ...state, linkage: 'off', step: state.servoOn ? 'drive-closed' : 'power-servo' });
    case 'power-servo':
      return err('The servo has no supply yet.');
    case 'drive-closed':
      if (event.kind !== 'stands-closed') return wrongTime(state);
      if (event.demand_percent !== 0)
        return err(`The demand is ${event.demand_percent} %, not 0: drive it to closed first.`);
      return withinLimits(state, event.pulse_us, () => ({ ...state, step: 'put-linkage-on' }));
    case 'put-linkage-on':
      if (event.kind !== 'linkage-is-on') return wrongTime(state);
      return ok({ ...state, linkage: 'on', step: 'capture-closed' });
    case 'capture-closed':
      if (event.kind !== 'captured') return wrongTime(state);
      return withinLimits(state, event.pulse_us, (pulse_us) => ({
        ...state,
        closed_us: pulse_us,
        step: 'find-dead-zone',
      }));
    case 'find-dead-zone':
      if (event.kind === 'dead-zone-skipped') return ok({ ...state, deadZone_us: null, step: 'capture-open' });
      if (event.kind !== 'captured') return wrongTime(state);
      return withinLimits(state, event.pulse_us, (pulse_us) => ({
        ...state,
        deadZone_us: Math.abs(pulse_us - state.closed_us!),
        step: 'capture-open',
      }));
    case 'capture-open':
      if (event.kind !== 'captured') return wrongTime(state);
      if (Math.abs(event.pulse_us - state.closed_us!) < state.rules.leastSpan_us) {
        return err(
          `The ends are only ${Math.abs(event.pulse_us - state.closed_us!)} µs apart, at least ${state.rules.leastSpan_us} are needed: move the rod to a hole further in on the servo arm.`,
        );
      }
      return withinLimits(state, event.pulse_us, (pulse_us) => ({
        ...state,
        open_us: pulse_us,
        step: 'verify-closed',
      }));
    case 'verify-closed':
      return verified(state, event, 0, 'verify-mid');
    case 'verify-mid':
      return verified(state, event, 50, 'verify-open');
    case 'verify-open':
      return verified(state, event, 100, 'done');
    case 'done':
      return err('The travel is set already; begin anew to set it again.');
  }
}

/** Once both ends are captured. */
export function travelOf(state: ThrottleState): ThrottleTravel | null {
  const { closed_us, open_us, deadZone_us, rules } = state;
  if (closed_us === null || open_us === null) return null;
  return { closed_us, open_us, deadZone_us, hardLow_us: rules.hardLow_us, hardHigh_us: rules.hardHigh_us };
}

export function throttleTravelRecord(
  state: ThrottleState,
  channels: readonly ChannelKey[],
  head: RecordHead,
): Result<CalibrationRecord, string> {
  const travel = travelOf(state);
  if (state.step !== 'done' || travel === null) return err(`Not finished: ${throttleInstructions[state.step]}`);
  const off = state.verified.map((each) => Math.abs(each.pulse_us - pulseOf_us(travel, each.place)));
  const figures = [
    figure('Pulse at the places driven to again', Math.max(...off), 'µs', state.rules.verify_us),
    figure(
      'Dead zone',
      travel.deadZone_us ?? NaN,
      'µs',
      travel.deadZone_us === null ? null : state.rules.mostDeadZone_us,
    ),
    figure('Span', Math.abs(travel.open_us - travel.closed_us), 'µs', null),
  ];
  return ok({
    id: head.id,
    kind: 'throttle-travel',
    channels,
    date: head.date,
    who: head.who,
    method: 'Linkage off until powered and closed; both ends captured, both ends and mid travel driven to again.',
    reference: head.reference,
    data: {
      columns: [
        { name: 'Demand', unit: '%' },
        { name: 'Pulse by the map', unit: 'µs' },
        { name: 'Pulse shown', unit: 'µs' },
      ],
      rows: state.verified.map((each) => [each.place, pulseOf_us(travel, each.place), each.pulse_us]),
    },
    figures,
    verdict: verdictOf(figures),
    findings: [
      isReversed(travel) ? 'This servo opens towards shorter pulses.' : 'This servo opens towards longer pulses.',
      ...(travel.deadZone_us === null ? ['The dead zone was not looked for.'] : []),
    ],
    uncertainty: null,
    dueDate: dueDate(head.date, head.dueAfter_months),
    calibrations: [],
    throttle: travel,
  });
}

/** Supply lost with the linkage on: where the servo will wake is unknown, so the linkage comes off again. */
function servoSwitched(state: ThrottleState, isOn: boolean): ThrottleState {
  if (isOn) {
    return { ...state, servoOn: true, step: state.step === 'power-servo' ? 'drive-closed' : state.step };
  }
  if (!state.servoOn || state.step === 'done') return { ...state, servoOn: false };
  return { ...throttleTravelStart(state.rules), linkage: state.linkage };
}

function verified(
  state: ThrottleState,
  event: ThrottleEvent,
  place: 0 | 50 | 100,
  step: ThrottleStep,
): Result<ThrottleState, string> {
  if (event.kind !== 'verified') return wrongTime(state);
  if (!event.isRight) {
    return err(`At ${place} % the throttle does not stand where it should: begin anew, with the linkage set again.`);
  }
  const expected_us = pulseOf_us(travelOf(state)!, place);
  if (!(Math.abs(event.pulse_us - expected_us) <= state.rules.verify_us)) {
    return err(
      `At ${place} % the bench shows ${event.pulse_us} µs, and ${expected_us.toFixed(0)} µs is right: set the ends at the bench, then drive there again.`,
    );
  }
  return ok({ ...state, verified: [...state.verified, { place, pulse_us: event.pulse_us, isRight: true }], step });
}

function withinLimits(
  state: ThrottleState,
  pulse_us: number,
  next: (pulse_us: number) => ThrottleState,
): Result<ThrottleState, string> {
  const { hardLow_us, hardHigh_us } = state.rules;
  if (!(pulse_us >= hardLow_us && pulse_us <= hardHigh_us)) {
    return err(`A pulse of ${pulse_us} µs is outside the hard limits, ${hardLow_us} to ${hardHigh_us} µs.`);
  }
  return ok(next(pulse_us));
}

function wrongTime(state: ThrottleState): Result<ThrottleState, string> {
  return err(`First: ${throttleInstructions[state.step]}`);
}
