/**
 * A session's debrief made again from its recording: the same fold as live,
 * over the same journal. Feed it the session's inputs in order.
 */
import type { JournalInput, JournalSink } from '../journal.ts';
import { Pipeline } from '../pipeline.ts';
import type { RigSheet } from '../rig/rig-sheet.ts';
import { type Debrief, debriefOf } from './debrief.ts';
import { LessonWatch } from './lesson-watch.ts';

export class SessionDebrief implements JournalSink {
  readonly #watch: LessonWatch;
  readonly #pipeline: Pipeline;

  constructor(rig: RigSheet) {
    this.#watch = new LessonWatch(rig);
    this.#pipeline = new Pipeline(rig, {
      onValues: () => {},
      onOutput: (t_us, output) => this.#watch.output(t_us, output),
    });
  }

  /** True once the lesson is over: the rest of the session changes nothing. */
  get isOver(): boolean {
    return this.#watch.fold?.isOver ?? false;
  }

  frame(ord: number, t_us: number, group: number, raw: Int32Array, columns: number): void {
    this.#pipeline.frame(ord, t_us, group, raw, columns);
    this.#watch.look(t_us, this.#pipeline);
  }

  tick(ord: number, t_us: number): void {
    this.#pipeline.tick(ord, t_us);
    this.#watch.look(t_us, this.#pipeline);
  }

  event(ord: number, t_us: number, body: JournalInput): void {
    this.#watch.input(t_us, body, this.#pipeline);
    this.#pipeline.event(ord, t_us, body);
    this.#watch.look(t_us, this.#pipeline);
  }

  /** The debrief, or why there is none. */
  result(): Debrief | 'no-lesson' | 'unknown-lesson' {
    if (this.#watch.fold !== null) return debriefOf(this.#watch.fold);
    return this.#watch.unknown === null ? 'no-lesson' : 'unknown-lesson';
  }
}
