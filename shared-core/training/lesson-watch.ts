/**
 * Finds the lesson in a journal and follows it: beside a pipeline, live in
 * the host and over a recording alike. The lesson begins with the journal's
 * own word, so both begin it at the same entry.
 */
import type { JournalInput, JournalOutput } from '../journal.ts';
import type { PipelineView } from '../pipeline-contract.ts';
import type { RigSheet } from '../rig/rig-sheet.ts';
import { lessonById } from './lesson-book.ts';
import { LessonFold } from './lesson-fold.ts';

export class LessonWatch {
  readonly #rig: RigSheet;
  #fold: LessonFold | null = null;
  /** A lesson that this program does not know, by its id. */
  unknown: string | null = null;

  constructor(rig: RigSheet) {
    this.#rig = rig;
  }

  /** The lesson; null before it begins, or where the session has none. */
  get fold(): LessonFold | null {
    return this.#fold;
  }

  /** An input, before the pipeline takes it. */
  input(t_us: number, body: JournalInput, view: PipelineView): void {
    if (this.#fold === null && body.kind === 'training') this.#begin(t_us, body);
    this.#fold?.input(t_us, body, view);
  }

  /** An output, as the pipeline says it. */
  output(t_us: number, body: JournalOutput): void {
    this.#fold?.output(t_us, body);
  }

  /** After each entry, when the pipeline has taken it. */
  look(t_us: number, view: PipelineView): void {
    this.#fold?.look(t_us, view);
  }

  #begin(t_us: number, { event }: Extract<JournalInput, { kind: 'training' }>): void {
    if (event.what !== 'lesson-started' && event.what !== 'lesson-resumed') return;
    const lesson = lessonById(event.head.lesson);
    if (lesson === null) {
      this.unknown = event.head.lesson;
      return;
    }
    const state = event.what === 'lesson-resumed' ? event.state : undefined;
    this.#fold = new LessonFold(lesson, event.head, this.#rig, t_us, state);
  }
}
