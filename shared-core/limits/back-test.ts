/**
 * Back-test: rules, changed or new, folded over a recorded journal, and set
 * against what happened: when they would have tripped, how often, how long
 * before the aborts of that day, and against the rule as it was.
 *
 * It is the same pipeline as live, with the rules under test in place of those
 * with the same ids, and with the session's sensor and link rules, since those
 * say who speaks for a failed sensor. Everything else that does not feed a
 * rule is left out of the fold.
 */
import type { JournalInput, JournalOutput, JournalSink } from '../journal.ts';
import { Pipeline } from '../pipeline.ts';
import type { RigSheet } from '../rig/rig-sheet.ts';
import type { AlarmLevel, LimitRule } from './rules.ts';

/** A trip so long before an abort counts as its warning; own choice. */
export const OUTCOME_HORIZON_s = 600;
/** Trips listed; the count goes on. */
const MOST_TRIPS = 500;

export interface BackTestTrip {
  readonly alarmId: string;
  readonly t_us: number;
  readonly run: number;
  /** Null for a sensor that gave no number. */
  readonly value: number | null;
  /** Until the next abort alarm of the session, s; null when none came within the horizon. */
  readonly lead_s: number | null;
}

export interface RuleBackTest {
  readonly ruleId: string;
  readonly title: string;
  readonly level: AlarmLevel;
  /** Nothing on that bench could feed it. */
  readonly isJudged: boolean;
  readonly count: number;
  readonly first_us: number | null;
  /** The first 500. */
  readonly trips: readonly BackTestTrip[];
  /** The rule of this id as it was in force then; null where the session had none. */
  readonly recorded: RecordedTrips | null;
  /** First recorded trip less first trip now, s: positive is earlier now; null without both. */
  readonly earlier_s: number | null;
  /** Aborts of the session that had a trip of this rule within the horizon before them. */
  readonly caught: number;
  readonly missed: number;
  /** Trips that no abort followed within the horizon. */
  readonly unfollowed: number;
  /** From the earliest trip within the horizon to its abort, median, s; null where none was caught. */
  readonly medianLead_s: number | null;
}

/** What the alarms of the session itself say. */
export interface RecordedTrips {
  readonly count: number;
  readonly first_us: number | null;
  /** The first 500. */
  readonly trips_us: readonly number[];
}

export interface SessionBackTest {
  readonly session: string;
  readonly duration_us: number;
  readonly runs: number;
  /** Abort alarms that were recorded. */
  readonly aborts: readonly { readonly id: string; readonly title: string; readonly t_us: number }[];
  readonly rules: readonly RuleBackTest[];
}

interface Found {
  alarmId: string;
  ruleId: string;
  t_us: number;
  run: number;
  value: number | null;
}

export class BackTest implements JournalSink {
  readonly #session: string;
  readonly #tested: readonly LimitRule[];
  readonly #rig: RigSheet;
  readonly #pipeline: Pipeline;
  readonly #found: Found[] = [];
  readonly #counts = new Map<string, number>();
  readonly #judged = new Set<string>();
  #end_us = 0;

