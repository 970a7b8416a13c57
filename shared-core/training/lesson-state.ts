/**
 * All that a lesson has come to, as plain data without NaN: so that it can be
 * written into a journal at a rewind, and the lesson go on from there. Times
 * are seconds since the lesson began.
 */
import type { AlarmLevel, RunState } from '../limits/rules.ts';

export interface TraineeAct {
  readonly at_s: number;
  readonly kind: 'command' | 'outputs' | 'operator' | 'hand';
  /** Command name, kind of operator action, or kind of hand. */
  readonly name: string;
  /** Percent of throttle; 1 and 0 for on and off; null where there is none. */
  readonly value: number | null;
  /** Rules acknowledged, or `cause step` of an advisory; else empty. */
  readonly about: readonly string[];
  readonly words: string;
  readonly by: string;
  /** Id of the command, to find its answer. */
  readonly id: string;
  isRefused: boolean;
}

export interface AlarmSeen {
  readonly id: string;
  readonly rule: string;
  readonly title: string;
  readonly level: AlarmLevel;
  readonly at_s: number;
  returnedAt_s: number | null;
  readonly value: number | null;
  readonly limit: number | null;
}

export interface AdvisorySeen {
  readonly cause: string;
  readonly change: 'opened' | 'step-done' | 'completed' | 'closed';
  readonly step: string | null;
  readonly at_s: number;
}

export interface FaultSeen {
  readonly fault: string;
  readonly title: string;
  readonly on: boolean;
  readonly by: string;
  readonly at_s: number;
}

/** One limit that was exceeded. */
export interface OverLimit {
  readonly rule: string;
  readonly title: string;
  readonly level: AlarmLevel;
  readonly channel: string;
  readonly unit: string;
  readonly limit: number;
  farthest: number;
  over_s: number;
  readonly at_s: number;
}

export interface CrankAttempt {
  readonly from_s: number;
  to_s: number | null;
  /** Engaged time of the attempt. */
  cranked_s: number;
  /** How long the control was held, from press to release; null until let go. */
  held_s: number | null;
  /** The duty rule ended it, not the trainee. */
  isOverTime: boolean;
  isEarly: boolean;
  /** Engaged for more than 3 s after the engine ran. */
  isAgainstRunning: boolean;
}

export interface IgnitionCut {
  readonly at_s: number;
  /** Hottest good head; null when none was good. */
  readonly head_degC: number | null;
  readonly isFalling: boolean;
  /** An open advisory ordered it. */
  readonly isOrdered: boolean;
}

export interface Slip {
  readonly at_s: number;
  readonly words: string;
}

export interface LessonState {
  now_s: number;
  step: number;
  stepSince_s: number;
  stepDone_s: (number | null)[];
  /** Since when a condition holds, by `step:`, `goal:`, `event:` or `end`. */
  holds_s: Record<string, number>;
  goals_s: Record<string, number>;
  events: Record<string, { readonly armedAt_s: number; happenedAt_s: number | null }>;
  shown_s: Record<string, number>;
  acts: TraineeAct[];
  alarms: AlarmSeen[];
  advisories: AdvisorySeen[];
  faults: FaultSeen[];
  overs: OverLimit[];
  cranks: CrankAttempt[];
  refusedStarts_s: number[];
  cuts: IgnitionCut[];
  runStates: { readonly at_s: number; readonly state: RunState }[];
  /** Items of the checklists before the start that were open at the first crank; null before it. */
  openAtCrank: { readonly stage: string; readonly text: string }[] | null;
  overrideReason: string | null;
  /** Last seconds of the hottest head. */
  heads: [at_s: number, degC: number][];
  fastestSpeed: number;
  slowestSpeed: number;
  /** Each opening of the instructor's panel in an assessment, and each wrong word. */
  panel: { readonly at_s: number; readonly isOpened: boolean; readonly withWord: boolean; readonly by: string }[];
  pauses: number;
  rewinds: number;
  ended: { readonly why: 'complete' | 'stopped' | 'time'; readonly at_s: number } | null;
}

export function newLessonState(steps: number): LessonState {
  return {
    now_s: 0,
    step: 0,
    stepSince_s: 0,
    stepDone_s: Array.from({ length: steps }, () => null),
    holds_s: {},
    goals_s: {},
    events: {},
    shown_s: {},
    acts: [],
    alarms: [],
    advisories: [],
    faults: [],
    overs: [],
    cranks: [],
    refusedStarts_s: [],
    cuts: [],
    runStates: [],
    openAtCrank: null,
    overrideReason: null,
    heads: [],
    fastestSpeed: 1,
    slowestSpeed: 1,
    panel: [],
    pauses: 0,
    rewinds: 0,
    ended: null,
  };
}

/** A copy that shares nothing with the state. */
export function copyOfState(state: LessonState): LessonState {
  return JSON.parse(JSON.stringify(state)) as LessonState;
}
