/**
 * Throttle servo: follows its pulse with a dead time of one frame, a dead zone
 * and a slew limit; without its supply it stays where it is.
 */
export interface ServoSpec {
  readonly closed_us: number;
  readonly open_us: number;
  /** Full travels per second. */
  readonly slew_travelPers: number;
  /** A pulse nearer than this to the present one does not move it. */
  readonly deadZone_us: number;
}

/** Pulse for a demand of 0 to 1; ends 1,100 and 1,900 µs are a common default (ArduPilot SRV_Channel). */
export function pulseFor(spec: ServoSpec, demand: number): number {
  return spec.closed_us + demand * (spec.open_us - spec.closed_us);
}

export class Servo {
  readonly spec: ServoSpec;
  /** 0 closed to 1 open. */
  position = 0;
  /** Fault: jammed where it is. */
  isJammed = false;
  /** Fault: share of the slew rate that is lost. */
  drag = 0;
  #target = 0;
  #frame_s = 0;
  #isMoving = false;

  constructor(spec: ServoSpec) {
    this.spec = spec;
  }

  /** `pulse_us` 0 means no pulse or no supply. */
  step(dt_s: number, pulse_us: number): void {
    // One pulse per 20 ms frame: what the servo knows is up to a frame old.
    this.#frame_s += dt_s;
    const { closed_us, open_us, deadZone_us } = this.spec;
    if (this.#frame_s >= 0.02 - 1e-9) {
      this.#frame_s -= 0.02;
      if (pulse_us > 0) {
        const travel = (pulse_us - closed_us) / (open_us - closed_us);
        this.#target = Math.min(1, Math.max(0, travel));
        const off_us = Math.abs(this.#target - this.position) * (open_us - closed_us);
        // At rest it wakes beyond the dead zone; moving, it goes all the way.
        this.#isMoving = off_us > (this.#isMoving ? 1e-9 : deadZone_us);
      } else this.#isMoving = false;
    }
    if (!this.#isMoving || this.isJammed) return;
    const error = this.#target - this.position;
    const reach = this.spec.slew_travelPers * (1 - this.drag) * dt_s;
    this.position += Math.min(reach, Math.max(-reach, error));
  }

  /** Puts the arm somewhere at once; for initial states only. */
  place(position: number): void {
    this.position = position;
    this.#target = position;
    this.#isMoving = false;
  }
}
