/** Flags on the time axis: alarms, marks, advisories, points. Pure. */
import type { Advisory } from '../../shared-core/advisory/plans.ts';
import type { Snapshot } from '../../shared-core/bridge/contract.ts';
import type { JournalEvent } from '../../shared-core/journal.ts';
import type { AlarmLevel } from '../../shared-core/limits/rules.ts';
import { markedAt_us } from '../../shared-core/program/mark-time.ts';

export interface TrendFlag {
  readonly id: string;
  readonly t_us: number;
  readonly kind: 'alarm' | 'mark' | 'point';
  /** Of an alarm; null for the others. */
  readonly level: AlarmLevel | null;
  readonly text: string;
}

/** Flags that a snapshot knows of: standing alarms, marks, points, advisories. */
export function flagsOfSnapshot(snapshot: Snapshot | null): readonly TrendFlag[] {
  if (!snapshot) return [];
  return [
    ...snapshot.alarms.map((a) => ({
      id: `a:${a.id}:${a.trippedAt_us}`,
      t_us: a.trippedAt_us,
      kind: 'alarm' as const,
      level: a.level,
      text: a.title,
    })),
    // A cool-down is no alarm.
    ...snapshot.advisories.filter((a) => a.kind === 'abort').map((a) => advisoryFlag(a)),
    ...snapshot.marks.map((m, i) => ({
      id: `m:${i}:${m.t_us}`,
      t_us: m.t_us,
      kind: 'mark' as const,
      level: null,
      text: m.text,
    })),
    ...snapshot.points.map((p) => ({
      id: `p:${p.to_us}`,
      t_us: p.to_us,
      kind: 'point' as const,
      level: null,
      text: `Point ${p.name}`,
    })),
  ];
}

function advisoryFlag(advisory: Advisory): TrendFlag {
  return {
    id: `v:${advisory.id}`,
    t_us: advisory.openedAt_us,
    kind: 'alarm',
    level: 'abort',
    text: `Advisory: ${advisory.title}`,
  };
}

/** Flags of a whole recorded session, from its events. */
export function flagsOfEvents(events: readonly JournalEvent[]): readonly TrendFlag[] {
  const flags: TrendFlag[] = [];
  for (const { ord, t_us, side, body } of events) {
    if (side === 'out' && body.kind === 'alarm' && body.change === 'tripped') {
      flags.push({ id: `e:${ord}`, t_us, kind: 'alarm', level: body.level, text: body.title });
    } else if (side === 'out' && body.kind === 'point') {
      flags.push({ id: `e:${ord}`, t_us, kind: 'point', level: null, text: `Point ${body.point.name}` });
    } else if (side === 'in' && body.kind === 'operator' && body.action.kind === 'mark') {
      const at_us = markedAt_us(body.action, t_us);
      flags.push({ id: `e:${ord}`, t_us: at_us, kind: 'mark', level: null, text: body.action.text });
    }
  }
  return flags;
}

/** Beyond this, flags could not be told apart on any axis: the oldest go. */
const MOST_FLAGS = 1000;

/**
 * Both lists as one, in time order. The same moment comes from a snapshot and
 * from the events under two ids: one is kept. Without news the first list
 * itself is returned, so that nothing is redrawn.
 */
export function mergeFlags(before: readonly TrendFlag[], more: readonly TrendFlag[]): readonly TrendFlag[] {
  const sameness = (f: TrendFlag): string => `${f.kind} ${f.t_us} ${f.text}`;
  const known = new Set(before.map(sameness));
  const news = more.filter((f) => !known.has(sameness(f)));
  if (news.length === 0) return before;
  return [...before, ...news].sort((a, b) => a.t_us - b.t_us).slice(-MOST_FLAGS);
}
