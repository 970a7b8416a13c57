/**
 * A lesson as data: what the trainee is told, what happens at the simulated
 * stand, what is to be seen and done, and how it is scored. The fold that
 * follows a lesson is `lesson-fold.ts`; the lessons are in `lessons/`.
 *
 * Times are seconds of session time, so simulated ones whatever the speed.
 */
import type { ChannelKey } from '../channels/channel.ts';
import type { OperatorAction } from '../journal.ts';
import type { AdvisoryCause, AlarmLevel, RunState } from '../limits/rules.ts';
import type { CommandName } from '../line/messages.ts';
import type { ChecklistStage } from '../program/checklist.ts';
import type { StandHandAct } from './training-event.ts';

export const lessonModes = ['guided', 'practice', 'assessment'] as const;
/** Guided: step by step. Practice: goals and hints. Assessment: neither, and the fault list is hidden. */
export type LessonMode = (typeof lessonModes)[number];

/** One act of the trainee, as the journal tells it. All that is given must fit. */
export type ActPattern =
  | {
      readonly act: 'command';
      readonly name: CommandName;
      readonly on?: boolean;
      readonly atLeast_percent?: number;
      readonly atMost_percent?: number;
    }
  | { readonly act: 'outputs'; readonly live: boolean }
  /** Alone or with all others; of any alarm where no rules are given. */
  | { readonly act: 'acknowledge'; readonly rules?: readonly string[] }
  | { readonly act: 'operator'; readonly kind: OperatorAction['kind'] }
  | { readonly act: 'advisory-step'; readonly cause: AdvisoryCause; readonly step: string }
  | { readonly act: 'hand'; readonly kind: StandHandAct['kind']; readonly closed?: boolean };

/** Something that is so, or has come about, at an instant of the lesson. */
export type Condition =
  /** A good value within these; a value that is not good fulfils nothing. */
  | { readonly is: 'channel'; readonly channel: ChannelKey; readonly above?: number; readonly below?: number }
  | { readonly is: 'input'; readonly input: string; readonly state: 0 | 1 }
  | { readonly is: 'run-state'; readonly states: readonly RunState[] }
  /** The engine has run in this lesson. */
  | { readonly is: 'has-run' }
  | { readonly is: 'outputs'; readonly live: boolean }
  | { readonly is: 'starter-free' }
  /** No attempt is under way and no rest is owed. */
  | { readonly is: 'starter-rested' }
  /** So many attempts have been made and ended. */
  | { readonly is: 'attempts'; readonly atLeast: number }
  | { readonly is: 'checklist'; readonly stage: ChecklistStage }
  /** One of these rules has tripped in this lesson (`standing`: and has not returned). */
  | { readonly is: 'alarm'; readonly rules: readonly string[]; readonly standing?: boolean }
  | {
      readonly is: 'advisory';
      readonly cause: AdvisoryCause;
      readonly step?: string;
      readonly change?: 'opened' | 'completed' | 'closed';
    }
  /** Done in this lesson; with `after`, since that event of the lesson. */
  | { readonly is: 'done'; readonly what: ActPattern; readonly after?: string }
  /** An event of the lesson has happened, so long ago. */
  | { readonly is: 'event'; readonly event: string; readonly ago_s?: number }
  | { readonly is: 'all' | 'any'; readonly of: readonly Condition[] }
  | { readonly is: 'not'; readonly of: Condition };

/** One line of a guided lesson. Names of controls stand in “quotes”, as they stand on the controls. */
export interface LessonStep {
  readonly id: string;
  /** One imperative line. */
  readonly says: string;
  readonly why: string;
  /** Test id of the control that is meant, for the way there. */
  readonly control?: string;
  readonly done: Condition;
  /** The condition must have held so long. */
  readonly hold_s?: number;
  /** Said when the step has waited so long. */
  readonly hint: { readonly after_s: number; readonly says: string };
}

/** What happens at the stand by itself. */
export interface LessonEvent {
  readonly id: string;
  /** Armed from then on; happens `after_s` later, somewhere in the range by the seed. */
  readonly when: Condition;
  readonly hold_s?: number;
  readonly after_s: readonly [least: number, most: number];
  readonly does: {
    readonly fault: string;
    readonly on: boolean;
    readonly options?: Readonly<Record<string, number>>;
  };
}

