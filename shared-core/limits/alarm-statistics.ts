/**
 * What a session's alarms were like, from its event log alone: rate, standing,
 * chattering, top ten. For Review, the report, and whoever tunes the limits.
 *
 * The measures and their targets are those of public descriptions of ANSI/
 * ISA-18.2 clause 16 and EEMUA 191. Chattering (more than 5 changes between
 * active and not within 5 min) and fleeting (shorter than 10 s, not again
 * within 60 s) are the thresholds of such a description, not the standard's.
 */
import type { JournalInput, JournalOutput } from '../journal.ts';
import { isActive } from './alarm-life.ts';
import { FLOOD_BEGINS_ABOVE, FLOOD_ENDS_BELOW, FLOOD_WINDOW_us } from './flood.ts';
import { type AlarmLevel, alarmLevels } from './rules.ts';

export const CHATTER_CHANGES = 5;
export const CHATTER_WINDOW_us = 300_000_000;
export const FLEETING_us = 10_000_000;
const FLEETING_AGAIN_us = 60_000_000;
const TEN_MINUTES_us = 600_000_000;
const HOUR_us = 3_600_000_000;

export interface AlarmTally {
  readonly id: string;
  readonly title: string;
  readonly level: AlarmLevel;
  readonly raised: number;
  /** Of all alarms raised, percent. */
  readonly share_percent: number;
  /** Time in which its condition stood. */
  readonly active_us: number;
  readonly longest_us: number;
  readonly isChattering: boolean;
  readonly fleeting: number;
}

export interface AlarmStatistics {
  readonly raised: number;
  readonly duration_us: number;
  /** Averages; NaN for a session without duration. */
  readonly perHour: number;
  readonly perTenMinutes: number;
  /** Most in any 10 minutes, sliding. */
  readonly mostInTenMinutes: number;
  readonly floods: number;
  readonly inFlood_us: number;
  readonly byLevel: Readonly<Record<AlarmLevel, number>>;
  /** Active when the session ended. */
  readonly standing: readonly string[];
  readonly mostStanding: number;
  readonly chattering: readonly string[];
  readonly fleeting: number;
  /** The ten raised most often, most first. */
  readonly topTen: readonly AlarmTally[];
  /** All alarms that were raised, most first. */
  readonly all: readonly AlarmTally[];
  readonly shelved: number;
  readonly outOfService: number;
  /** From raised to acknowledged, median, s; null where none was. */
  readonly medianToAcknowledged_s: number | null;
}

interface Life {
  readonly id: string;
  title: string;
  level: AlarmLevel;
  raised: number;
  active_us: number;
  longest_us: number;
  since_us: number | null;
  /** Times at which it became active or not. */
  changes_us: number[];
  /** Begin and end of each time it stood. */
  spans: { from_us: number; to_us: number }[];
  raisedAt_us: number;
}

/** @param events outputs of the session in their order, inputs may be among them */
export function alarmStatistics(
  events: readonly { readonly t_us: number; readonly body: JournalInput | JournalOutput }[],
  duration_us: number,
): AlarmStatistics {
  const lives = new Map<string, Life>();
  const raised_us: number[] = [];
  const acknowledged_s: number[] = [];
  let standing = 0;
  let mostStanding = 0;
  let shelved = 0;
  let outOfService = 0;
  for (const { t_us, body } of events) {
    if (body.kind !== 'alarm') continue;
    const output = body;
    const life = lifeOf(lives, output);
    const isNow = isActive(output.state);
    // Shelved, it is out of sight: its time ends there.
    if (isNow && life.since_us === null) {
      life.since_us = t_us;
      life.changes_us.push(t_us);
      mostStanding = Math.max(mostStanding, ++standing);
    } else if (!isNow && life.since_us !== null) {
      endOf(life, t_us);
      life.changes_us.push(t_us);
      standing--;
    }
    if (isRaised(output)) {
      life.raised++;
      life.title = output.title;
      life.level = output.level;
      life.raisedAt_us = t_us;
      raised_us.push(t_us);
    } else if (output.change === 'acknowledged') {
      acknowledged_s.push((t_us - life.raisedAt_us) / 1e6);
    }
    if (output.change === 'shelved') shelved++;
    if (output.change === 'removed') outOfService++;
  }
  const stood = [...lives.values()].filter((life) => life.since_us !== null).map((life) => life.id);
  for (const life of lives.values()) if (life.since_us !== null) endOf(life, duration_us);
  const all = [...lives.values()]
    .filter((life) => life.raised > 0)
    .map((life) => tallyOf(life, raised_us.length))
    .sort((a, b) => b.raised - a.raised || b.active_us - a.active_us);
  const floods = floodsOf(raised_us, duration_us);
  return {
    raised: raised_us.length,
    duration_us,
    perHour: duration_us > 0 ? (raised_us.length * HOUR_us) / duration_us : NaN,
    perTenMinutes: duration_us > 0 ? (raised_us.length * TEN_MINUTES_us) / duration_us : NaN,
    mostInTenMinutes: floods.most,
    floods: floods.count,
    inFlood_us: floods.in_us,
    byLevel: Object.fromEntries(
      alarmLevels.map((level) => [
        level,
        all.filter((each) => each.level === level).reduce((sum, each) => sum + each.raised, 0),
      ]),
    ) as Record<AlarmLevel, number>,
    standing: stood,
    mostStanding,
    chattering: all.filter((each) => each.isChattering).map((each) => each.id),
    fleeting: all.reduce((sum, each) => sum + each.fleeting, 0),
    topTen: all.slice(0, 10),
    all,
    shelved,
    outOfService,
    medianToAcknowledged_s: median(acknowledged_s),
  };
}

