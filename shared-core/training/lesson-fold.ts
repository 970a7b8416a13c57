/**
 * Follows one lesson through a journal: which step is due, what has been
 * seen and done, which limits were exceeded. Live in the host and again over
 * a recording, with the same outcome: it reads the journal and the pipeline's
 * view, nothing else. Scoring what it found is `scoring.ts`.
 */
import { quality } from '../channels/quality.ts';
import { findChannel } from '../channels/usual-keys.ts';
import type { JournalInput, JournalOutput } from '../journal.ts';
import type { ThresholdRule } from '../limits/rules.ts';
import type { PipelineView } from '../pipeline-contract.ts';
import type { RigSheet } from '../rig/rig-sheet.ts';
import { actOf } from './acts.ts';
import { isFulfilled, valueOfChannel } from './condition.ts';
import { noteLetGo, watchStarter } from './crank-watch.ts';
import type { Condition, Lesson, LessonEvent } from './lesson.ts';
import { copyOfState, type LessonState, newLessonState } from './lesson-state.ts';
import { seededShare } from './seeded-share.ts';
import type { LessonHead } from './training-event.ts';

/** Looking more often than the fast group's usual rate finds nothing new. */
const LOOK_EVERY_us = 10_000;
const HEADS_KEPT_s = 6;
/** The over-temperature plan's own idea of falling, K/s. */
const FALLING_perS = 0.05;

/** What the lesson wants done at the stand; the host does it and the journal tells it. */
export type LessonDeed = LessonEvent['does'];

interface Watched {
  readonly rule: ThresholdRule;
  readonly ordinal: number;
  readonly unit: string;
}

export class LessonFold {
  readonly lesson: Lesson;
  readonly head: LessonHead;
  readonly zero_us: number;
  readonly #rig: RigSheet;
  readonly #s: LessonState;
  #deeds: LessonDeed[] = [];
  #lookedAt_us = -Infinity;
  #layoutVersion = -1;
  #watched: readonly Watched[] = [];
  #wasIgnitionOn = false;
  #wasRunning = false;
  #runningSince_s: number | null = null;
  #ticked: ReadonlySet<string> = new Set();

  /**
   * @param now_us session time at which the lesson begins, or goes on
   * @param state of a lesson that goes on after a rewind
   */
  constructor(lesson: Lesson, head: LessonHead, rig: RigSheet, now_us: number, state?: LessonState) {
    this.lesson = lesson;
    this.head = head;
    this.#rig = rig;
    const fresh = newLessonState(lesson.steps.length);
    // A recording of an older program may lack what has been added since.
    this.#s = state === undefined ? fresh : { ...fresh, ...copyOfState(state) };
    if (state !== undefined) this.#s.rewinds++;
    this.zero_us = now_us - this.#s.now_s * 1e6;
  }

  get state(): LessonState {
    return this.#s;
  }

  get isOver(): boolean {
    return this.#s.ended !== null;
  }

  /** What is to be done at the stand since last asked. */
  takeDeeds(): readonly LessonDeed[] {
    const deeds = this.#deeds;
    this.#deeds = [];
    return deeds;
  }

  // ------------------------------------------------------------------ fold --

