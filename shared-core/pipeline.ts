/**
 * calibrate -> derive -> judge: one pure fold over the journal. A live port,
 * the simulator and a recording go through it alike, and everything it shows
 * or says follows from the journal alone, so a replay gives what the operator
 * saw, bit for bit. Decoding comes before it (`line/intake.ts`).
 *
 * No object is made per frame; views that are objects are made when asked for.
 * Outputs go to the observer in this order for each entry: run state, alarms,
 * advisories.
 */
import { AdvisoryDesk } from './advisory/advisory.ts';
import { causeText } from './advisory/cause-text.ts';
import type { Advisory } from './advisory/plans.ts';
import { ProofReader } from './advisory/proof.ts';
import { channelsOfTable } from './channels/channel-list.ts';
import { channelsOnRig } from './channels/channel-settings.ts';
import {
  type CapturedPoint,
  type JournalEvent,
  type JournalInput,
  type JournalOutput,
  type JournalSink,
  type OperatorAction,
  REPEAT_GROUP,
} from './journal.ts';
import { AlarmBook } from './limits/alarm-book.ts';
import type { AlarmLife } from './limits/alarm-life.ts';
import { isRaised } from './limits/alarm-statistics.ts';
import { type Flood, FloodWatch } from './limits/flood.ts';
import { Judge, type JudgeMoment } from './limits/judge.ts';
import type { Alarm, AlarmLevel, LimitRule, SetAsideAlarm } from './limits/rules.ts';
import {
  type DutyLimits,
  type DutyState,
  newDuty,
  rememberDuty,
  starterView,
  stepDuty,
} from './limits/starter-duty.ts';
import type { BenchTable, Identity } from './line/messages.ts';
import { CoolDownOffer } from './pipeline/cool-down-offer.ts';
import { DerivedValues } from './pipeline/derived.ts';
import { derivedChannelsOf, derivedKeys } from './pipeline/derived-list.ts';
import { type FoldMemory, FoldMisfit, FoldReader, FoldWriter, type SavedFold } from './pipeline/fold-memory.ts';
import { type EngineHours, HostFacts } from './pipeline/host-facts.ts';
import { InputStore } from './pipeline/input-store.ts';
import { LinkWatch } from './pipeline/link-watch.ts';
import { LiveStore } from './pipeline/live-store.ts';
import { type Mark, Notebook } from './pipeline/notebook.ts';
import { OperatorActs } from './pipeline/operator-acts.ts';
import { StarterSense } from './pipeline/starter-sense.ts';
import type {
  DiscreteInput,
  LiveValues,
  PipelineObserver,
  PipelineView,
  RunClock,
  StarterDuty,
} from './pipeline-contract.ts';
import { ChecklistTicks, type StartLists } from './program/checklist-ticks.ts';
import { PointWindow } from './program/points.ts';
import { RunTracker } from './program/run-state.ts';
import type { RigSheet } from './rig/rig-sheet.ts';

/** Where the rig sheet has no starter rule: common practice. */
const COMMON_DUTY: DutyLimits = { attempt_s: 8, rest_s: 120 };

/** For a fold that is made for some rules only. */
export interface PipelineScope {
  /** Keys of the channels that are looked at: derived values that feed none of them are not computed. */
  readonly feeds?: ReadonlySet<string>;
}

/** Derived values that rest on the means of the last second. */
const CALM_KEYS: readonly string[] = ['bsfc', 'prop_ct', 'prop_cp'];

export class Pipeline implements JournalSink, PipelineView {
  readonly rig: RigSheet;
  readonly #observer: PipelineObserver | undefined;
  #layoutVersion = 0;
  #identity: Identity | null = null;
  #table: BenchTable | null = null;
  #store: LiveStore;
  #inputs: InputStore;
  #window: PointWindow;
  #derived: DerivedValues;
  #starterSense: StarterSense;
  #speed = -1;
  readonly #facts = new HostFacts();
  readonly #flood = new FloodWatch();
  readonly #book: AlarmBook;
  readonly #judge: Judge;
  readonly #desk: AdvisoryDesk;
  #proofs: ProofReader;
  readonly #runs: RunTracker;
  readonly #dutyLimits: DutyLimits;
  readonly #duty: DutyState = newDuty();
  readonly #notebook = new Notebook();
  readonly #acts: OperatorActs;
  readonly #coolDown: CoolDownOffer;
  readonly #ticks: ChecklistTicks;
  readonly #link = new LinkWatch();

