/**
 * Every time an alarm was raised in a session, from its event log alone: when,
 * how long it stood, when it was acknowledged and cleared. How often in sum is
 * in `alarm-statistics.ts`.
 */
import type { JournalInput, JournalOutput } from '../journal.ts';
import { isActive } from './alarm-life.ts';
import { isRaised } from './alarm-statistics.ts';
import type { AlarmLevel } from './rules.ts';

export interface AlarmSpell {
  readonly id: string;
  readonly title: string;
  readonly level: AlarmLevel;
  readonly raisedAt_us: number;
  /** Its condition had gone, or it was set aside; null while it stands. */
  readonly endedAt_us: number | null;
  /** How it ended; null while it stands. */
  readonly end: 'returned' | 'shelved' | 'removed' | null;
  readonly acknowledgedAt_us: number | null;
  readonly clearedAt_us: number | null;
  /** Null for a sensor that gave no number, or where there is no limit. */
  readonly value: number | null;
  readonly limit: number | null;
  readonly isFirstOut: boolean;
}

/** @param events of the session in their order @returns in the order in which they were raised */
export function alarmHistory(
  events: readonly { readonly t_us: number; readonly body: JournalInput | JournalOutput }[],
): readonly AlarmSpell[] {
  const spells: { -readonly [K in keyof AlarmSpell]: AlarmSpell[K] }[] = [];
  const newest = new Map<string, (typeof spells)[number]>();
  for (const { t_us, body } of events) {
    if (body.kind !== 'alarm') continue;
    const { id, title, level, value, limit, isFirstOut, change } = body;
    if (isRaised(body)) {
      const spell = {
        ...{ id, title, level, raisedAt_us: t_us, endedAt_us: null, end: null },
        ...{ acknowledgedAt_us: null, clearedAt_us: null, value, limit, isFirstOut },
      };
      spells.push(spell);
      newest.set(id, spell);
      continue;
    }
    const spell = newest.get(id);
    if (spell === undefined) continue;
    if (change === 'acknowledged') spell.acknowledgedAt_us ??= t_us;
    if (spell.endedAt_us === null && !isActive(body.state)) {
      spell.endedAt_us = t_us;
      spell.end = change === 'shelved' || change === 'removed' ? change : 'returned';
    }
    if (change === 'cleared') spell.clearedAt_us = t_us;
  }
  return spells;
}