  /** @param rig as the session was recorded with */
  constructor(session: string, rig: RigSheet, tested: readonly LimitRule[]) {
    this.#session = session;
    this.#rig = rig;
    this.#tested = tested;
    const ids: ReadonlySet<string> = new Set(tested.map((rule) => rule.id));
    const speaking = rig.rules.filter((rule) => (rule.kind === 'sensor' || rule.kind === 'link') && !ids.has(rule.id));
    const sheet: RigSheet = { ...rig, rules: [...tested, ...speaking], plans: [] };
    this.#pipeline = new Pipeline(
      sheet,
      {
        onValues: () => {},
        onOutput: (t_us, output) => {
          if (output.kind === 'alarm' && output.change === 'tripped' && ids.has(output.rule)) this.#trip(t_us, output);
        },
      },
      { feeds: channelsOf(tested) },
    );
  }

  /** Session time folded so far. */
  get now_us(): number {
    return this.#end_us;
  }

  frame(ord: number, t_us: number, group: number, raw: Int32Array, columns: number): void {
    this.#end_us = t_us;
    this.#pipeline.frame(ord, t_us, group, raw, columns);
  }
  tick(ord: number, t_us: number): void {
    this.#end_us = t_us;
    this.#pipeline.tick(ord, t_us);
  }
  event(ord: number, t_us: number, body: JournalInput): void {
    this.#end_us = t_us;
    this.#pipeline.event(ord, t_us, body);
    if (body.kind === 'table') this.#noteJudged();
  }

  /** @param all outputs of the session as they were, in their order; those after what was folded count for nothing */
  result(all: readonly { readonly t_us: number; readonly body: JournalOutput }[]): SessionBackTest {
    const recorded = all.filter(({ t_us }) => t_us <= this.#end_us);
    const tripped = recorded.flatMap(({ t_us, body }) =>
      body.kind === 'alarm' && body.change === 'tripped' ? [{ ...body, t_us }] : [],
    );
    const aborts = tripped.filter((each) => each.level === 'abort').map(({ id, title, t_us }) => ({ id, title, t_us }));
    const runs = recorded.filter(({ body }) => body.kind === 'run-state' && body.state === 'running').length;
    const rules = this.#tested.map((rule): RuleBackTest => {
      const trips = this.#found.filter((each) => each.ruleId === rule.id);
      const first_us = trips[0]?.t_us ?? null;
      const was = tripped.filter((each) => each.rule === rule.id);
      const wasFirst_us = was[0]?.t_us ?? null;
      const isOld = this.#rig.rules.some((each) => each.id === rule.id);
      // Its own abort is no outcome that it could have warned of.
      const outcomes = aborts.filter((each) => !was.some((own) => own.id === each.id && own.t_us === each.t_us));
      const leads_s = outcomes.flatMap(({ t_us }) => {
        const warning = trips.find((trip) => trip.t_us <= t_us && t_us - trip.t_us <= OUTCOME_HORIZON_s * 1e6);
        return warning === undefined ? [] : [(t_us - warning.t_us) / 1e6];
      });
      const listed = trips.map((trip): BackTestTrip => {
        const next = outcomes.find(({ t_us }) => t_us >= trip.t_us && t_us - trip.t_us <= OUTCOME_HORIZON_s * 1e6);
        const { alarmId, t_us, run, value } = trip;
        return { alarmId, t_us, run, value, lead_s: next === undefined ? null : (next.t_us - t_us) / 1e6 };
      });
      return {
        ...{ ruleId: rule.id, title: rule.title, level: rule.level, isJudged: this.#judged.has(rule.id) },
        ...{ count: this.#counts.get(rule.id) ?? 0, first_us, trips: listed },
        recorded: isOld ? recordedTrips(was.map((each) => each.t_us)) : null,
        earlier_s: first_us === null || wasFirst_us === null ? null : (wasFirst_us - first_us) / 1e6,
        caught: leads_s.length,
        missed: outcomes.length - leads_s.length,
        unfollowed: listed.filter((trip) => trip.lead_s === null).length,
        medianLead_s: median(leads_s),
      };
    });
    return { session: this.#session, duration_us: this.#end_us, runs, aborts, rules };
  }

  #trip(t_us: number, output: Extract<JournalOutput, { kind: 'alarm' }>): void {
    const count = (this.#counts.get(output.rule) ?? 0) + 1;
    this.#counts.set(output.rule, count);
    if (count > MOST_TRIPS) return;
    const { id, rule, value } = output;
    this.#found.push({ alarmId: id, ruleId: rule, t_us, run: this.#pipeline.run.run, value });
  }

  #noteJudged(): void {
    const unjudged = this.#pipeline.unjudgedRules;
    for (const rule of this.#tested) if (!unjudged.includes(rule)) this.#judged.add(rule.id);
  }
}

function recordedTrips(trips_us: readonly number[]): RecordedTrips {
  return { count: trips_us.length, first_us: trips_us[0] ?? null, trips_us: trips_us.slice(0, MOST_TRIPS) };
}

/** Keys of the channels that these rules look at. */
export function channelsOf(rules: readonly LimitRule[]): ReadonlySet<string> {
  const keys = new Set<string>();
  for (const rule of rules) {
    if ('channel' in rule) keys.add(rule.channel);
    if ('channels' in rule) for (const key of rule.channels) keys.add(key);
    if (rule.kind === 'deviation') keys.add(rule.demand);
    if (rule.kind === 'fuel-time') keys.add(rule.level_L).add(rule.flow_LPerh);
    if (rule.kind === 'cool-down') keys.add(rule.head).add(rule.speed);
  }
  return keys;
}

function median(values: readonly number[]): number | null {
  if (values.length === 0) return null;
  const sorted = [...values].sort((a, b) => a - b);
  const middle = sorted.length >> 1;
  return sorted.length % 2 === 1 ? sorted[middle]! : (sorted[middle - 1]! + sorted[middle]!) / 2;
}
