/** Moments of the simulation to come back to, with the lesson as it was then. */
import type { CheckpointInfo } from '../../../shared-core/bridge/contract.ts';
import { copyOfState, type LessonState } from '../../../shared-core/training/lesson-state.ts';
import type { LessonHead } from '../../../shared-core/training/training-event.ts';
import type { Acquisition } from '../acquisition.ts';
import type { OutputsSeat } from '../outputs.ts';
import type { SimulatorMoment } from '../simulator-past.ts';
import type { SimulatorSettings, SimulatorSource } from '../simulator-source.ts';

export interface Checkpoint extends CheckpointInfo {
  readonly settings: SimulatorSettings;
  readonly moment: SimulatorMoment;
  readonly seat: OutputsSeat;
  readonly session: string;
  readonly lesson: { readonly head: LessonHead; readonly state: LessonState } | null;
  readonly isAutomatic: boolean;
}

/** Of the automatic ones the oldest goes first; those made by hand stay. */
const MOST = 20;

export class Checkpoints {
  #list: Checkpoint[] = [];
  #nextId = 1;

  get list(): readonly CheckpointInfo[] {
    return this.#list.map(({ id, name, time_s }) => ({ id, name, time_s }));
  }

  find(id: string): Checkpoint | undefined {
    return this.#list.find((each) => each.id === id);
  }

  /** Null where this moment cannot be come back to. */
  add(acquisition: Acquisition, source: SimulatorSource, name: string, isAutomatic: boolean): Checkpoint | null {
    const moment = source.moment();
    if (moment === null) return null;
    const fold = acquisition.lesson.fold;
    const made: Checkpoint = {
      id: `c${this.#nextId++}`,
      name,
      time_s: source.bench.time_s,
      settings: { ...source.settings, speed: source.speed },
      moment,
      seat: acquisition.outputs.seat,
      session: acquisition.session?.id ?? '',
      lesson: fold === null || fold.isOver ? null : { head: fold.head, state: copyOfState(fold.state) },
      isAutomatic,
    };
    this.#list.push(made);
    while (this.#list.length > MOST) {
      const oldest = this.#list.findIndex((each) => each.isAutomatic);
      this.#list.splice(Math.max(oldest, 0), 1);
    }
    return made;
  }

  /** Another simulation: nothing of the one before can be come back to. */
  clear(): void {
    this.#list = [];
  }
}
