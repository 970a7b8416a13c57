/**
 * What a session's journal keeps of a lesson and of the simulated stand:
 * begun and ended, faults put in, hands at the stand, pauses, speeds,
 * checkpoints. Nothing is judged by these in the pipeline; debriefs and
 * Review read them.
 */
import type { LessonMode } from './lesson.ts';
import type { LessonState } from './lesson-state.ts';

/** What a person at the simulated stand can be asked to do. */
export type StandHandAct =
  | { readonly kind: 'prime' }
  | { readonly kind: 'refuel' }
  | { readonly kind: 'stop-circuit'; readonly closed: boolean }
  | { readonly kind: 'cage'; readonly closed: boolean };

export interface LessonHead {
  readonly lesson: string;
  /** Of the lesson's data: a debrief made again from another version says so. */
  readonly version: number;
  readonly mode: LessonMode;
  readonly trainee: string;
  readonly seed: number;
}

export type TrainingEvent =
  | { readonly what: 'lesson-started'; readonly head: LessonHead }
  /** A lesson goes on in a new session after a rewind, from the state that it had at the checkpoint. */
  | { readonly what: 'lesson-resumed'; readonly head: LessonHead; readonly state: LessonState }
  | { readonly what: 'lesson-stopped'; readonly by: string }
  | {
      readonly what: 'fault';
      readonly fault: string;
      readonly title: string;
      readonly on: boolean;
      readonly options?: Readonly<Record<string, number>> | undefined;
      /** `lesson`, or who put it in. */
      readonly by: string;
    }
  | { readonly what: 'hand'; readonly act: StandHandAct; readonly tookEffect: boolean; readonly by: string }
  /** The starter was asked for before its rest was over, or beyond its time, and stayed off. */
  | { readonly what: 'starter-refused'; readonly restLeft_s: number; readonly by: string }
  /** In an assessment the instructor's panel was opened in a page, or refused for a wrong word. */
  | { readonly what: 'instructor'; readonly isOpened: boolean; readonly withWord: boolean; readonly by: string }
  | { readonly what: 'paused' | 'resumed' }
  | { readonly what: 'speed'; readonly speed: number }
  | { readonly what: 'checkpoint'; readonly id: string; readonly name: string }
  /** This session begins where another one was at a checkpoint. */
  | { readonly what: 'rewound'; readonly from: string; readonly to_s: number };

/** Words for a hand at the stand. */
export function handWord(act: StandHandAct): string {
  switch (act.kind) {
    case 'prime':
      return 'One stroke of the primer';
    case 'refuel':
      return 'Tank filled';
    case 'stop-circuit':
      return act.closed ? 'Stop circuit closed' : 'Stop circuit opened';
    case 'cage':
      return act.closed ? 'Cage closed' : 'Cage opened';
  }
}
