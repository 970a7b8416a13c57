/**
 * Optical pickup on the hub: one mark, counted once per turn; the controller
 * averages the period. Marks counted twice or missed, and light that blinds it.
 */
import type { RandomStream } from '../physics/random.ts';
import type { SensorFaults } from './sensor-faults.ts';

const STEP_s = 0.001;
/** Period averaged over some turns. */
const KEEP = Math.exp(-STEP_s / 0.025);
/** Below this the controller calls it rest. */
const REST_rpm = 60;
/** Mean time that the sun stays on it, s. */
const BLIND_s = 1.5;

export class Pickup {
  isBlind = false;
  readonly #faults: SensorFaults;
  readonly #random: RandomStream;
  #reading_rpm = 0;
  #turns = 0;
  #factor = 1;
  #twice = 0;
  #missed = 0;

  constructor(faults: SensorFaults, random: RandomStream) {
    this.#faults = faults;
    this.#random = random;
  }

  /** rpm as the controller has it; 0 at rest. */
  get speed_rpm(): number {
    return this.#reading_rpm < REST_rpm ? 0 : this.#reading_rpm;
  }

  settle(speed_rpm: number): void {
    this.#reading_rpm = speed_rpm;
  }

  /** Every 1 ms. */
  step(speed_rpm: number, turns: number): void {
    if (turns !== this.#turns) {
      this.#turns = turns;
      this.#factor = this.#nextFactor();
    }
    const seen_rpm = speed_rpm * this.#factor;
    this.#reading_rpm = seen_rpm + (this.#reading_rpm - seen_rpm) * KEEP;
  }

  /** Every 100 ms. */
  stepLight(): void {
    const share = this.#faults.pickupBlind;
    if (share <= 0) {
      this.isBlind = false;
      return;
    }
    const leave = 0.1 / BLIND_s;
    const enter = share >= 1 ? 1 : (leave * share) / (1 - share);
    if (this.#random.uniform() < (this.isBlind ? (share >= 1 ? 0 : leave) : enter)) this.isBlind = !this.isBlind;
  }

  /** Twice the speed where a turn is counted twice, half where its mark is missed. */
  #nextFactor(): number {
    const { pickupDouble, pickupMissed } = this.#faults;
    if (pickupDouble <= 0 && pickupMissed <= 0) return 1;
    this.#twice += pickupDouble;
    this.#missed += pickupMissed;
    if (this.#missed >= 1) {
      this.#missed -= 1;
      return 0.5;
    }
    if (this.#twice >= 1) {
      this.#twice -= 1;
      return 2;
    }
    return 1;
  }
}
