/** Words of the training screens. Pure. */
import type { LessonMode } from '../../shared-core/training/lesson.ts';
import type { StandHandAct } from '../../shared-core/training/training-event.ts';

export const modeTitles: Readonly<Record<LessonMode, string>> = {
  guided: 'Guided',
  practice: 'Practice',
  assessment: 'Assessment',
};

export const modeWords: Readonly<Record<LessonMode, string>> = {
  guided: 'Every step is said, one at a time.',
  practice: 'The goals are said; a hint comes when you wait too long.',
  assessment: 'No steps, no hints, no list of faults. It comes at another moment each time.',
};

/** What the person at the stand is asked for, as the control says it. */
export function handTitle(action: StandHandAct): string {
  switch (action.kind) {
    case 'prime':
      return 'Prime';
    case 'refuel':
      return 'Fill the tank';
    case 'stop-circuit':
      return action.closed ? 'Close the stop circuit' : 'Open the stop circuit';
    case 'cage':
      return action.closed ? 'Close the cage' : 'Open the cage';
  }
}

export const endedWords = {
  complete: 'gone through to its end',
  stopped: 'ended early',
  time: 'its time ran out',
  open: 'still under way',
} as const;

/** Keeps a number and its unit on one line. */
export function unbroken(text: string): string {
  return text.replace(/(\d) (?=(?:°C|%|s|min|rpm|K)(?:[^A-Za-z]|$))/g, '$1\u00a0');
}
