/** The course of a lesson in lines: what was put in, what was to be seen, what was done. Pure. */
import type { AlarmLevel } from '../limits/rules.ts';
import { starterAbuses } from './crank-watch.ts';
import type { ExpectationOutcome } from './expectation-outcome.ts';
import type { Lesson } from './lesson.ts';
import type { LessonState, TraineeAct } from './lesson-state.ts';

export interface TimelineEntry {
  readonly at_s: number;
  /** `cause`: went wrong at the stand. `to-see`: from here it was on the screen. `slip`: should not have been. */
  readonly kind: 'cause' | 'to-see' | 'alarm' | 'act' | 'engine' | 'slip' | 'lesson';
  readonly level: AlarmLevel | null;
  readonly words: string;
  readonly detail: string;
}

/** A throttle that is drawn along is one act: what it came to. */
const DRAWN_s = 1.5;

const endWords = {
  complete: 'The lesson is over',
  stopped: 'The lesson was ended early',
  time: 'The time of the lesson ran out',
} as const;

export function timelineOf(
  lesson: Lesson,
  state: LessonState,
  expectations: readonly ExpectationOutcome[],
): readonly TimelineEntry[] {
  const entries: TimelineEntry[] = [
    { at_s: 0, kind: 'lesson', level: null, words: `Lesson begins: ${lesson.title}`, detail: '' },
  ];
  const add = (
    at_s: number,
    kind: TimelineEntry['kind'],
    words: string,
    detail = '',
    level: AlarmLevel | null = null,
  ) => entries.push({ at_s, kind, level, words, detail });
  for (const each of state.faults) {
    const by = each.by === 'lesson' ? '' : `by ${each.by}`;
    add(each.at_s, 'cause', each.on ? `Goes wrong: ${each.title}` : `Mended: ${each.title}`, by);
  }
  for (const each of state.panel) {
    const how = each.isOpened ? 'opened' : 'not opened: wrong word';
    add(
      each.at_s,
      'lesson',
      `Instructor's panel ${how}`,
      `by ${each.by}${each.withWord ? '' : ', no word was chosen'}`,
    );
  }
  for (const each of expectations) {
    if (each.shownAt_s !== null) add(each.shownAt_s, 'to-see', `To be seen: ${each.title}`, each.sees);
  }
  for (const each of state.alarms) add(each.at_s, 'alarm', each.title, '', each.level);
  for (const each of state.runStates) add(each.at_s, 'engine', `Engine ${each.state}`);
  for (const each of listsToldTogether(actsDrawnTogether(state.acts))) {
    add(each.at_s, 'act', each.isRefused ? `${each.words}: refused` : each.words);
  }
  for (const each of starterAbuses(state)) add(each.at_s, 'slip', each.words);
  for (const each of state.cuts) {
    if (each.head_degC === null) continue;
    const how = each.isOrdered ? 'ordered by an advisory' : each.isFalling ? 'and falling' : 'and not falling';
    add(
      each.at_s,
      'engine',
      'Ignition cut with the engine running',
      `hottest head ${Math.round(each.head_degC)} °C, ${how}`,
    );
  }
  for (const each of state.overs) {
    // Up to its caution a value may go: that is what the caution is for.
    if (each.level !== 'abort') continue;
    add(
      each.at_s,
      'slip',
      `Beyond a limit: ${each.title}`,
      `${each.over_s.toFixed(1)} s, as far as ${Math.round(each.farthest)} ${each.unit}`,
    );
  }
  if (state.ended !== null) add(state.ended.at_s, 'lesson', endWords[state.ended.why]);
  // Stable: what has the same time stays as it was told.
  return entries.sort((a, b) => a.at_s - b.at_s);
}

function actsDrawnTogether(acts: readonly TraineeAct[]): readonly TraineeAct[] {
  return acts.filter((each, i) => {
    if (each.name !== 'THROTTLE' || each.value === 0) return true;
    const next = acts.slice(i + 1).find((later) => later.name === 'THROTTLE');
    return next === undefined || next.value === 0 || next.at_s - each.at_s > DRAWN_s;
  });
}

/** Ticks that follow each other are one line. */
function listsToldTogether(acts: readonly TraineeAct[]): readonly TraineeAct[] {
  const told: TraineeAct[] = [];
  let ticks: TraineeAct[] = [];
  const close = (): void => {
    const [first, second] = ticks;
    if (first !== undefined)
      told.push(second === undefined ? first : { ...first, words: `Ticked ${ticks.length} items of the lists` });
    ticks = [];
  };
  for (const each of acts) {
    if (each.name === 'checklist') ticks.push(each);
    else {
      close();
      told.push(each);
    }
  }
  close();
  return told;
}
