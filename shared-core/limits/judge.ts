/**
 * Judges all rules of a rig sheet against the present values: which rules can
 * be judged on this bench at all, when each is, and what a value that is not
 * good means to it. Each kind's own arithmetic is in its file; the alarms'
 * life is in `alarm-book.ts`.
 *
 * Bad values. "NaN trips limits", but one broken lead should raise one alarm:
 * - A sensor rule that watches the channel (for a derived channel: each of its
 *   sources that is not good) speaks for it; the other rules hold their state.
 * - Otherwise NaN trips.
 * - `over` is beyond a high limit, and `under` beyond a low one, in any case.
 * - `absent` trips nothing: before the first sample states are held, and where
 *   a formula gives nothing (BSFC at rest) a tripped rule returns.
 * While nothing is heard at all, a link rule speaks for every channel and
 * input. Silence does not age a channel: after it, each has its stale time to
 * come back.
 */
import { type QualityCode, quality } from '../channels/quality.ts';
import type { FoldMemory } from '../pipeline/fold-memory.ts';
import type { HostFacts } from '../pipeline/host-facts.ts';
import { INPUT_STALE_us, type InputStore } from '../pipeline/input-store.ts';
import type { LiveStore } from '../pipeline/live-store.ts';
import type { AlarmBook, AlarmSubject, Trip } from './alarm-book.ts';
import {
  type BandCheck,
  type Checks,
  checksOf,
  type DutyCheck,
  failureWords,
  type InputCheck,
  type LinkCheck,
  type PairCheck,
  type RuleCheck,
  type SensorCheck,
  type ThresholdCheck,
  type WatchCheck,
} from './checks.ts';
import type { CoolDownWatch } from './cool-down.ts';
import { holdDelayed, rememberDelayed, stepDelayed } from './delayed.ts';
import { differenceOfLarger_percent, stepDisagreement } from './disagreement.ts';
import { stepInput } from './input.ts';
import { isLinkLost, type LinkState } from './link.ts';
import { type LimitRule, type RunState, runStates } from './rules.ts';
import { staleAfter_us, stepSensor } from './sensor.ts';
import { dutyExcess, rememberDuty, stepDuty } from './starter-duty.ts';
import { stepThreshold } from './threshold.ts';
import { holdTimedBand, rememberBand, stepTimedBand } from './timed-band.ts';
import type { Source, WatchScene } from './watch.ts';

/** What the judge is told at each step beside the values. */
export interface JudgeMoment {
  t_us: number;
  /** Time passed with nothing heard: values as they last were are judged again, for their delays. */
  isTick: boolean;
  /** Nothing has been heard for a while. */
  isSilent: boolean;
  /** An abort advisory is open: the operator acts by its steps. */
  isAbortOpen: boolean;
  state: RunState;
  run: number;
  isStarterEngaged: boolean;
  readonly link: LinkState;
  /** All time so far in which the link was silent or closed: no channel ages in it. */
  silence_us: number;
}

/** The scene that watches are shown, filled anew for every judgement. */
interface JudgeScene extends WatchScene {
  t_us: number;
  isTick: boolean;
  isSilent: boolean;
  silence_us: number;
  isAbortOpen: boolean;
  state: RunState;
  run: number;
  store: LiveStore;
  inputs: InputStore;
}

export class Judge {
  readonly #rules: readonly LimitRule[];
  readonly #book: AlarmBook;
  #store: LiveStore;
  #inputs: InputStore;
  #checks: Checks;
  readonly #trips: Trip[] = [];
  readonly #returns: string[] = [];
  readonly #scene: JudgeScene;
  #stateBit = 0;
  /** By set of run states (bits): since when the state has been one of them; NaN while it is not. */
  readonly #since_us = new Float64Array(1 << runStates.length).fill(NaN);
  #linkSpeaks = false;
  #t_us = 0;

