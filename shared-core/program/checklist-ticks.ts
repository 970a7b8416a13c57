/**
 * What is ticked on the checklists. A checklist belongs to one run: when a run
 * has ended, the lists before a start are to be done anew; when the next one
 * runs, the list after it.
 *
 * It also knows whether the engine may be cranked from here: every item before
 * a start is ticked, or somebody has recorded why it is left open. That word
 * holds for one run, as the ticks do.
 */
import type { RunState } from '../limits/rules.ts';
import type { FoldMemory } from '../pipeline/fold-memory.ts';
import type { Checklist, ChecklistStage } from './checklist.ts';

/** To be done before an engine is cranked. Lists of a build-up belong to the build; priming and starting have theirs in hand. */
const beforeCranking: ChecklistStage = 'before-start';

export interface StartLists {
  /** Items before a start that nobody has ticked. */
  readonly open: number;
  /** Somebody recorded why they are left open. */
  readonly isOverridden: boolean;
}

const cleared: Readonly<Record<RunState, readonly ChecklistStage[]>> = {
  standing: ['before-start', 'prime', 'start'],
  cranking: [],
  running: ['shut-down'],
  cooling: ['before-start', 'prime', 'start'],
};

export class ChecklistTicks {
  readonly #checklists: readonly Checklist[];
  readonly #done = new Set<string>();
  #hasRun = false;
  #isOverridden = false;

  constructor(checklists: readonly Checklist[]) {
    this.#checklists = checklists;
  }

  get done(): ReadonlySet<string> {
    return this.#done;
  }

  get start(): StartLists {
    const lists = this.#checklists.filter((each) => each.stage === beforeCranking);
    const open = lists.reduce((sum, { items }) => sum + items.filter(({ id }) => !this.#done.has(id)).length, 0);
    return { open, isOverridden: this.#isOverridden };
  }

  override(): void {
    this.#isOverridden = true;
  }

  tick(itemId: string, isDone: boolean): void {
    if (isDone) this.#done.add(itemId);
    else this.#done.delete(itemId);
  }

  remember(memory: FoldMemory): void {
    memory.part('ticks');
    const done = memory.data([...this.#done]);
    this.#done.clear();
    for (const item of done) this.#done.add(item);
    this.#hasRun = memory.flag(this.#hasRun);
    this.#isOverridden = memory.flag(this.#isOverridden);
  }

  /** A failed attempt clears nothing: the engine has not run, and the same list still holds. */
  runStateIs(state: RunState): void {
    if (state === 'running') this.#hasRun = true;
    else if (!this.#hasRun) return;
    for (const { stage, items } of this.#checklists) {
      if (cleared[state].includes(stage)) for (const { id } of items) this.#done.delete(id);
    }
    if (state === 'standing' || state === 'cooling') {
      this.#hasRun = false;
      this.#isOverridden = false;
    }
  }
}
