/**
 * All alarms that stand, with their first-out. Which rule trips when is in
 * `judge.ts`, the life of one alarm in `alarm-life.ts`.
 *
 * First-out is the earliest, by sample time, of the alarms standing together;
 * it is kept, whatever comes and goes after it, until the operator resets or
 * nothing stands any more. Of several in one sample the gravest is first.
 * Notices take no part: a fan switched off is not what broke the engine.
 *
 * Alarms that are set aside (shelved, out of service) are kept apart: they do
 * not stand, do not sound and take no part in first-out, but their condition
 * is followed, and they stand at once if it holds when they come back.
 *
 * Silence is neither acknowledgement nor reset: it stops the sound of what
 * stands, for a minute, and touches no state.
 */
import type { JournalOutput } from '../journal.ts';
import { type FoldMemory, FoldMisfit } from '../pipeline/fold-memory.ts';
import { type AlarmEvent, type AlarmLife, isActive, nextAlarmLife } from './alarm-life.ts';
import { type Alarm, type AlarmLevel, alarmLevels, type LimitRule, type SetAsideAlarm } from './rules.ts';

/** Silence lasts so long; a new alarm sounds all the same. */
export const SILENCE_s = 60;

export type AlarmOutput = Extract<JournalOutput, { kind: 'alarm' }>;

/** A rule's trip at one sample. */
export interface Trip {
  readonly id: string;
  readonly rule: LimitRule;
  readonly title: string;
  readonly subject: string | null;
  readonly t_us: number;
  readonly value: number;
  readonly limit: number;
  readonly unit: string;
}

export interface AlarmBookEvents {
  /** For every change, in order. `alarm` is as it stands after it, or stood last. */
  onAlarm(t_us: number, change: AlarmOutput['change'], alarm: Alarm, life: AlarmLife): void;
}

interface Entry {
  readonly rule: LimitRule;
  alarm: Alarm;
  isSilenced: boolean;
}

/** What there is to say of an alarm that may not stand. */
export interface AlarmSubject {
  readonly rule: LimitRule;
  readonly title: string;
  readonly subject: string | null;
}

interface Aside {
  readonly rule: LimitRule;
  /** As it stood last, or would stand. */
  alarm: Alarm;
  isTripped: boolean;
  view: SetAsideAlarm;
}

export class AlarmBook {
  readonly #events: AlarmBookEvents;
  readonly #entries = new Map<string, Entry>();
  readonly #asides = new Map<string, Aside>();
  #setAside: readonly SetAsideAlarm[] | null = null;
  #nextExpiry_us = Number.POSITIVE_INFINITY;
  #silencedUntil_us: number | null = null;
  #firstOut: string | null = null;
  #firstOutAt_us = Number.POSITIVE_INFINITY;
  #alarms: readonly Alarm[] | null = null;

  constructor(events: AlarmBookEvents) {
    this.#events = events;
  }

  /** In order of first trip. The same array until something changes. */
  get alarms(): readonly Alarm[] {
    this.#alarms ??= [...this.#entries.values()].map((entry) => entry.alarm);
    return this.#alarms;
  }

  /** Shelved and out of service, in the order in which they were set aside. The same array until something changes. */
  get setAside(): readonly SetAsideAlarm[] {
    this.#setAside ??= [...this.#asides.values()].map((aside) => aside.view);
    return this.#setAside;
  }

  get silencedUntil_us(): number | null {
    return this.#silencedUntil_us;
  }

  lifeOf(id: string): AlarmLife {
    return this.#asides.get(id)?.view.state ?? this.#entries.get(id)?.alarm.state ?? 'normal';
  }

  /**
   * The level that should sound now: the gravest of the active alarms that
   * nobody has acknowledged or silenced. Notices make no sound.
   */
  get sound(): AlarmLevel | null {
    let gravest = 0;
    for (const { rule, alarm, isSilenced } of this.#entries.values()) {
      if (alarm.state !== 'active-unacknowledged' || isSilenced) continue;
      gravest = Math.max(gravest, gravity(rule));
    }
    return gravest === 0 ? null : alarmLevels[gravest]!;
  }

  isActive(id: string): boolean {
    const entry = this.#entries.get(id);
    return entry !== undefined && isActive(entry.alarm.state);
  }

  /** Takes the trips of one judgement: earliest first, and of one sample the gravest first. */
  trip(trips: readonly Trip[]): void {
    const inOrder = [...trips].sort((a, b) => a.t_us - b.t_us || gravity(b.rule) - gravity(a.rule));
    for (const each of inOrder) this.#trip(each);
  }

  returned(id: string, t_us: number): void {
    const aside = this.#asides.get(id);
    if (aside !== undefined) this.#follow(aside, false);
    const entry = this.#entries.get(id);
    if (entry !== undefined) this.#apply(id, entry, 'return', t_us);
  }

