/**
 * Who may set an alarm aside: refusals in plain words. The states are in
 * `alarm-life.ts`, the alarms in `alarm-book.ts`.
 *
 * Shelving is for a known nuisance: with a reason, for at most half an hour,
 * ending by itself, counted on screen. Out of service is for a broken part,
 * until it is put back. An abort alarm is never shelved, and is taken out of
 * service only with the engine at rest.
 */
import type { AlarmLife } from './alarm-life.ts';
import type { AlarmLevel, RunState } from './rules.ts';

export const LONGEST_SHELF_min = 30;

export interface AlarmStanding {
  readonly title: string;
  readonly level: AlarmLevel;
  readonly life: AlarmLife;
}

/** Why this is refused, as one sentence with what to do; null when it is allowed. */
export function shelveRefusal(alarm: AlarmStanding | null, reason: string, for_min: number): string | null {
  if (alarm === null) return 'There is no such alarm on this bench.';
  if (alarm.level === 'abort') return `"${alarm.title}" is an abort alarm: those are never shelved. Act on it.`;
  if (reason.trim() === '') return 'Shelving needs a reason. Say why this alarm misleads.';
  if (!(for_min > 0 && for_min <= LONGEST_SHELF_min)) {
    return `An alarm is shelved for at most ${LONGEST_SHELF_min} minutes. Choose a shorter time.`;
  }
  return goneRefusal(alarm) ?? (alarm.life === 'shelved' ? `"${alarm.title}" is shelved already.` : null);
}

/** As `shelveRefusal`. */
export function removeRefusal(alarm: AlarmStanding | null, reason: string, state: RunState): string | null {
  if (alarm === null) return 'There is no such alarm on this bench.';
  if (alarm.level === 'abort' && (state === 'running' || state === 'cranking')) {
    return `"${alarm.title}" is an abort alarm: it stays in service while the engine turns. Stop the engine first.`;
  }
  if (reason.trim() === '') return 'Taking an alarm out of service needs a reason. Say what is broken.';
  return goneRefusal(alarm);
}

function goneRefusal(alarm: AlarmStanding): string | null {
  if (alarm.life === 'returned-unacknowledged') return `"${alarm.title}" has gone by itself. Acknowledge it instead.`;
  if (alarm.life === 'latched') return `"${alarm.title}" has gone and is latched. Reset it instead.`;
  return alarm.life === 'out-of-service' ? `"${alarm.title}" is out of service already.` : null;
}
