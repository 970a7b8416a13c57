/**
 * The life of one alarm as a table: state and event to state.
 *
 *                           trip   return              acknowledge         reset
 *   normal                  AU     –                   –                   –
 *   AU active-unack.        –      RU                  AA                  –
 *   AA active-ack.          –      latched or normal   –                   –
 *   RU returned-unack.      AU     –                   latched or normal   –
 *   latched                 AU     –                   –                   normal
 *
 * "–" keeps the state; "latched or normal" is latched for a latching rule.
 * Acknowledging says "I have seen it", and is not reset; reset clears nothing
 * that stands, and nothing that nobody has seen.
 */
import type { AlarmState } from './rules.ts';

export type AlarmLife = AlarmState | 'normal';
export const alarmEvents = ['trip', 'return', 'acknowledge', 'reset'] as const;
export type AlarmEvent = (typeof alarmEvents)[number];

export function nextAlarmLife(life: AlarmLife, event: AlarmEvent, isLatching: boolean): AlarmLife {
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
  }
}

export function isActive(life: AlarmLife): boolean {
  return life === 'active-unacknowledged' || life === 'active-acknowledged';
}
