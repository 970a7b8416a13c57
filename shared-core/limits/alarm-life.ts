/**
 * The life of one alarm as a table: state and event to state.
 *
 *                        trip  return             acknowledge        reset   shelve   unshelve, expire  remove  restore
 *   normal               AU    –                  –                  –       shelved  –                 out     –
 *   AU active-unack.     –     RU                 AA                 –       shelved  –                 out     –
 *   AA active-ack.       –     latched or normal  –                  –       shelved  –                 out     –
 *   RU returned-unack.   AU    –                  latched or normal  –       –        –                 –       –
 *   latched              AU    –                  –                  normal  –        –                 –       –
 *   shelved              –     –                  –                  –       –        AU or normal      out     –
 *   out of service       –     –                  –                  –       –        –                 –       AU or normal
 *
 * "–" keeps the state; "latched or normal" is latched for a latching rule;
 * "AU or normal" goes by the present condition. Acknowledging says "I have
 * seen it", and is not reset; reset clears nothing that stands, and nothing
 * that nobody has seen. What is gone is acknowledged and reset, not shelved.
 * Who may shelve what, and for how long, is in `set-aside.ts`.
 *
 * The states follow public descriptions of ISA-18.2 and OPC UA Part 9. "E" and
 * "D" there (gone and not acknowledged, latching or not) are one state here.
 */
import type { AlarmState } from './rules.ts';

export type AlarmLife = AlarmState | 'normal' | 'shelved' | 'out-of-service';
export const alarmLives: readonly AlarmLife[] = [
  'normal',
  'active-unacknowledged',
  'active-acknowledged',
  'returned-unacknowledged',
  'latched',
  'shelved',
  'out-of-service',
];
export const alarmEvents = [
  'trip',
  'return',
  'acknowledge',
  'reset',
  'shelve',
  'unshelve',
  'expire',
  'remove',
  'restore',
] as const;
export type AlarmEvent = (typeof alarmEvents)[number];

/** @param isTripped the condition holds now; asked only when an alarm comes back from being set aside */
export function nextAlarmLife(
  life: AlarmLife,
  event: AlarmEvent,
  isLatching: boolean,
  isTripped: boolean = false,
): AlarmLife {
  if (life === 'shelved') {
    if (event === 'unshelve' || event === 'expire') return byCondition(isTripped);
    return event === 'remove' ? 'out-of-service' : life;
  }
  if (life === 'out-of-service') return event === 'restore' ? byCondition(isTripped) : life;
  const canBeSetAside = life === 'normal' || isActive(life);
  switch (event) {
    case 'trip':
      return life === 'active-acknowledged' ? life : 'active-unacknowledged';
    case 'return':
      if (life === 'active-unacknowledged') return 'returned-unacknowledged';
      if (life === 'active-acknowledged') return isLatching ? 'latched' : 'normal';
      return life;
    case 'acknowledge':
      if (life === 'active-unacknowledged') return 'active-acknowledged';
      if (life === 'returned-unacknowledged') return isLatching ? 'latched' : 'normal';
      return life;
    case 'reset':
      return life === 'latched' ? 'normal' : life;
    case 'shelve':
      return canBeSetAside ? 'shelved' : life;
    case 'remove':
      return canBeSetAside ? 'out-of-service' : life;
    case 'unshelve':
    case 'expire':
    case 'restore':
      return life;
  }
}

export function isActive(life: AlarmLife): boolean {
  return life === 'active-unacknowledged' || life === 'active-acknowledged';
}

function byCondition(isTripped: boolean): AlarmLife {
  return isTripped ? 'active-unacknowledged' : 'normal';
}
