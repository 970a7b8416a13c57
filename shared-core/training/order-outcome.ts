/** Acts that belong one after the other: when each was first done, and which came out of order or never. Pure. */
import { isAct } from './acts.ts';
import type { ActOrder } from './lesson.ts';
import type { LessonState } from './lesson-state.ts';

export interface OrderOutcome {
  readonly id: string;
  readonly title: string;
  readonly acts: readonly {
    readonly words: string;
    readonly at_s: number | null;
    /** Done before one that belongs before it, or never done. */
    readonly isSlip: boolean;
  }[];
  readonly slips: number;
}

export function orderOutcome(order: ActOrder, state: LessonState): OrderOutcome {
  const since_s = order.after === undefined ? 0 : (state.events[order.after]?.happenedAt_s ?? Infinity);
  const times = order.acts.map(({ what }) => {
    const done = state.acts.find((each) => each.at_s >= since_s && isAct(each, what));
    return done?.at_s ?? null;
  });
  const acts = order.acts.map(({ words }, i) => {
    const at_s = times[i] ?? null;
    // One that was never done makes only itself a slip, not all that follow.
    const wasEarly = at_s !== null && times.slice(0, i).some((before_s) => before_s !== null && before_s > at_s);
    return { words, at_s, isSlip: at_s === null || wasEarly };
  });
  return { id: order.id, title: order.title, acts, slips: acts.filter((each) => each.isSlip).length };
}
