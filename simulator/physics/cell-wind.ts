/** Wind that the propeller stirs up in its cell: the slipstream comes back, slowly, in gusts (PHYSICS.md, part 3). */
import type { RandomStream } from './random.ts';

const LAG_s = 8;
const GUST_s = 4;
const GUST_SHARE = 0.2;

export class CellWind {
  /** Through the disc. */
  speed_mPers = 0;
  readonly #random: RandomStream;
  /** Mean 0, standard deviation 1. */
  #gust = 0;

  constructor(random: RandomStream) {
    this.#random = random;
  }

  /** `share` of the induced velocity comes back. */
  step(dt_s: number, share: number, induced_mPers: number): void {
    this.#gust += -(this.#gust * dt_s) / GUST_s + Math.sqrt((2 * dt_s) / GUST_s) * this.#random.gauss();
    const target_mPers = share * induced_mPers * Math.max(0, 1 + GUST_SHARE * this.#gust);
    this.speed_mPers += ((target_mPers - this.speed_mPers) * dt_s) / LAG_s;
  }
}