  /** Some rule is about what the host says; without one, what it says is only recorded. */
  readonly #listensToHost: boolean;

  // Reused for every entry.
  readonly #moment: JudgeMoment = {
    t_us: 0,
    isTick: false,
    isSilent: true,
    isAbortOpen: false,
    state: 'standing',
    run: 0,
    isStarterEngaged: false,
    link: this.#link.state,
    silence_us: 0,
  };
  readonly #evidence = { speed_rpm: NaN, isStarterEngaged: false, hasHeads: false, hottest_degC: NaN };

  readonly #hasDerived: boolean;
  readonly #hasMeans: boolean;

  /**
   * @param observer told of values and outputs as the fold makes them
   * @param scope leaves out what is not looked at; points cannot be captured then
   */
  constructor(rig: RigSheet, observer?: PipelineObserver, scope: PipelineScope = {}) {
    this.rig = rig;
    const { feeds } = scope;
    this.#hasDerived = feeds === undefined || derivedKeys.some((key) => feeds.has(key));
    this.#hasMeans = feeds === undefined || CALM_KEYS.some((key) => feeds.has(key));
    this.#observer = observer;
    this.#store = new LiveStore(rig, null, [], [], 0, 0);
    this.#inputs = new InputStore(null, 0, 0);
    this.#window = new PointWindow([]);
    this.#derived = new DerivedValues(rig, this.#store, this.#window);
    this.#starterSense = new StarterSense(this.#store, this.#inputs);
    this.#runs = new RunTracker(rig.runDetection);
    this.#ticks = new ChecklistTicks(rig.checklists);
    this.#dutyLimits = rig.rules.find((rule) => rule.kind === 'starter-duty') ?? COMMON_DUTY;
    this.#book = new AlarmBook({
      onAlarm: (t_us, change, alarm, life) => this.#onAlarm(t_us, change, alarm, life),
    });
    this.#judge = new Judge(rig.rules, this.#book, this.#store, this.#inputs, this.#starterSense.isFitted, this.#facts);
    this.#proofs = new ProofReader(rig.plans, this.#store, this.#inputs);
    this.#desk = new AdvisoryDesk(rig.plans, this.#proofs, (t_us, output) => {
      // What insists anew is not to be drowned by a silence of before.
      if (output.change === 'escalated' || output.change === 'opened') this.#book.breakSilence();
      this.#say(t_us, output);
    });
    this.#coolDown = new CoolDownOffer(this.#desk);
    this.#acts = new OperatorActs({
      rig,
      book: this.#book,
      judge: this.#judge,
      desk: this.#desk,
      facts: this.#facts,
      ticks: this.#ticks,
      runs: this.#runs,
      notebook: this.#notebook,
      capture: (name, t_us) => this.#window.capture(name, t_us),
    });
    this.#listensToHost = rig.rules.some((rule) => rule.kind === 'clock-drift' || rule.kind === 'recorder');
  }

  // ------------------------------------------------------------------ fold --

  frame(_ord: number, t_us: number, group: number, raw: Int32Array, columns: number): void {
    if (group === REPEAT_GROUP) {
      this.#repeated(t_us, raw[0]!, raw[1]!);
      return;
    }
    const store = this.#store;
    this.#link.heard(t_us);
    this.#at(t_us, false);
    const isNewBucket = this.#window.moveTo(t_us);
    const ordinals = store.take(t_us, group, raw, columns);
    if (isNewBucket) {
      if (this.#hasDerived) this.#derived.calm(t_us);
      this.#inputs.ageOut(t_us);
    }
    if (this.#hasDerived) this.#derived.frame(t_us);
    if (store.ageOut(t_us)) this.#derived.agedOut();
    if (this.#hasMeans) {
      this.#window.addAll(ordinals, store.value);
      this.#window.addFresh(store.benchCount, t_us, store.updated_us, store.value);
    }
    this.#proofs.sample(t_us);
    this.#judgeNow(t_us);
    this.#observer?.onValues(t_us, this, group);
  }

  tick(_ord: number, t_us: number): void {
    this.#link.isSilent = true;
    this.#link.passed(t_us);
    this.#at(t_us, true);
    this.#inputs.ageOut(t_us);
    if (this.#store.ageOut(t_us)) this.#derived.agedOut();
    this.#judgeNow(t_us);
  }

  event(_ord: number, t_us: number, body: JournalInput): void {
    this.#link.passed(t_us);
    this.#at(t_us, false);
    switch (body.kind) {
      case 'link':
        this.#link.event(body.state, t_us);
        break;
      case 'identity':
        this.#identity = body.identity;
        this.#link.lineCame(t_us);
        break;
      case 'table':
        this.#takeTable(body.table, t_us);
        this.#link.lineCame(t_us);
        break;
      case 'input':
        this.#link.heard(t_us);
        this.#at(t_us, false);
        this.#inputs.take(body.input, body.state, t_us);
        break;
      case 'answer':
      case 'text':
        this.#link.lineCame(t_us);
        break;
      case 'operator':
        this.#operator(t_us, body);
        break;
      case 'wrong-version':
        this.#identity = null;
        break;
      case 'hours':
        this.#facts.hoursCarried(body);
        break;
      case 'clock':
        this.#facts.clockNoted(body.bench_us, body.host_epochMs);
        if (!this.#listensToHost) return;
        break;
      case 'recorder':
        this.#facts.recorder = { state: body.state, held_s: body.held_s, freeBytes: body.freeBytes };
        if (!this.#listensToHost) return;
        break;
      case 'counts':
      case 'command':
      case 'command-unanswered':
      case 'outputs':
      case 'host':
      case 'latency':
      case 'training':
        // Recorded for those who read the session; nothing is judged by them.
        return;
    }
    this.#judgeNow(t_us);
  }

  /** The bench said again what it had said: as the event, without one. */
  #repeated(t_us: number, input: number, state: number): void {
    this.#link.passed(t_us);
    this.#at(t_us, false);
    if (input < 0) {
      this.#link.lineCame(t_us);
    } else {
      this.#link.heard(t_us);
      this.#at(t_us, false);
      this.#inputs.take(input, state === 0 ? 0 : state === 1 ? 1 : 'X', t_us);
    }
    this.#judgeNow(t_us);
  }

  // ---------------------------------------------------------------- memory --

  /** All that it remembers after the entries so far: a fold can go on from there. Of a fold of everything only. */
  save(): SavedFold {
    const writer = new FoldWriter();
    writer.part('table');
    writer.data(this.#table);
    writer.number(this.#store.begin_us);
    this.#remember(writer);
    return writer.saved();
  }

  /**
   * A fold that stands where the one that was saved stood, and goes on as it would have.
   * @param past the session's events up to there, for marks and points: they are not saved each time anew
   * @returns null where another version saved it, or for another rig sheet: fold from the beginning
   */
  static restored(
    rig: RigSheet,
    saved: SavedFold,
    past: Iterable<JournalEvent>,
    observer?: PipelineObserver,
  ): Pipeline | null {
    try {
      const pipeline = new Pipeline(rig, observer);
      const reader = new FoldReader(saved);
      reader.part('table');
      const table = reader.data<BenchTable | null>();
      const begin_us = reader.number();
      if (table !== null) pipeline.#takeTable(table, begin_us);
      pipeline.#remember(reader);
      reader.end();
      for (const event of past) pipeline.#notebook.recall(event);
      return pipeline;
    } catch (error) {
      if (error instanceof FoldMisfit) return null;
      throw error;
    }
  }

  #remember(memory: FoldMemory): void {
    memory.part('fold');
    this.#layoutVersion = memory.number(this.#layoutVersion);
    this.#identity = memory.data(this.#identity);
    this.#coolDown.remember(memory);
    const moment = this.#moment;
    moment.t_us = memory.number(moment.t_us);
    moment.isTick = memory.flag(moment.isTick);
    rememberDuty(memory, this.#duty);
    this.#link.remember(memory);
    this.#store.remember(memory);
    this.#inputs.remember(memory);
    this.#window.remember(memory);
    this.#derived.remember(memory);
    this.#facts.remember(memory);
    this.#flood.remember(memory);
    this.#runs.remember(memory);
    this.#ticks.remember(memory);
    this.#proofs.remember(memory);
    this.#desk.remember(memory);
    this.#book.remember(memory, this.rig.rules);
    this.#judge.remember(memory);
  }

  // ------------------------------------------------------------------ view --

  get layoutVersion(): number {
    return this.#layoutVersion;
  }
  get now_us(): number {
    return this.#moment.t_us;
  }
  get identity(): Identity | null {
    return this.#identity;
  }
  get table(): BenchTable | null {
    return this.#table;
  }
  get values(): LiveValues {
    return this.#store;
  }
  get inputs(): readonly DiscreteInput[] {
    return this.#inputs.list;
  }
  get run(): RunClock {
    return this.#runs.clock;
  }
  get starter(): StarterDuty {
    return starterView(this.#dutyLimits, this.#duty, this.#moment.t_us);
  }
  get alarms(): readonly Alarm[] {
    return this.#book.alarms;
  }
  get setAside(): readonly SetAsideAlarm[] {
    return this.#book.setAside;
  }
  get flood(): Flood | null {
    return this.#flood.flood;
  }
  /** An abort advisory whose steps are overdue sounds although its alarm was acknowledged. */
  get sound(): AlarmLevel | null {
    if (this.#desk.escalation > 0 && this.#book.silencedUntil_us === null) return 'abort';
    return this.#book.sound;
  }
  get silencedUntil_us(): number | null {
    return this.#book.silencedUntil_us;
  }
  get hours(): EngineHours {
    return this.#facts.hours;
  }
  get advisories(): readonly Advisory[] {
    return this.#desk.advisories;
  }
  /** Title of the gravest abort advisory whose steps are under way; null without one. */
  get runningAbort(): string | null {
    return this.#desk.runningAbort;
  }
  get marks(): readonly Mark[] {
    return this.#notebook.marks;
  }
  get points(): readonly CapturedPoint[] {
    return this.#notebook.points;
  }
  get checklistDone(): ReadonlySet<string> {
    return this.#ticks.done;
  }
  get startLists(): StartLists {
    return this.#ticks.start;
  }
  /** Rules that nothing on this bench can feed: said, never silent. */
  get unjudgedRules(): readonly LimitRule[] {
    return this.#judge.unjudgedRules;
  }

  /**
   * Why this act would be refused now, in a plain sentence with what to do; null when it is allowed. The fold itself
   * ignores what is refused, so that a recording with such an act replays alike.
   */
  refusalOf(action: OperatorAction): string | null {
    return this.#acts.refusalOf(action);
  }

  // --------------------------------------------------------------- private --

  /** Sets the moment for all that is done with this entry. */
  #at(t_us: number, isTick: boolean): void {
    const moment = this.#moment;
    moment.t_us = t_us;
    moment.isTick = isTick;
    this.#store.silence_us = this.#link.silence_us;
    this.#inputs.silence_us = this.#link.silence_us;
  }

  #judgeNow(t_us: number): void {
    const moment = this.#moment;
    const evidence = this.#evidence;
    const isStarterEngaged = this.#starterSense.isEngaged;
    this.#book.passed(t_us);
    if (this.#flood.passed(t_us)) this.#say(t_us, { kind: 'flood', on: false, alarms: this.#flood.alarmsInWindow });
    evidence.speed_rpm = this.#speed < 0 ? NaN : this.#store.value[this.#speed]!;
    evidence.isStarterEngaged = isStarterEngaged;
    evidence.hasHeads = this.#derived.hasHeads;
    evidence.hottest_degC = this.#derived.hottest_degC;
    const isNewState = this.#runs.step(t_us, evidence);
    if (isNewState) this.#onRunState(t_us);
    this.#facts.passed(t_us, this.#runs.state);
    stepDuty(this.#dutyLimits, this.#duty, t_us, isStarterEngaged);
    moment.state = this.#runs.state;
    moment.run = this.#runs.run;
    moment.isStarterEngaged = isStarterEngaged;
    moment.isSilent = this.#link.isSilent;
    moment.silence_us = this.#link.silence_us;
    moment.isAbortOpen = this.#desk.isAbortOpen;
    this.#judge.judge(moment);
    this.#coolDown.step(t_us);
    this.#desk.step(t_us);
  }

  #onRunState(t_us: number): void {
    const { state, run } = this.#runs;
    this.#ticks.runStateIs(state);
    this.#say(t_us, { kind: 'run-state', state, run });
  }

  #onAlarm(
    t_us: number,
    change: Extract<JournalOutput, { kind: 'alarm' }>['change'],
    alarm: Alarm,
    life: AlarmLife,
  ): void {
    const output: Extract<JournalOutput, { kind: 'alarm' }> = {
      kind: 'alarm',
      id: alarm.id,
      rule: alarm.rule,
      level: alarm.level,
      title: alarm.title,
      change,
      state: life,
      value: Number.isNaN(alarm.value) ? null : alarm.value,
      limit: Number.isNaN(alarm.limit) ? null : alarm.limit,
      isFirstOut: alarm.isFirstOut,
    };
    this.#say(t_us, output);
    if (isRaised(output) && this.#flood.alarm(t_us)) {
      this.#say(t_us, { kind: 'flood', on: true, alarms: this.#flood.alarmsInWindow });
    }
    if (change !== 'tripped' || alarm.level !== 'abort') return;
    const rule = this.rig.rules.find((each) => each.id === alarm.rule);
    if (rule?.advisory === undefined) return;
    const scene = {
      rule,
      channels: this.#store.channels,
      inputs: this.#inputs.list,
      isPortClosed: this.#link.state.isClosed,
    };
    this.#desk.open(rule.advisory, alarm.id, causeText(alarm, scene), t_us);
  }

  #operator(t_us: number, { by, action }: Extract<JournalInput, { kind: 'operator' }>): void {
    const point = this.#acts.take(t_us, by, action);
    if (point !== null) this.#say(t_us, { kind: 'point', point });
  }

  /** The same table again (a reboot) keeps everything; another one builds the channels anew. */
  #takeTable(table: BenchTable, t_us: number): void {
    const isSame = this.#table !== null && isSameTable(this.#table, table);
    this.#table = table;
    if (isSame) return;
    const bench = channelsOnRig(channelsOfTable(table), this.rig.channels);
    const all = [...bench, ...derivedChannelsOf(bench)];
    this.#store = new LiveStore(this.rig, table, bench, all, t_us, this.#link.silence_us);
    this.#inputs = new InputStore(table, t_us, this.#link.silence_us);
    this.#window = new PointWindow(all.map((channel) => channel.key));
    this.#derived = new DerivedValues(this.rig, this.#store, this.#window);
    this.#starterSense = new StarterSense(this.#store, this.#inputs);
    this.#speed = bench.find((channel) => channel.quantity === 'shaft-speed')?.ordinal ?? -1;
    this.#proofs = new ProofReader(this.rig.plans, this.#store, this.#inputs);
    this.#desk.refit(this.#proofs);
    this.#layoutVersion++;
    this.#judge.refit(this.#store, this.#inputs, this.#starterSense.isFitted, t_us);
    this.#coolDown.watch = this.#judge.coolDown;
  }

  #say(t_us: number, output: JournalOutput): void {
    this.#observer?.onOutput(t_us, output);
  }
}

function isSameTable(a: BenchTable, b: BenchTable): boolean {
  return JSON.stringify([a.groups, a.channels, a.inputs]) === JSON.stringify([b.groups, b.channels, b.inputs]);
}
