/**
 * What all rules that watch by themselves have in common: how the judge steps
 * them, and what a value that is not good means to them (`judge.ts` says why).
 * Each kind's own arithmetic is in its file.
 */
import type { QualityCode } from '../channels/quality.ts';
import { quality } from '../channels/quality.ts';
import type { FoldMemory } from '../pipeline/fold-memory.ts';
import type { HostFacts } from '../pipeline/host-facts.ts';
import type { InputStore } from '../pipeline/input-store.ts';
import type { LiveStore } from '../pipeline/live-store.ts';
import type { Delayed } from './delayed.ts';
import { holdDelayed } from './delayed.ts';
import type { RunState } from './rules.ts';

/** A measured channel behind a value, and the run states (bits) in which a sensor rule speaks for it. */
export interface Source {
  readonly ordinal: number;
  readonly spokenForIn: number;
}

/** A channel as a rule sees it. */
export interface Watched {
  readonly ordinal: number;
  readonly sources: readonly Source[];
}

/** One moment, as the judge shows it to each watch. */
export interface WatchScene {
  readonly t_us: number;
  /** Time passed with nothing heard. */
  readonly isTick: boolean;
  /** An abort advisory is open: the operator acts by its steps. */
  readonly isAbortOpen: boolean;
  readonly state: RunState;
  readonly run: number;
  readonly store: LiveStore;
  readonly inputs: InputStore;
  readonly facts: HostFacts;
  /** Everything about this channel that is not good has a rule that speaks for it. */
  isSpokenFor(watched: Watched): boolean;
}

export interface Watch {
  /** Judges one moment; returns whether it is tripped. */
  step(scene: WatchScene): boolean;
  /** The rule is not judged in this run state: its state is normal, and delays begin anew. */
  rest(): void;
  /** What tripped it. */
  reading(scene: WatchScene): { readonly value: number; readonly limit: number; readonly unit: string };
  /** All that it keeps between two moments (`pipeline/fold-memory.ts`). */
  remember(memory: FoldMemory): void;
}

/**
 * How a channel stands at this moment:
 * - `fresh`: good, with a new sample (or judged again as it was, on a tick)
 * - `same`: good, nothing new
 * - `none`: nothing ever came, or its formula gives nothing
 * - `spoken`: not good, and another rule says so: hold
 * - `bad`: not good, and nobody speaks for it: NaN
 */
export type Standing = 'fresh' | 'same' | 'none' | 'spoken' | 'bad';

export function standingOf(scene: WatchScene, watched: Watched): Standing {
  const { store, t_us, isTick } = scene;
  const i = watched.ordinal;
  const code = store.quality[i] as QualityCode;
  if (code === quality.good) return store.updated_us[i] === t_us || isTick ? 'fresh' : 'same';
  if (code === quality.absent) return 'none';
  return scene.isSpokenFor(watched) ? 'spoken' : 'bad';
}

/** The value, NaN where it is not good. */
export function sampleOf(scene: WatchScene, watched: Watched): number {
  return scene.store.value[watched.ordinal]!;
}

/** Not judged: normal, and a pending delay starts anew. */
export function restDelayed(delayed: Delayed): void {
  delayed.isTripped = false;
  holdDelayed(delayed);
}