/** What is to be seen, and what is to be done about it. */
export interface Expectation {
  readonly id: string;
  readonly title: string;
  /** Where it shows, in words. */
  readonly sees: string;
  /** What is right, in words. */
  readonly rightAct: string;
  /** It is due from this event of the lesson. */
  readonly event: string;
  /** It is on the screen. */
  readonly shows: Condition;
  /** Counts as noticed; every right act does, too. */
  readonly notice: readonly ActPattern[];
  readonly act: readonly ActPattern[];
  /** Told in practice when it has been on the screen so long without a right act. */
  readonly hint: { readonly after_s: number; readonly says: string };
}

/** Acts that belong one after the other. */
export interface ActOrder {
  readonly id: string;
  readonly title: string;
  readonly acts: readonly { readonly words: string; readonly what: ActPattern }[];
  /** Acts before this event do not count; absent, from the start of the lesson. */
  readonly after?: string;
}

export interface Goal {
  readonly id: string;
  readonly words: string;
  readonly reached: Condition;
  readonly hold_s?: number;
}

interface RuleBase {
  readonly id: string;
  /** In plain words, as the debrief shows it. */
  readonly words: string;
  /** Gained at most, or lost at most. */
  readonly points: number;
}

/** How points come about. What is gained adds up to 100; what is lost is taken off, never below 0. */
export type ScoringRule =
  | (RuleBase & { readonly kind: 'goal'; readonly goal: string })
  /** All points up to `full_s` after it showed, none from `none_s` on, in between in proportion. */
  | (RuleBase & {
      readonly kind: 'notice' | 'act';
      readonly expectation: string;
      readonly full_s: number;
      readonly none_s: number;
    })
  | (RuleBase & { readonly kind: 'order'; readonly order: string; readonly perSlip: number })
  /** Points lost for each item open when the starter was first engaged. */
  | (RuleBase & { readonly kind: 'checklist'; readonly stages: readonly ChecklistStage[]; readonly perItem: number })
  /** Points lost per second beyond limits of these levels, after `free_s`. */
  | (RuleBase & {
      readonly kind: 'limits';
      readonly levels: readonly AlarmLevel[];
      readonly free_s: number;
      readonly perSecond: number;
    })
  | (RuleBase & { readonly kind: 'starter'; readonly perAbuse: number; readonly fails: boolean })
  /** Ignition cut with the hottest head above this and not falling. */
  | (RuleBase & { readonly kind: 'hot-cut'; readonly above_degC: number; readonly fails: boolean })
  /** Points lost for an act that is wrong from this event on, until the right act. */
  | (RuleBase & {
      readonly kind: 'wrong-act';
      readonly expectation: string;
      readonly what: ActPattern;
      readonly fails: boolean;
    });

export type GainedKind = 'goal' | 'notice' | 'act' | 'order' | 'checklist';
const gained: readonly ScoringRule['kind'][] = ['goal', 'notice', 'act', 'order', 'checklist'];

export function isGained(rule: ScoringRule): boolean {
  return gained.includes(rule.kind);
}

export interface Lesson {
  readonly id: string;
  readonly version: number;
  readonly title: string;
  /** One line for the list. */
  readonly summary: string;
  /** Paragraphs read before the start; they do not give the fault away. */
  readonly brief: readonly string[];
  /** One line for the strip where no steps are given. */
  readonly task: string;
  readonly minutes: number;
  /** Of the simulator: one without faults of its own, so that the lesson decides. */
  readonly scenario: string;
  readonly seed: number;
  readonly modes: readonly LessonMode[];
  readonly goals: readonly Goal[];
  readonly steps: readonly LessonStep[];
  readonly events: readonly LessonEvent[];
  readonly expectations: readonly Expectation[];
  readonly orders: readonly ActOrder[];
  readonly rules: readonly ScoringRule[];
  /** Of 100. */
  readonly pass: number;
  /** The lesson is over when this has held so long; guided, also when all steps are done. */
  readonly end: Condition;
  readonly endHold_s: number;
  readonly limit_s: number;
  /** Offered in the strip: what can be asked of the person at the stand. */
  readonly hands: readonly StandHandAct[];
  /** Advice by scoring rule, said where points were left. */
  readonly advice: Readonly<Record<string, string>>;
}