  constructor(
    rules: readonly LimitRule[],
    book: AlarmBook,
    store: LiveStore,
    inputs: InputStore,
    hasStarter: boolean,
    facts: HostFacts,
  ) {
    this.#rules = rules;
    this.#book = book;
    this.#store = store;
    this.#inputs = inputs;
    this.#checks = checksOf(rules, store, inputs, hasStarter);
    const isSpokenFor: WatchScene['isSpokenFor'] = (watched) => this.#isSpokenFor(watched, this.#scene);
    this.#scene = {
      ...{ t_us: 0, isTick: false, isSilent: true, silence_us: 0, isAbortOpen: false, state: 'standing', run: 0 },
      ...{ store, inputs, facts, isSpokenFor },
    };
  }

  /** What an alarm is about, whether it stands or not; null where this bench has no such alarm. */
  subjectOf(alarmId: string): AlarmSubject | null {
    return this.#checks.all.find((check) => check.alarmId === alarmId) ?? null;
  }

  /** The first cool-down rule that this bench can feed. */
  get coolDown(): CoolDownWatch | null {
    const check = this.#checks.watches.find((each) => each.rule.kind === 'cool-down');
    return check === undefined ? null : (check.watch as CoolDownWatch);
  }

  /** Rules that nothing on this bench can feed: they are said to be not judged. */
  get unjudgedRules(): readonly LimitRule[] {
    return this.#checks.unjudged;
  }

  /** The channel list is another one: alarms about what is no longer there end, the others go on. */
  refit(store: LiveStore, inputs: InputStore, hasStarter: boolean, t_us: number): void {
    this.#store = store;
    this.#inputs = inputs;
    this.#scene.store = store;
    this.#scene.inputs = inputs;
    this.#checks = checksOf(this.#rules, store, inputs, hasStarter, this.#checks.all);
    const kept: ReadonlySet<string> = new Set(this.#checks.all.map((check) => check.alarmId));
    for (const { id } of [...this.#book.alarms, ...this.#book.setAside]) {
      if (!kept.has(id)) this.#book.end(id, t_us);
    }
  }

  remember(memory: FoldMemory): void {
    memory.part('judge');
    for (const check of this.#checks.all) {
      check.isTold = memory.flag(check.isTold);
      if ('delayed' in check) rememberDelayed(memory, check.delayed);
      else if ('band' in check) rememberBand(memory, check.band);
      else if ('duty' in check) rememberDuty(memory, check.duty);
      else if ('watch' in check) check.watch.remember(memory);
    }
    this.#stateBit = memory.number(this.#stateBit);
    memory.array(this.#since_us);
    this.#linkSpeaks = memory.flag(this.#linkSpeaks);
    this.#t_us = memory.number(this.#t_us);
  }

  /** Judges everything at one moment and hands trips and returns to the alarm book. */
  judge(moment: JudgeMoment): void {
    this.#t_us = moment.t_us;
    const stateBit = 1 << runStates.indexOf(moment.state);
    if (stateBit !== this.#stateBit) this.#enter(stateBit);
    const scene = this.#scene;
    scene.t_us = moment.t_us;
    scene.isTick = moment.isTick;
    scene.isSilent = moment.isSilent;
    scene.silence_us = moment.silence_us;
    scene.isAbortOpen = moment.isAbortOpen;
    scene.state = moment.state;
    scene.run = moment.run;
    const checks = this.#checks;
    this.#linkSpeaks = false;
    for (const check of checks.links) this.#judgeLink(check, moment);
    for (const check of checks.sensors) this.#judgeSensor(check, moment);
    for (const check of checks.thresholds) this.#judgeThreshold(check, moment);
    for (const check of checks.bands) this.#judgeBand(check, moment);
    for (const check of checks.pairs) this.#judgePair(check, moment);
    for (const check of checks.duties) this.#judgeDuty(check, moment);
    for (const check of checks.inputs) this.#judgeInput(check, moment);
    for (const check of checks.watches) this.#judgeWatch(check);
    if (this.#trips.length > 0 || this.#returns.length > 0) this.#report(moment.t_us);
  }

  #report(t_us: number): void {
    const trips = this.#trips.splice(0);
    const returns = this.#returns.splice(0);
    this.#book.trip(trips);
    for (const id of returns) this.#book.returned(id, t_us);
  }

  /** A check's state is no longer what the alarm book was told. Asked for only then: each call boxes its numbers. */
  #note(check: RuleCheck, isTripped: boolean, value: number, limit: number, unit: string, detail = ''): void {
    check.isTold = isTripped;
    if (!isTripped) {
      this.#returns.push(check.alarmId);
      return;
    }
    this.#trips.push({
      id: check.alarmId,
      rule: check.rule,
      title: check.title + detail,
      subject: check.subject,
      t_us: this.#t_us,
      value,
      limit,
      unit,
    });
  }

  #isJudged(check: RuleCheck): boolean {
    if ((check.states & this.#stateBit) === 0) return false;
    return check.whenFor_us === 0 || this.#t_us - this.#since_us[check.states]! >= check.whenFor_us;
  }

  #enter(stateBit: number): void {
    this.#stateBit = stateBit;
    for (let set = 1; set < this.#since_us.length; set++) {
      if ((set & stateBit) === 0) this.#since_us[set] = NaN;
      else if (Number.isNaN(this.#since_us[set]!)) this.#since_us[set] = this.#t_us;
    }
  }

  #judgeWatch(check: WatchCheck): void {
    const { watch } = check;
    const isJudged = this.#isJudged(check);
    if (!isJudged) watch.rest();
    const isTripped = isJudged && watch.step(this.#scene);
    if (isTripped === check.isTold) return;
    const { value, limit, unit } = watch.reading(this.#scene);
    this.#note(check, isTripped, value, limit, unit);
  }

  #judgeLink(check: LinkCheck, moment: JudgeMoment): void {
    const isJudged = this.#isJudged(check);
    if (isJudged) this.#linkSpeaks = true;
    const isLost = isJudged && isLinkLost(check.rule, moment.link, moment.t_us);
    if (isLost === check.isTold) return;
    this.#note(check, isLost, (moment.t_us - moment.link.heardAt_us) / 1e6, check.rule.silence_ms / 1000, 's');
  }

  #judgeSensor(check: SensorCheck, moment: JudgeMoment): void {
    const { rule, delayed } = check;
    if (!this.#isJudged(check)) {
      delayed.isTripped = false;
      holdDelayed(delayed);
    } else if (!moment.isSilent || !this.#linkSpeaks) {
      const store = this.#store;
      const i = check.ordinal;
      const isStale = this.#age_us(i, moment) > staleAfter_us(rule.stale_ms, check.period_us);
      // Aged out by the display's own clock is not yet stale by this rule's.
      const code = store.isAgedOut[i] === 1 ? quality.absent : (store.quality[i] as QualityCode);
      if (isStale || code !== quality.good || delayed.isTripped) {
        stepSensor(rule, delayed, moment.t_us, code, isStale);
        if (delayed.isTripped && !check.isTold) {
          this.#note(check, true, NaN, NaN, '', ` (${isStale ? 'stale' : failureWords[code]})`);
          return;
        }
      } else {
        holdDelayed(delayed);
      }
    }
    if (delayed.isTripped !== check.isTold) this.#note(check, delayed.isTripped, NaN, NaN, '');
  }

  #judgeThreshold(check: ThresholdCheck, moment: JudgeMoment): void {
    const { rule, delayed } = check;
    if (!this.#isJudged(check)) {
      delayed.isTripped = false;
      holdDelayed(delayed);
    } else {
      const store = this.#store;
      const i = check.ordinal;
      const code = store.quality[i]!;
      const isFresh = store.updated_us[i] === moment.t_us || moment.isTick;
      if (code === quality.good) {
        if (isFresh) stepThreshold(rule, delayed, moment.t_us, store.value[i]!);
      } else if (code === quality.absent) {
        if (store.updated_us[i]! < 0) holdDelayed(delayed);
        else stepDelayed(delayed, moment.t_us, false, true, 0, rule.offDelay_ms);
      } else if (code === (rule.direction === 'high' ? quality.over : quality.under)) {
        stepThreshold(rule, delayed, moment.t_us, NaN);
      } else if (this.#isSpokenFor(check, moment)) {
        holdDelayed(delayed);
      } else {
        stepThreshold(rule, delayed, moment.t_us, NaN);
      }
    }
    if (delayed.isTripped === check.isTold) return;
    this.#note(check, delayed.isTripped, this.#store.value[check.ordinal]!, rule.trip, check.unit);
  }

  #judgeBand(check: BandCheck, moment: JudgeMoment): void {
    const { rule, band } = check;
    if (!this.#isJudged(check)) {
      band.isTripped = false;
      band.isInBand = false;
      band.last_us = NaN;
    } else {
      const store = this.#store;
      const i = check.ordinal;
      const code = store.quality[i]!;
      const isFresh = store.updated_us[i] === moment.t_us || moment.isTick;
      if (code === quality.good) {
        if (isFresh) stepTimedBand(rule, band, moment.t_us, store.value[i]!, moment.run);
      } else if (code !== quality.over && (code === quality.absent || this.#isSpokenFor(check, moment))) {
        holdTimedBand(band, moment.t_us);
      } else {
        stepTimedBand(rule, band, moment.t_us, NaN, moment.run);
      }
    }
    if (band.isTripped === check.isTold) return;
    this.#note(check, band.isTripped, this.#store.value[check.ordinal]!, rule.trip, check.unit);
  }

  #judgePair(check: PairCheck, moment: JudgeMoment): void {
    const { rule, delayed, ordinal, second } = check;
    const { value, quality: state, updated_us } = this.#store;
    if (!this.#isJudged(check)) {
      delayed.isTripped = false;
      holdDelayed(delayed);
    } else if (state[ordinal] === quality.absent || state[second] === quality.absent) {
      holdDelayed(delayed);
    } else if (state[ordinal] === quality.good && state[second] === quality.good) {
      const isFresh = updated_us[ordinal] === moment.t_us || updated_us[second] === moment.t_us || moment.isTick;
      if (isFresh) stepDisagreement(rule, delayed, moment.t_us, value[ordinal]!, value[second]!);
    } else if (this.#isSpokenFor(check, moment)) {
      holdDelayed(delayed);
    } else {
      stepDisagreement(rule, delayed, moment.t_us, NaN, NaN);
    }
    if (delayed.isTripped !== check.isTold) {
      const difference_percent = Math.abs(differenceOfLarger_percent(value[ordinal]!, value[second]!));
      this.#note(check, delayed.isTripped, difference_percent, rule.trip_percent, '%');
    }
  }

  #judgeDuty(check: DutyCheck, moment: JudgeMoment): void {
    const { rule, duty } = check;
    const isExceeded = stepDuty(rule, duty, moment.t_us, moment.isStarterEngaged);
    const isTripped = isExceeded && this.#isJudged(check);
    if (isTripped === check.isTold) return;
    const excess = dutyExcess(rule, duty);
    if (excess === 'early') {
      this.#note(check, isTripped, duty.rested_us / 1e6, rule.rest_s, 's', ': rest cut short');
    } else if (excess === 'attempts') {
      this.#note(check, isTripped, duty.attempts_us.length, rule.attemptsPerHour!, '', ': attempts in one hour');
    } else if (excess === 'heat') {
      this.#note(check, isTripped, duty.heat_s, rule.heat!.most_s, 's', ': heat carried over');
    } else {
      this.#note(check, isTripped, duty.attempt_us / 1e6, rule.attempt_s, 's');
    }
  }

  #judgeInput(check: InputCheck, moment: JudgeMoment): void {
    const { rule, delayed } = check;
    const state = this.#inputs.state(check.index);
    if (!this.#isJudged(check)) {
      delayed.isTripped = false;
      holdDelayed(delayed);
    } else if (state === 'X' && this.#isInputAwaited(check.index, moment)) {
      holdDelayed(delayed);
    } else {
      stepInput(rule, delayed, moment.t_us, state);
    }
    if (delayed.isTripped === check.isTold) return;
    this.#note(check, delayed.isTripped, state === 'X' ? NaN : state, rule.badState, '');
  }

  /** Not known, but only because its line is not yet due, or because the whole link is silent. */
  #isInputAwaited(index: number, moment: JudgeMoment): boolean {
    if (this.#inputs.isReported[index] === 1) return false;
    if (moment.isSilent && this.#linkSpeaks) return true;
    const silence_us = moment.silence_us - this.#inputs.silenceAt_us[index]!;
    return moment.t_us - this.#inputs.heardAt_us[index]! - silence_us <= INPUT_STALE_us;
  }

  /** Age of the newest sample, without the time in which nothing was heard at all. */
  #age_us(ordinal: number, moment: Pick<JudgeMoment, 't_us' | 'silence_us'>): number {
    const store = this.#store;
    const since_us = Math.max(store.updated_us[ordinal]!, store.begin_us);
    return moment.t_us - since_us - (moment.silence_us - store.silenceAt_us[ordinal]!);
  }

  /** True when every source of the channel that is not good has a sensor rule (or the link's) speaking for it. */
  #isSpokenFor(
    check: { readonly sources: readonly Source[] },
    moment: Pick<JudgeMoment, 't_us' | 'silence_us' | 'isSilent'>,
  ): boolean {
    if (moment.isSilent && this.#linkSpeaks) return true;
    const store = this.#store;
    for (const source of check.sources) {
      if (store.quality[source.ordinal] === quality.good) continue;
      if ((source.spokenForIn & this.#stateBit) !== 0) continue;
      // Just after a silence: give it the time that it would have had.
      if (
        store.isAgedOut[source.ordinal] === 1 &&
        this.#age_us(source.ordinal, moment) <= store.staleAfter_us[source.ordinal]!
      ) {
        continue;
      }
      return false;
    }
    return true;
  }
}
