/** One expectation against what was done: when it was due, on the screen, noticed and acted on. Pure. */
import { isAct } from './acts.ts';
import type { Expectation } from './lesson.ts';
import type { LessonState, TraineeAct } from './lesson-state.ts';

export interface ExpectationOutcome {
  readonly id: string;
  readonly title: string;
  readonly sees: string;
  readonly rightAct: string;
  /** The fault went in; null where the lesson never came so far. */
  readonly dueAt_s: number | null;
  readonly shownAt_s: number | null;
  readonly noticedAt_s: number | null;
  readonly noticedBy: string;
  readonly actedAt_s: number | null;
  readonly actedBy: string;
  /** From the screen to the act, s. 0 where the act came first. */
  readonly toNotice_s: number | null;
  readonly toAct_s: number | null;
}

export function outcomeOf(expectation: Expectation, state: LessonState): ExpectationOutcome {
  const { id, title, sees, rightAct, event, notice, act } = expectation;
  const dueAt_s = state.events[event]?.happenedAt_s ?? null;
  const shownAt_s = state.shown_s[id] ?? null;
  // A sharp eye may act on the trend before any alarm: what counts begins with the cause.
  const since = (patterns: Expectation['act']): TraineeAct | undefined =>
    dueAt_s === null
      ? undefined
      : state.acts.find((each) => each.at_s >= dueAt_s && patterns.some((pattern) => isAct(each, pattern)));
  const acted = since(act);
  const noticed = since([...notice, ...act]);
  const from_s = shownAt_s ?? acted?.at_s ?? null;
  const delay = (at: TraineeAct | undefined): number | null =>
    at === undefined || from_s === null ? null : Math.max(0, at.at_s - from_s);
  return {
    id,
    title,
    sees,
    rightAct,
    dueAt_s,
    shownAt_s,
    noticedAt_s: noticed?.at_s ?? null,
    noticedBy: noticed?.words ?? '',
    actedAt_s: acted?.at_s ?? null,
    actedBy: acted?.words ?? '',
    toNotice_s: delay(noticed),
    toAct_s: delay(acted),
  };
}
