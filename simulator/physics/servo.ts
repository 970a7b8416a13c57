/**
 * Throttle servo: follows its pulse with a dead time of one frame and a slew
 * limit; without its supply it stays where it is.
 */
export interface ServoSpec {
  readonly closed_us: number;
  readonly open_us: number;
  /** Full travels per second. */
  readonly slew_travelPers: number;
}

/** Pulse for a demand of 0 to 1; ends 1,100 and 1,900 µs are a common default (ArduPilot SRV_Channel). */
export function pulseFor(spec: ServoSpec, demand: number): number {
  return spec.closed_us + demand * (spec.open_us - spec.closed_us);
}

export class Servo {
  readonly spec: ServoSpec;
  /** 0 closed to 1 open. */
  position = 0;
  #target = 0;
  #frame_s = 0;

  constructor(spec: ServoSpec) {
    this.spec = spec;
  }

  /** `pulse_us` 0 means no pulse or no supply. */
  step(dt_s: number, pulse_us: number): void {
    // One pulse per 20 ms frame: what the servo knows is up to a frame old.
    this.#frame_s += dt_s;
    if (this.#frame_s >= 0.02) {
      this.#frame_s -= 0.02;
      if (pulse_us > 0) {
        const travel = (pulse_us - this.spec.closed_us) / (this.spec.open_us - this.spec.closed_us);
        this.#target = Math.min(1, Math.max(0, travel));
      } else this.#target = this.position;
    }
    const error = this.#target - this.position;
    if (error === 0) return;
    const reach = this.spec.slew_travelPers * dt_s;
    this.position += Math.min(reach, Math.max(-reach, error));
  }

  /** Puts the arm somewhere at once; for initial states only. */
  place(position: number): void {
    this.position = position;
    this.#target = position;
  }
}