/** Raised to the operator: tripped, or back from the shelf with its condition still there. */
export function isRaised(output: Extract<JournalOutput, { kind: 'alarm' }>): boolean {
  return (
    output.change === 'tripped' ||
    ((output.change === 'unshelved' || output.change === 'restored') && isActive(output.state))
  );
}

function lifeOf(lives: Map<string, Life>, output: Extract<JournalOutput, { kind: 'alarm' }>): Life {
  let life = lives.get(output.id);
  if (life === undefined) {
    life = {
      ...{ id: output.id, title: output.title, level: output.level, raised: 0, active_us: 0, longest_us: 0 },
      ...{ since_us: null, changes_us: [], spans: [], raisedAt_us: 0 },
    };
    lives.set(output.id, life);
  }
  return life;
}

function endOf(life: Life, t_us: number): void {
  const from_us = life.since_us!;
  life.active_us += t_us - from_us;
  life.longest_us = Math.max(life.longest_us, t_us - from_us);
  life.spans.push({ from_us, to_us: t_us });
  life.since_us = null;
}

function tallyOf(life: Life, raisedInAll: number): AlarmTally {
  const { id, title, level, raised, active_us, longest_us, changes_us, spans } = life;
  const isChattering = changes_us.some((t_us, i) => {
    const later = changes_us[i + CHATTER_CHANGES];
    return later !== undefined && later - t_us <= CHATTER_WINDOW_us;
  });
  const fleeting = spans.filter(({ from_us, to_us }, i) => {
    const before = spans[i - 1];
    const after = spans[i + 1];
    const isAgain =
      (after !== undefined && after.from_us - to_us <= FLEETING_AGAIN_us) ||
      (before !== undefined && from_us - before.to_us <= FLEETING_AGAIN_us);
    return to_us - from_us < FLEETING_us && !isAgain;
  }).length;
  const share_percent = (100 * raised) / raisedInAll;
  return { id, title, level, raised, share_percent, active_us, longest_us, isChattering, fleeting };
}

/** Floods as they are marked live: begun by an alarm, ended when enough have become older than the window. */
function floodsOf(raised_us: readonly number[], duration_us: number): { count: number; in_us: number; most: number } {
  let count = 0;
  let in_us = 0;
  let most = 0;
  let since_us: number | null = null;
  const window: number[] = [];
  for (const t_us of [...raised_us, Number.POSITIVE_INFINITY]) {
    while (window.length > 0 && t_us - window[0]! >= FLOOD_WINDOW_us) {
      const left_us = window.shift()! + FLOOD_WINDOW_us;
      if (since_us === null || window.length >= FLOOD_ENDS_BELOW) continue;
      in_us += Math.min(left_us, duration_us) - since_us;
      since_us = null;
    }
    if (t_us === Number.POSITIVE_INFINITY) break;
    window.push(t_us);
    most = Math.max(most, window.length);
    if (since_us !== null || window.length <= FLOOD_BEGINS_ABOVE) continue;
    since_us = t_us;
    count++;
  }
  return { count, in_us, most };
}

function median(values: readonly number[]): number | null {
  if (values.length === 0) return null;
  const sorted = [...values].sort((a, b) => a - b);
  const middle = sorted.length >> 1;
  return sorted.length % 2 === 1 ? sorted[middle]! : (sorted[middle - 1]! + sorted[middle]!) / 2;
}
