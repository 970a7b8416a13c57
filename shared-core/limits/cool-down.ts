/**
 * The cool-down rule: after high power the engine idles until the head is cool
 * enough, and only then the ignition is cut. A cut before that trips. Idle
 * after high power is when the cool-down advisory is due (`isDue`), once per
 * spell of power.
 *
 * The cut is seen by the ignition input; on a bench without it, by the end of
 * the run. Nothing is held against an ignition that nobody can read.
 */
import type { CoolDownRule, RunState } from './rules.ts';
import { sampleOf, standingOf, type Watch, type Watched } from './watch.ts';

/** What one moment shows. */
export interface CoolDownSight {
  readonly t_us: number;
  /** NaN when not known: evidence of nothing. */
  readonly speed_rpm: number;
  /** NaN when not known: taken to be hot. */
  readonly head_degC: number;
  /** 'X' where it is not known; null on a bench that has no such input. */
  readonly ignition: 0 | 1 | 'X' | null;
  readonly state: RunState;
  /** An abort advisory orders the cut: it is not held against anybody. */
  readonly isOrdered: boolean;
}

export interface CoolDownState {
  highSince_us: number;
  /** Last moment of high power; −Infinity before any. */
  highAt_us: number;
  idleSince_us: number;
  powerSince_us: number;
  wasOn: boolean;
  isCutHot: boolean;
  /** Idle after power, still hot: the advisory is due. */
  isDue: boolean;
  /** Back at power: an open cool-down is no longer wanted. */
  isAtPower: boolean;
}

export function newCoolDown(isCutHot = false): CoolDownState {
  return {
    ...{ highSince_us: NaN, highAt_us: Number.NEGATIVE_INFINITY, idleSince_us: NaN, powerSince_us: NaN },
    ...{ wasOn: false, isCutHot, isDue: false, isAtPower: false },
  };
}

/** Takes one moment, in place; returns whether the ignition was cut hot. */
export function stepCoolDown(rule: CoolDownRule, cool: CoolDownState, sight: CoolDownSight): boolean {
  const { t_us, speed_rpm, head_degC } = sight;
  cool.highSince_us = sinceWhen(cool.highSince_us, t_us, speed_rpm > rule.high_rpm);
  if (t_us - cool.highSince_us >= rule.highFor_s * 1e6) cool.highAt_us = t_us;
  const isRemembered = t_us - cool.highAt_us <= rule.remembered_s * 1e6;
  const isHot = !(head_degC <= rule.safe_degC);

  const isOn = sight.ignition === null || sight.ignition === 'X' ? sight.state === 'running' : sight.ignition === 1;
  const isKnown = sight.ignition !== 'X';
  if (isKnown && cool.wasOn && !isOn && isRemembered && isHot && !sight.isOrdered) cool.isCutHot = true;
  if (isKnown) cool.wasOn = isOn;
  if (cool.isCutHot && (head_degC < rule.safe_degC || (isOn && sight.state === 'running'))) cool.isCutHot = false;

  const isIdle = sight.state === 'running' && speed_rpm < rule.idle_rpm;
  cool.idleSince_us = sinceWhen(cool.idleSince_us, t_us, isIdle);
  cool.isDue = isRemembered && isHot && t_us - cool.idleSince_us >= rule.idleFor_s * 1e6;
  const isPower = speed_rpm > (rule.idle_rpm + rule.high_rpm) / 2;
  cool.powerSince_us = sinceWhen(cool.powerSince_us, t_us, isPower);
  cool.isAtPower = t_us - cool.powerSince_us >= rule.idleFor_s * 1e6;
  return cool.isCutHot;
}

export interface CoolDownWatch extends Watch {
  readonly rule: CoolDownRule;
  readonly state: CoolDownState;
}

export function coolDownWatch(
  rule: CoolDownRule,
  head: Watched,
  speed: Watched,
  ignition: number,
  isTripped: boolean,
): CoolDownWatch {
  const state = newCoolDown(isTripped);
  return {
    rule,
    state,
    step(scene) {
      // A head whose sensor has failed and is spoken for was hot a moment ago: it is taken to be so.
      const ofHead = standingOf(scene, head);
      return stepCoolDown(rule, state, {
        t_us: scene.t_us,
        speed_rpm: sampleOf(scene, speed),
        head_degC: ofHead === 'fresh' || ofHead === 'same' ? sampleOf(scene, head) : NaN,
        ignition: ignition < 0 ? null : scene.inputs.state(ignition),
        state: scene.state,
        isOrdered: scene.isAbortOpen,
      });
    },
    rest() {
      state.isCutHot = false;
    },
    reading: (scene) => ({ value: sampleOf(scene, head), limit: rule.safe_degC, unit: '°C' }),
    remember(memory) {
      state.highSince_us = memory.number(state.highSince_us);
      state.highAt_us = memory.number(state.highAt_us);
      state.idleSince_us = memory.number(state.idleSince_us);
      state.powerSince_us = memory.number(state.powerSince_us);
      state.wasOn = memory.flag(state.wasOn);
      state.isCutHot = memory.flag(state.isCutHot);
      state.isDue = memory.flag(state.isDue);
      state.isAtPower = memory.flag(state.isAtPower);
    },
  };
}

function sinceWhen(since_us: number, t_us: number, isSo: boolean): number {
  if (!isSo) return NaN;
  return Number.isNaN(since_us) ? t_us : since_us;
}
