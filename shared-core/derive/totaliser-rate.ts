/**
 * Fuel flow from the rise of the totaliser, by regression over the last
 * seconds: independent of the meter's own rate output, and free of the loss
 * that a difference of two quantised readings has. The least squares are in
 * `sliding-slope.ts`; here is what is special to a totaliser.
 */
import type { FoldMemory } from '../pipeline/fold-memory.ts';
import { SlidingSlope, type SlopeWindow } from './sliding-slope.ts';

/** Own choice: at idle, 0.3 L/h, ten seconds are 0.8 mL, 80 counts of 0.01 mL. */
export const TOTALISER_WINDOW: SlopeWindow = { window_s: 10, leastSpan_s: 5, mostGap_s: 5 };

export class TotaliserRate {
  readonly #slope: SlidingSlope;
  readonly #last_mL = new Float64Array([NaN]);

  constructor(window: SlopeWindow = TOTALISER_WINDOW) {
    this.#slope = new SlidingSlope(window);
  }

  reset(): void {
    this.#slope.reset();
    this.#last_mL[0] = NaN;
  }

  /**
   * Takes one reading and returns the flow in L/h; NaN until the readings span
   * enough, and again after a pause. A totaliser only rises: one that falls was
   * reset or its bench rebooted, so what was before it no longer counts.
   */
  push(t_us: number, total_mL: number): number {
    if (total_mL < this.#last_mL[0]!) this.#slope.reset();
    if (!Number.isNaN(total_mL)) this.#last_mL[0] = total_mL;
    // 1 mL/s = 3.6 L/h.
    return this.#slope.push(t_us, total_mL) * 3.6;
  }

  remember(memory: FoldMemory): void {
    this.#slope.remember(memory);
    memory.array(this.#last_mL);
  }

  /** Flow as of the last reading, L/h. */
  flow_LPerh(): number {
    return this.#slope.slope() * 3.6;
  }
}
