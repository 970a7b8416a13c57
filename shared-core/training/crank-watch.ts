/**
 * The starter as the trainee used it: attempts, how long each, and what of it
 * was abuse. What counts against the duty is the rig sheet's rule; the limits
 * are checked in `limits/starter-duty.ts`, this only tells the attempts apart.
 */
import { ATTEMPT_GRACE_s } from '../limits/starter-duty.ts';
import type { PipelineView } from '../pipeline-contract.ts';
import type { CrankAttempt, LessonState } from './lesson-state.ts';

/** The host lets go when the time is used up; the sample that shows it may be this much short. */
const AT_LIMIT_s = 0.1;
/** A person needs so long to hear that it runs. */
const AGAINST_RUNNING_s = 3;

export function watchStarter(state: LessonState, view: PipelineView, runningFor_s: number): void {
  const { isEngaged, attempt_s, left_s, restLeft_s } = view.starter;
  const last = state.cranks.at(-1);
  const open = last !== undefined && last.to_s === null ? last : null;
  if (isEngaged) {
    const attempt = open ?? begun(state, last, restLeft_s > 0);
    attempt.cranked_s = Math.max(attempt.cranked_s, attempt_s);
    if (left_s <= AT_LIMIT_s && !attempt.isEarly) attempt.isOverTime = true;
    if (runningFor_s > AGAINST_RUNNING_s) attempt.isAgainstRunning = true;
    return;
  }
  if (open !== null) open.to_s = state.now_s;
}

function begun(state: LessonState, last: CrankAttempt | undefined, isEarly: boolean): CrankAttempt {
  if (last !== undefined && last.to_s !== null && state.now_s - last.to_s <= ATTEMPT_GRACE_s) {
    last.to_s = null;
    return last;
  }
  const attempt: CrankAttempt = {
    from_s: state.now_s,
    to_s: null,
    cranked_s: 0,
    held_s: null,
    isOverTime: false,
    isEarly,
    isAgainstRunning: false,
  };
  state.cranks.push(attempt);
  return attempt;
}

/**
 * The control was let go: how long it had been held. A page that stutters lets
 * go and presses again by itself; the hand did so once, at the first press
 * since it let go before.
 */
export function noteLetGo(state: LessonState): void {
  const presses = state.acts.filter((each) => each.name === 'STARTER');
  // The last is this letting go.
  const before = presses.slice(0, -1).findLastIndex((each) => each.value === 0);
  const pressed = presses[before + 1];
  const last = state.cranks.at(-1);
  if (pressed?.value !== 1 || last === undefined || last.held_s !== null || last.from_s < pressed.at_s - 0.5) return;
  last.held_s = state.now_s - pressed.at_s;
}

/** One sentence for each abuse of the starter. */
export function starterAbuses(state: LessonState): readonly { readonly at_s: number; readonly words: string }[] {
  const told: { at_s: number; words: string }[] = [];
  for (const each of state.cranks) {
    if (each.isOverTime) {
      const end = each.held_s === null ? 'The' : `The control was held ${each.held_s.toFixed(1)} s; the`;
      told.push({
        at_s: each.from_s,
        words: `Cranked ${each.cranked_s.toFixed(1)} s in one attempt, to the end of its time. ${end} duty rule let go, not you.`,
      });
    }
    if (each.isEarly) told.push({ at_s: each.from_s, words: 'Cranked before the starter had had its rest.' });
    if (each.isAgainstRunning) told.push({ at_s: each.from_s, words: 'Held on while the engine already ran.' });
  }
  for (const at_s of state.refusedStarts_s) {
    told.push({ at_s, words: 'Asked to crank again before the rest was over; the workbench refused.' });
  }
  return told.sort((a, b) => a.at_s - b.at_s);
}
