/**
 * Alarm flood: more alarms than a person can take in. It begins with more than
 * 10 in 10 minutes and ends with fewer than 5 in 10 minutes, as public
 * descriptions of ANSI/ISA-18.2 clause 16 give it.
 */
import type { FoldMemory } from '../pipeline/fold-memory.ts';

export const FLOOD_WINDOW_us = 600_000_000;
export const FLOOD_BEGINS_ABOVE = 10;
export const FLOOD_ENDS_BELOW = 5;

export interface Flood {
  readonly since_us: number;
  /** Alarms of the last 10 minutes. */
  readonly alarms: number;
}

export class FloodWatch {
  readonly #times_us: number[] = [];
  #since_us: number | null = null;

  get flood(): Flood | null {
    return this.#since_us === null ? null : { since_us: this.#since_us, alarms: this.#times_us.length };
  }
  get alarmsInWindow(): number {
    return this.#times_us.length;
  }

  /** An alarm was raised; returns whether the flood begins with it. */
  alarm(t_us: number): boolean {
    this.#times_us.push(t_us);
    this.#forget(t_us);
    if (this.#since_us !== null || this.#times_us.length <= FLOOD_BEGINS_ABOVE) return false;
    this.#since_us = t_us;
    return true;
  }

  /** Time has passed; returns whether the flood has ended. */
  passed(t_us: number): boolean {
    if (this.#since_us === null) return false;
    this.#forget(t_us);
    if (this.#times_us.length >= FLOOD_ENDS_BELOW) return false;
    this.#since_us = null;
    return true;
  }

  remember(memory: FoldMemory): void {
    memory.part('flood');
    this.#times_us.splice(0, this.#times_us.length, ...memory.data([...this.#times_us]));
    this.#since_us = memory.data(this.#since_us);
  }

  #forget(t_us: number): void {
    while (this.#times_us.length > 0 && t_us - this.#times_us[0]! >= FLOOD_WINDOW_us) this.#times_us.shift();
  }
}
