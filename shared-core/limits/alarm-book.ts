/**
 * All alarms that stand, with their first-out. Which rule trips when is in
 * `judge.ts`, the life of one alarm in `alarm-life.ts`.
 *
 * First-out is the earliest, by sample time, of the alarms standing together;
 * it is kept, whatever comes and goes after it, until the operator resets or
 * nothing stands any more. Of several in one sample the gravest is first.
 * Notices take no part: a fan switched off is not what broke the engine.
 */
import type { JournalOutput } from '../journal.ts';
import { type AlarmEvent, type AlarmLife, isActive, nextAlarmLife } from './alarm-life.ts';
import { type Alarm, alarmLevels, type LimitRule } from './rules.ts';

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
}

export class AlarmBook {
  readonly #events: AlarmBookEvents;
  readonly #entries = new Map<string, Entry>();
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
  }

  #trip(trip: Trip): void {
    const known = this.#entries.get(trip.id);
    if (known !== undefined && isActive(known.alarm.state)) return;
    if (trip.rule.level !== 'notice' && trip.t_us < this.#firstOutAt_us) {
      this.#forgetFirstOut();
      this.#firstOut = trip.id;
      this.#firstOutAt_us = trip.t_us;
    }
    const alarm: Alarm = {
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
      isFirstOut: this.#firstOut === trip.id,
      consequence: trip.rule.consequence,
      operatorAction: trip.rule.operatorAction,
    };
    this.#entries.set(trip.id, { rule: trip.rule, alarm });
    this.#alarms = null;
    this.#events.onAlarm(trip.t_us, 'tripped', alarm, alarm.state);
  }

  #apply(id: string, entry: Entry, event: Exclude<AlarmEvent, 'trip'>, t_us: number): void {
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
