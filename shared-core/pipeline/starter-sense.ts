/**
 * Whether the starter is engaged: by the input `starter`, and where the bench
 * has none, or does not know it, by the starter's current. A starter that
 * nobody can see counts as not engaged: no one may be told of an overrun that
 * no line showed, and a bench that is not heard lets go of it by itself
 * (PROTOCOL.md, parts 8 and 9).
 */
import type { InputStore } from './input-store.ts';
import type { LiveStore } from './live-store.ts';

/** Own choice: of the current sensor's range, well above its offset and well below a turning starter. */
export const ENGAGED_PART_OF_RANGE = 0.05;

export class StarterSense {
  readonly #store: LiveStore;
  readonly #inputs: InputStore;
  readonly #input: number;
  readonly #current: number;
  readonly #engaged_A: number;

  constructor(store: LiveStore, inputs: InputStore) {
    this.#store = store;
    this.#inputs = inputs;
    this.#input = inputs.indexOf('starter');
    const current = store.channels.find((channel) => channel.quantity === 'starter-current');
    this.#current = current?.ordinal ?? -1;
    this.#engaged_A = current === undefined ? NaN : ENGAGED_PART_OF_RANGE * current.high;
  }

  /** False on a bench that shows the starter in no way. */
  get isFitted(): boolean {
    return this.#input >= 0 || this.#current >= 0;
  }

  get isEngaged(): boolean {
    const state = this.#input < 0 ? 'X' : this.#inputs.state(this.#input);
    if (state !== 'X') return state === 1;
    return this.#current >= 0 && this.#store.value[this.#current]! > this.#engaged_A;
  }
}