  /** An input of the journal, before the pipeline takes it. */
  input(t_us: number, body: JournalInput, view: PipelineView): void {
    if (this.isOver) return;
    this.#at(t_us);
    const s = this.#s;
    const act = actOf(body, s.now_s, { alarms: view.alarms, advisories: view.advisories, rig: this.#rig });
    if (act !== null) {
      s.acts.push(act);
      if (act.name === 'STARTER' && act.value === 0) noteLetGo(s);
      if (act.name === 'checklist-override') s.overrideReason = act.words;
    }
    if (body.kind === 'answer' && body.answer.kind === 'refused') {
      const { id } = body.answer;
      const refused = s.acts.findLast((each) => each.kind === 'command' && each.id === id);
      if (refused !== undefined) refused.isRefused = true;
    }
    if (body.kind !== 'training') return;
    const { event } = body;
    switch (event.what) {
      case 'fault':
        s.faults.push({ fault: event.fault, title: event.title, on: event.on, by: event.by, at_s: s.now_s });
        break;
      case 'speed':
        s.fastestSpeed = Math.max(s.fastestSpeed, event.speed);
        s.slowestSpeed = Math.min(s.slowestSpeed, event.speed);
        break;
      case 'instructor': {
        const { isOpened, withWord, by } = event;
        s.panel.push({ at_s: s.now_s, isOpened, withWord, by });
        break;
      }
      case 'paused':
        s.pauses++;
        break;
      case 'starter-refused':
        s.refusedStarts_s.push(s.now_s);
        break;
      case 'lesson-stopped':
        s.ended = { why: 'stopped', at_s: s.now_s };
        break;
      default:
        break;
    }
  }

  /** What the pipeline made of an entry. */
  output(t_us: number, body: JournalOutput): void {
    if (this.isOver) return;
    this.#at(t_us);
    const s = this.#s;
    if (body.kind === 'run-state') s.runStates.push({ at_s: s.now_s, state: body.state });
    if (body.kind === 'advisory') {
      const { cause, change, stepId } = body;
      if (change === 'opened' || change === 'step-done' || change === 'completed' || change === 'closed') {
        s.advisories.push({ cause, change, step: stepId, at_s: s.now_s });
      }
    }
    if (body.kind !== 'alarm') return;
    if (body.change === 'tripped') {
      const { id, rule, title, level, value, limit } = body;
      s.alarms.push({ id, rule, title, level, value, limit, at_s: s.now_s, returnedAt_s: null });
    }
    if (body.change === 'returned') {
      const last = s.alarms.findLast((each) => each.id === body.id);
      if (last !== undefined) last.returnedAt_s = s.now_s;
    }
  }

  /** After each entry, when the pipeline has taken it. */
  look(t_us: number, view: PipelineView): void {
    if (this.isOver || t_us - this.#lookedAt_us < LOOK_EVERY_us) return;
    this.#lookedAt_us = t_us;
    this.#at(t_us);
    this.#watchEngine(view);
    this.#watchLimits(view, t_us);
    this.#moveOn(view);
  }

  // --------------------------------------------------------------- private --

  #at(t_us: number): void {
    this.#s.now_s = Math.max(this.#s.now_s, (t_us - this.zero_us) / 1e6);
  }

  #watchEngine(view: PipelineView): void {
    const s = this.#s;
    const isRunning = view.run.state === 'running';
    if (!isRunning) this.#runningSince_s = null;
    else this.#runningSince_s ??= s.now_s;
    watchStarter(s, view, this.#runningSince_s === null ? 0 : s.now_s - this.#runningSince_s);
    // Only what the trainee could go through: an engine that runs from the beginning was started by others.
    if (s.openAtCrank === null && s.cranks.length > 0) s.openAtCrank = this.#openItems();
    this.#ticked = new Set(view.checklistDone);

    const hottest_degC = valueOfChannel(view, 'cht_max');
    const newest = s.heads.at(-1);
    if (!Number.isNaN(hottest_degC) && (newest === undefined || s.now_s - newest[0] >= 0.2)) {
      s.heads.push([s.now_s, hottest_degC]);
      while ((s.heads[0]?.[0] ?? s.now_s) < s.now_s - HEADS_KEPT_s) s.heads.shift();
    }
    const ignition = view.inputs.find((each) => each.key === 'ignition')?.state;
    if (ignition === 0 && this.#wasIgnitionOn && this.#wasRunning) {
      s.cuts.push({
        at_s: s.now_s,
        head_degC: Number.isNaN(hottest_degC) ? null : hottest_degC,
        isFalling: this.#isHeadFalling(),
        isOrdered: isCutOrdered(view),
      });
    }
    this.#wasIgnitionOn = ignition === 1;
    this.#wasRunning = isRunning;
  }

  #openItems(): LessonState['openAtCrank'] {
    return this.#rig.checklists
      .filter((list) => list.stage !== 'shut-down')
      .flatMap((list) =>
        list.items.filter((item) => !this.#ticked.has(item.id)).map((item) => ({ stage: list.stage, text: item.text })),
      );
  }

  #isHeadFalling(): boolean {
    const { heads } = this.#s;
    const [oldest, newest] = [heads[0], heads.at(-1)];
    if (oldest === undefined || newest === undefined || newest[0] - oldest[0] < 2) return false;
    return newest[1] - oldest[1] <= -FALLING_perS * (newest[0] - oldest[0]);
  }

  #watchLimits(view: PipelineView, t_us: number): void {
    const s = this.#s;
    if (view.layoutVersion !== this.#layoutVersion) {
      this.#layoutVersion = view.layoutVersion;
      this.#watched = this.#rig.rules.flatMap((rule): Watched[] => {
        if (rule.kind !== 'threshold') return [];
        const channel = findChannel(view.values.channels, rule.channel);
        return channel === undefined ? [] : [{ rule, ordinal: channel.ordinal, unit: channel.unit }];
      });
    }
    const { value, quality: qualities, updated_us } = view.values;
    for (const { rule, ordinal, unit } of this.#watched) {
      const now = value[ordinal] ?? NaN;
      const isBeyond = rule.direction === 'high' ? now > rule.trip : now < rule.trip;
      const isJudged = rule.when.length === 0 || rule.when.includes(view.run.state);
      const over = this.#overNow.get(rule.id);
      if (!isBeyond || !isJudged || qualities[ordinal] !== quality.good || t_us - updated_us[ordinal]! > 2e6) {
        this.#overNow.delete(rule.id);
        continue;
      }
      if (over === undefined) {
        this.#overNow.set(rule.id, s.now_s);
        continue;
      }
      let told = s.overs.find((each) => each.rule === rule.id);
      if (told === undefined) {
        const { id, title, level, channel, trip } = rule;
        told = { rule: id, title, level, channel, unit, limit: trip, farthest: now, over_s: 0, at_s: over };
        s.overs.push(told);
      }
      told.over_s += s.now_s - over;
      const isFarther = rule.direction === 'high' ? now > told.farthest : now < told.farthest;
      if (isFarther) told.farthest = now;
      this.#overNow.set(rule.id, s.now_s);
    }
  }
  /** Rules beyond now: when last looked at, s. */
  readonly #overNow = new Map<string, number>();

  #moveOn(view: PipelineView): void {
    const s = this.#s;
    const scene = { view, rig: this.#rig, state: s };
    const holds = (key: string, condition: Condition, hold_s: number): boolean => {
      if (!isFulfilled(condition, scene)) {
        delete s.holds_s[key];
        return false;
      }
      s.holds_s[key] ??= s.now_s;
      return s.now_s - s.holds_s[key] >= hold_s;
    };

    for (const event of this.lesson.events) {
      const known = s.events[event.id];
      if (known === undefined) {
        if (!holds(`event:${event.id}`, event.when, event.hold_s ?? 0)) continue;
        s.events[event.id] = { armedAt_s: s.now_s, happenedAt_s: null };
      }
      const armed = s.events[event.id]!;
      if (armed.happenedAt_s !== null || s.now_s < armed.armedAt_s + this.#delay_s(event)) continue;
      armed.happenedAt_s = s.now_s;
      this.#deeds.push(event.does);
    }
    for (const each of this.lesson.expectations) {
      if (s.shown_s[each.id] !== undefined || (s.events[each.event]?.happenedAt_s ?? null) === null) continue;
      if (isFulfilled(each.shows, scene)) s.shown_s[each.id] = s.now_s;
    }
    for (const goal of this.lesson.goals) {
      if (s.goals_s[goal.id] === undefined && holds(`goal:${goal.id}`, goal.reached, goal.hold_s ?? 0)) {
        s.goals_s[goal.id] = s.now_s;
      }
    }
    // Several at once: what was done before it was asked for is not asked for.
    for (;;) {
      const step = this.lesson.steps[s.step];
      if (step === undefined || !holds(`step:${step.id}`, step.done, step.hold_s ?? 0)) break;
      s.stepDone_s[s.step] = s.now_s;
      s.step++;
      s.stepSince_s = s.now_s;
    }
    const allSteps = this.head.mode === 'guided' && s.step >= this.lesson.steps.length && s.step > 0;
    if (allSteps || holds('end', this.lesson.end, this.lesson.endHold_s)) s.ended = { why: 'complete', at_s: s.now_s };
    else if (s.now_s >= this.lesson.limit_s) s.ended = { why: 'time', at_s: s.now_s };
  }

  #delay_s(event: LessonEvent): number {
    const [least, most] = event.after_s;
    return least + (most - least) * seededShare(this.head.seed, event.id);
  }
}

function isCutOrdered(view: PipelineView): boolean {
  return view.advisories.some(
    (advisory) =>
      advisory.closedAt_us === null &&
      advisory.steps.some((each) => each.state === 'current' && each.step.act === 'ignition-off'),
  );
}
