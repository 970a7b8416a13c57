/** What a page shows of a lesson under way. In an assessment neither steps nor hints nor goals. */

import { debriefOf } from './debrief.ts';
import { outcomeOf } from './expectation-outcome.ts';
import type { Lesson, LessonMode } from './lesson.ts';
import type { LessonFold } from './lesson-fold.ts';
import type { StandHandAct } from './training-event.ts';

export interface TrainingView {
  readonly lesson: string;
  readonly title: string;
  readonly mode: LessonMode;
  readonly trainee: string;
  readonly elapsed_s: number;
  readonly limit_s: number;
  readonly isRewound: boolean;
  /** A word was chosen for the instructor's panel of this assessment. */
  readonly asksWord: boolean;
  /** One imperative line: the step, or what the lesson is about. */
  readonly says: string;
  readonly why: string;
  /** Test id of the control that is meant, where one is. */
  readonly control: string | null;
  /** The step under way, from 1; null where no steps are given. */
  readonly step: { readonly id: string; readonly number: number; readonly of: number } | null;
  readonly hint: string | null;
  readonly goals: readonly { readonly words: string; readonly isReached: boolean }[];
  readonly hands: readonly StandHandAct[];
  /** The lesson is over; its debrief can be read. */
  readonly ended: {
    readonly why: 'complete' | 'stopped' | 'time';
    readonly score: number;
    readonly isPassed: boolean;
    readonly verdict: string;
    readonly session: string;
  } | null;
}

/** In an assessment the lesson has no name until it is over: the name would tell the fault. */
export const ASSESSMENT_TITLE = 'Assessment';

export function shownTitle(lesson: Lesson, mode: LessonMode): string {
  return mode === 'assessment' ? ASSESSMENT_TITLE : lesson.title;
}

export function trainingView(fold: LessonFold, session: string, asksWord = false): TrainingView {
  const { lesson, head, state } = fold;
  const { mode } = head;
  const isBlind = mode === 'assessment' && state.ended === null;
  const step = mode === 'guided' && state.ended === null ? lesson.steps[state.step] : undefined;
  const debrief = state.ended === null ? null : debriefOf(fold);
  return {
    lesson: isBlind ? '' : lesson.id,
    title: isBlind ? ASSESSMENT_TITLE : lesson.title,
    mode,
    trainee: head.trainee,
    elapsed_s: Math.floor(state.ended?.at_s ?? state.now_s),
    limit_s: lesson.limit_s,
    isRewound: state.rewinds > 0,
    asksWord: isBlind && asksWord,
    says: step?.says ?? lesson.task,
    why: step?.why ?? '',
    control: step?.control ?? null,
    step: step === undefined ? null : { id: step.id, number: state.step + 1, of: lesson.steps.length },
    hint: isBlind ? null : hintOf(fold),
    // What is to be reached would tell what is to be done.
    goals: isBlind
      ? []
      : lesson.goals.map((goal) => ({ words: goal.words, isReached: state.goals_s[goal.id] !== undefined })),
    hands: lesson.hands,
    ended:
      state.ended === null || debrief === null
        ? null
        : {
            why: state.ended.why,
            score: debrief.score,
            isPassed: debrief.isPassed,
            verdict: debrief.verdict,
            session,
          },
  };
}

function hintOf({ lesson, head, state }: LessonFold): string | null {
  if (state.ended !== null) return null;
  if (head.mode === 'guided') {
    const step = lesson.steps[state.step];
    return step !== undefined && state.now_s - state.stepSince_s >= step.hint.after_s ? step.hint.says : null;
  }
  for (const each of lesson.expectations) {
    const { shownAt_s, actedAt_s } = outcomeOf(each, state);
    if (shownAt_s !== null && actedAt_s === null && state.now_s - shownAt_s >= each.hint.after_s) return each.hint.says;
  }
  return null;
}
