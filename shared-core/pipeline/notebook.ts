/** What operators wrote down of a session: marks, in the order of their moments, and captured points. */
import type { CapturedPoint, JournalEvent, OperatorAction } from '../journal.ts';
import type { PipelineView } from '../pipeline-contract.ts';
import { markedAt_us } from '../program/mark-time.ts';

export type Mark = PipelineView['marks'][number];

export class Notebook {
  readonly #marks: Mark[] = [];
  readonly #points: CapturedPoint[] = [];

  get marks(): readonly Mark[] {
    return this.#marks;
  }

  get points(): readonly CapturedPoint[] {
    return this.#points;
  }

  mark(t_us: number, by: string, action: Extract<OperatorAction, { kind: 'mark' }>): void {
    this.#marks.push({ t_us: markedAt_us(action, t_us), text: action.text, by });
    // One that was written for long may be of an earlier moment than the one before it.
    this.#marks.sort((a, b) => a.t_us - b.t_us);
  }

  point(point: CapturedPoint): void {
    this.#points.push(point);
  }

  /** From the session's events, for a fold that goes on from a keyframe: they are not saved each time anew. */
  recall(event: JournalEvent): void {
    if (event.side === 'out') {
      if (event.body.kind === 'point') this.point(event.body.point);
    } else if (event.body.kind === 'operator' && event.body.action.kind === 'mark') {
      this.mark(event.t_us, event.body.by, event.body.action);
    }
  }
}