  acknowledge(id: string, t_us: number): void {
    const entry = this.#entries.get(id);
    if (entry !== undefined) this.#apply(id, entry, 'acknowledge', t_us);
  }

  acknowledgeAll(t_us: number): void {
    for (const [id, entry] of [...this.#entries]) this.#apply(id, entry, 'acknowledge', t_us);
  }

  /** Clears what is latched and has gone; the next trip is first-out anew. */
  reset(t_us: number): void {
    this.#forgetFirstOut();
    for (const [id, entry] of [...this.#entries]) this.#apply(id, entry, 'reset', t_us);
  }

  /** What this alarm was about is no longer there: it ends, whatever its state. */
  end(id: string, t_us: number): void {
    const entry = this.#entries.get(id);
    if (entry !== undefined) this.#clear(id, entry, t_us);
    const aside = this.#asides.get(id);
    if (aside !== undefined) this.#takeBack(aside, 'cleared', 'normal', t_us);
  }

  /** Stops the sound of all that stands now. */
  silence(t_us: number): void {
    this.#silencedUntil_us = t_us + SILENCE_s * 1e6;
    for (const entry of this.#entries.values()) entry.isSilenced = true;
  }

  /** Something graver has happened than what was silenced. */
  breakSilence(): void {
    this.#silencedUntil_us = null;
    for (const entry of this.#entries.values()) entry.isSilenced = false;
  }

  /** Whether it may be is asked before (`set-aside.ts`). */
  shelve(id: string, about: AlarmSubject, why: { by: string; reason: string; for_min: number }, t_us: number): void {
    this.#putAside(id, about, 'shelve', why, t_us, t_us + why.for_min * 60e6);
  }
  unshelve(id: string, t_us: number): void {
    this.#bringBack(id, 'unshelve', t_us);
  }
  outOfService(id: string, about: AlarmSubject, why: { by: string; reason: string }, t_us: number): void {
    this.#putAside(id, about, 'remove', why, t_us, null);
  }
  backInService(id: string, t_us: number): void {
    this.#bringBack(id, 'restore', t_us);
  }

  /** @throws FoldMisfit where an alarm's rule is not among these */
  remember(memory: FoldMemory, rules: readonly LimitRule[]): void {
    memory.part('alarms');
    const ruleOf = (id: Alarm['rule']): LimitRule => {
      const rule = rules.find((each) => each.id === id);
      if (rule === undefined) throw new FoldMisfit(`no rule ${id}`);
      return rule;
    };
    const entries = memory.data([...this.#entries.values()].map(({ alarm, isSilenced }) => ({ alarm, isSilenced })));
    this.#entries.clear();
    for (const each of entries) this.#entries.set(each.alarm.id, { ...each, rule: ruleOf(each.alarm.rule) });
    const asides = memory.data(
      [...this.#asides.values()].map(({ alarm, isTripped, view }) => ({ alarm, isTripped, view })),
    );
    this.#asides.clear();
    for (const each of asides) this.#asides.set(each.view.id, { ...each, rule: ruleOf(each.view.rule) });
    this.#asidesChanged();
    this.#silencedUntil_us = memory.data(this.#silencedUntil_us);
    this.#firstOut = memory.data(this.#firstOut);
    this.#firstOutAt_us = memory.number(this.#firstOutAt_us);
  }

  /** Time has passed: shelves and silence end by themselves. */
  passed(t_us: number): void {
    if (this.#silencedUntil_us !== null && t_us >= this.#silencedUntil_us) this.breakSilence();
    if (t_us < this.#nextExpiry_us) return;
    for (const { view } of [...this.#asides.values()]) {
      if (view.until_us !== null && t_us >= view.until_us) this.#bringBack(view.id, 'expire', t_us);
    }
  }

  #putAside(
    id: string,
    about: AlarmSubject,
    event: 'shelve' | 'remove',
    why: { readonly by: string; readonly reason: string },
    t_us: number,
    until_us: number | null,
  ): void {
    const before = this.lifeOf(id);
    const life = nextAlarmLife(before, event, about.rule.latch);
    if (life === before || (life !== 'shelved' && life !== 'out-of-service')) return;
    const aside = this.#asides.get(id);
    const entry = this.#entries.get(id);
    const alarm = entry?.alarm ?? aside?.alarm ?? quietAlarm(id, about);
    const isTripped = aside?.isTripped ?? isActive(before);
    const { rule, title, subject } = about;
    this.#asides.set(id, {
      rule,
      alarm,
      isTripped,
      view: {
        ...{ id, rule: rule.id, level: rule.level, title, subject, state: life },
        ...{ by: why.by, reason: why.reason, since_us: t_us, until_us, isTripped },
      },
    });
    this.#entries.delete(id);
    this.#asidesChanged();
    if (this.#entries.size === 0) this.#forgetFirstOut();
    this.#events.onAlarm(t_us, event === 'shelve' ? 'shelved' : 'removed', alarm, life);
  }

  #bringBack(id: string, event: 'unshelve' | 'expire' | 'restore', t_us: number): void {
    const aside = this.#asides.get(id);
    if (aside === undefined) return;
    const life = nextAlarmLife(aside.view.state, event, aside.rule.latch, aside.isTripped);
    if (life === aside.view.state) return;
    this.#takeBack(aside, event === 'restore' ? 'restored' : 'unshelved', life, t_us);
  }

  #takeBack(aside: Aside, change: AlarmOutput['change'], life: AlarmLife, t_us: number): void {
    const { id } = aside.view;
    this.#asides.delete(id);
    this.#asidesChanged();
    let { alarm } = aside;
    if (life === 'active-unacknowledged') {
      // It tripped when it did; first-out of those that stand without it is not taken from them.
      alarm = { ...alarm, state: life, returnedAt_us: null, acknowledgedAt_us: null, isFirstOut: false };
      this.#entries.set(id, { rule: aside.rule, alarm, isSilenced: false });
    }
    this.#events.onAlarm(t_us, change, alarm, life);
  }

  #follow(aside: Aside, isTripped: boolean): void {
    if (aside.isTripped === isTripped) return;
    aside.isTripped = isTripped;
    aside.view = { ...aside.view, isTripped };
    this.#setAside = null;
  }

  #asidesChanged(): void {
    this.#alarms = null;
    this.#setAside = null;
    this.#nextExpiry_us = Math.min(...[...this.#asides.values()].map(({ view }) => view.until_us ?? Infinity));
  }

  #trip(trip: Trip): void {
    const aside = this.#asides.get(trip.id);
    if (aside !== undefined) {
      aside.alarm = alarmOf(trip, false);
      this.#follow(aside, true);
      return;
    }
    const known = this.#entries.get(trip.id);
    if (known !== undefined && isActive(known.alarm.state)) return;
    if (trip.rule.level !== 'notice' && trip.t_us < this.#firstOutAt_us) {
      this.#forgetFirstOut();
      this.#firstOut = trip.id;
      this.#firstOutAt_us = trip.t_us;
    }
    const alarm = alarmOf(trip, this.#firstOut === trip.id);
    this.#entries.set(trip.id, { rule: trip.rule, alarm, isSilenced: false });
    this.#alarms = null;
    this.#events.onAlarm(trip.t_us, 'tripped', alarm, alarm.state);
  }

  #apply(id: string, entry: Entry, event: Extract<AlarmEvent, 'return' | 'acknowledge' | 'reset'>, t_us: number): void {
    const before = entry.alarm.state;
    const life = nextAlarmLife(before, event, entry.rule.latch);
    if (life === before) return;
    entry.alarm = {
      ...entry.alarm,
      returnedAt_us: event === 'return' ? t_us : entry.alarm.returnedAt_us,
      acknowledgedAt_us: event === 'acknowledge' ? t_us : entry.alarm.acknowledgedAt_us,
    };
    if (life === 'normal') {
      this.#clear(id, entry, t_us);
      return;
    }
    if (life === 'shelved' || life === 'out-of-service') return;
    entry.alarm = { ...entry.alarm, state: life };
    this.#alarms = null;
    this.#events.onAlarm(t_us, event === 'return' ? 'returned' : 'acknowledged', entry.alarm, life);
  }

  #clear(id: string, entry: Entry, t_us: number): void {
    this.#entries.delete(id);
    this.#alarms = null;
    if (this.#entries.size === 0) this.#forgetFirstOut();
    this.#events.onAlarm(t_us, 'cleared', entry.alarm, 'normal');
  }

  #forgetFirstOut(): void {
    const entry = this.#firstOut === null ? undefined : this.#entries.get(this.#firstOut);
    if (entry !== undefined) entry.alarm = { ...entry.alarm, isFirstOut: false };
    this.#firstOut = null;
    this.#firstOutAt_us = Number.POSITIVE_INFINITY;
    this.#alarms = null;
  }
}

function gravity(rule: LimitRule): number {
  return alarmLevels.indexOf(rule.level);
}

function alarmOf(trip: Trip, isFirstOut: boolean): Alarm {
  return {
    id: trip.id,
    rule: trip.rule.id,
    level: trip.rule.level,
    title: trip.title,
    subject: trip.subject,
    state: 'active-unacknowledged',
    trippedAt_us: trip.t_us,
    returnedAt_us: null,
    acknowledgedAt_us: null,
    value: trip.value,
    limit: trip.limit,
    unit: trip.unit,
    isFirstOut,
    consequence: trip.rule.consequence,
    operatorAction: trip.rule.operatorAction,
    timeToAct_s: trip.rule.timeToAct_s,
  };
}

/** An alarm set aside before it ever tripped. */
function quietAlarm(id: string, { rule, title, subject }: AlarmSubject): Alarm {
  return alarmOf({ id, rule, title, subject, t_us: -1, value: NaN, limit: NaN, unit: '' }, false);
}
