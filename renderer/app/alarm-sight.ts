/** How alarms are seen: gravest per subject, order of the list, what blinks. Pure. */
import { type Alarm, type AlarmLevel, alarmLevels } from '../../shared-core/limits/rules.ts';

export interface AlarmSight {
  readonly level: AlarmLevel;
  readonly isBlinking: boolean;
}

export function isUnacknowledged(alarm: Alarm): boolean {
  return alarm.state === 'active-unacknowledged' || alarm.state === 'returned-unacknowledged';
}

export function isActive(alarm: Alarm): boolean {
  return alarm.state === 'active-unacknowledged' || alarm.state === 'active-acknowledged';
}

export function gravity(level: AlarmLevel): number {
  return alarmLevels.indexOf(level);
}

/** Gravest standing alarm of each channel or input. One that has returned marks the list, not the value. */
export function sightBySubject(alarms: readonly Alarm[]): ReadonlyMap<string, AlarmSight> {
  const bySubject = new Map<string, AlarmSight>();
  for (const alarm of alarms) {
    if (alarm.subject === null || !isActive(alarm)) continue;
    const found = bySubject.get(alarm.subject);
    if (found && gravity(found.level) > gravity(alarm.level)) continue;
    const isBlinking = isUnacknowledged(alarm) || (found?.level === alarm.level && found.isBlinking);
    bySubject.set(alarm.subject, { level: alarm.level, isBlinking });
  }
  return bySubject;
}

/**
 * Order of the alarm list: standing before gone, graver first, then first-out,
 * then newer. First-out says where it began, not what to do first: its word
 * beside the title is enough.
 */
export function inListOrder(alarms: readonly Alarm[]): readonly Alarm[] {
  return [...alarms].sort(
    (a, b) =>
      Number(isActive(b)) - Number(isActive(a)) ||
      gravity(b.level) - gravity(a.level) ||
      Number(b.isFirstOut) - Number(a.isFirstOut) ||
      b.trippedAt_us - a.trippedAt_us ||
      (a.id < b.id ? -1 : 1),
  );
}
