/**
 * The person at the simulated stand: carries out a scenario's timed actions at
 * the local controls, holds the starter button until the engine runs, and
 * stands back for good as soon as a host takes the lease.
 */
import type { Controller } from './bench/controller.ts';
import type { Plant } from './physics/plant.ts';
import type { Scenario, StandAction } from './scenarios.ts';

/** At this speed a person hears that it runs and lets go. */
const CAUGHT_rpm = 1200;
/** One stroke of the primer bulb. */
const PRIME_mL = 4;

export class StandHand {
  handsOn = true;
  readonly #scenario: Scenario;
  readonly #controller: Controller;
  readonly #plant: Plant;
  #next = 0;
  #round_ms = 0;
  #crankUntil_ms = 0;

  constructor(scenario: Scenario, controller: Controller, plant: Plant) {
    this.#scenario = scenario;
    this.#controller = controller;
    this.#plant = plant;
  }

  /** Every step, before the controller's. */
  step(now_ms: number): void {
    if (this.#controller.outputs.leaseHost !== null && this.handsOn) {
      this.handsOn = false;
      this.#crankUntil_ms = 0;
    }
    if (this.#crankUntil_ms > 0 && (now_ms >= this.#crankUntil_ms || this.#plant.speed_rpm > CAUGHT_rpm)) {
      this.#crankUntil_ms = 0;
      this.#controller.outputs.holdButton(false);
    }
    if (!this.handsOn) return;
    const { actions, repeat_s } = this.#scenario;
    for (;;) {
      const timed = actions[this.#next];
      if (timed === undefined) {
        if (repeat_s === undefined || now_ms < this.#round_ms + 1000 * repeat_s) return;
        this.#round_ms += 1000 * repeat_s;
        this.#next = 0;
        if (actions.length === 0) return;
        continue;
      }
      if (now_ms < this.#round_ms + 1000 * timed.at_s) return;
      this.#next++;
      this.act(timed.action, now_ms);
    }
  }

  /**
   * One action by hand. The local controls do nothing while a host holds the
   * lease; stop circuit, cage, primer and fuel can always answer a hand.
   * Returns whether it took effect.
   */
  act(action: StandAction, now_ms: number): boolean {
    const outputs = this.#controller.outputs;
    switch (action.kind) {
      case 'stop-circuit':
        outputs.isStopClosed = action.closed;
        return true;
      case 'cage':
        outputs.isCageClosed = action.closed;
        return true;
      case 'prime':
        this.#plant.prime(PRIME_mL);
        return true;
      case 'refuel':
        this.#plant.fuel.fillTank();
        return true;
    }
    if (outputs.leaseHost !== null) return false;
    switch (action.kind) {
      case 'throttle':
        return outputs.setThrottle(Math.round(Math.min(100, Math.max(0, action.percent)) * 10)) === null;
      case 'starter':
        return outputs.holdButton(action.on) === null;
      case 'crank':
        if (outputs.holdButton(true) !== null) return false;
        this.#crankUntil_ms = now_ms + 1000 * action.most_s;
        return true;
      default:
        return outputs.setSwitch(action.kind, action.on) === null;
    }
  }
}
