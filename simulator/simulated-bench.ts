/**
 * The whole simulated bench: plant, controller, wire, faults and the person at
 * the stand, advanced in steps of 1 ms. Bytes out, bytes in; no clock, no
 * port. The same options and the same calls give the same bytes, whatever the
 * sizes of the advances.
 */
import { Controller, FIRMWARE } from './bench/controller.ts';
import { Wire } from './bench/wire.ts';
import { applyFault, type Breakable } from './fault-effects.ts';
import { type FaultId, type FaultOptions, faultLevel, parameterOf } from './faults.ts';
import type { Site } from './physics/air.ts';
import { Plant } from './physics/plant.ts';
import { randomStream } from './physics/random.ts';
import { type RigName, rigs, type SimulatedRig } from './rigs.ts';
import { type Scenario, type ScenarioId, type StandAction, scenarios } from './scenarios.ts';
import { StandHand } from './stand-hand.ts';
import { type SimulatedTruth, truthOf } from './truth.ts';

export interface SimulatorOptions {
  readonly seed: number;
  readonly scenario: ScenarioId;
  /** Lines per second of the fast group, 1 to 1000; 100 unless given. */
  readonly fast_Hz?: number;
  /** Lines per second of the slow group, 0.5 to 1000; 10 unless given. */
  readonly slow_Hz?: number;
  /** Air of the day; the scenario's unless given, or the rig's home. */
  readonly site?: Site;
  /** A rig by name, or any other, as `rigFromSheet` makes them. */
  readonly rig?: RigName | SimulatedRig;
  /** Announces another protocol version; for tests. */
  readonly version?: string;
  /** Announces another firmware, such as a real bench's; for tests. */
  readonly firmware?: string;
}

const STEP_ns = 1_000_000;
/** Faults that come on by and by are moved on so often. */
const FAULT_STEP_ms = 10;

interface ActiveFault {
  readonly options: FaultOptions | undefined;
  readonly injectedAt_ms: number;
  level: number;
}

export class SimulatedBench {
  readonly scenario: Scenario;
  readonly #plant: Plant;
  readonly #controller: Controller;
  readonly #wire: Wire;
  readonly #hand: StandHand;
  readonly #stand: Breakable;
  readonly #active = new Map<FaultId, ActiveFault>();
  #pending_ns = 0;
  #now_ms = 0;
  #bytesSent = 0;

  /** @throws RangeError for rates outside their ranges. */
  constructor(options: SimulatorOptions) {
    const fast_Hz = rateWithin(options.fast_Hz ?? 100, 1, 1000);
    const slow_Hz = rateWithin(options.slow_Hz ?? 10, 0.5, 1000);
    this.scenario = scenarios[options.scenario];
    const rig = typeof options.rig === 'object' ? options.rig : rigs[options.rig ?? 'lapwing-120'];
    this.#plant = new Plant({ rig, site: options.site ?? this.scenario.site ?? rig.home, seed: options.seed });
    this.#controller = new Controller(this.#plant, {
      fast_Hz,
      slow_Hz,
      seed: options.seed,
      version: options.version ?? '1.0',
      firmware: options.firmware ?? FIRMWARE,
    });
    this.#wire = new Wire(randomStream(options.seed, 'wire'));
    this.#stand = { plant: this.#plant, controller: this.#controller, wire: this.#wire };
    this.#hand = new StandHand(this.scenario, this.#controller, this.#plant);
    if (this.scenario.initial.kind === 'running') this.#startWarm(this.scenario.initial.throttle_percent);
  }

  get time_s(): number {
    return this.#now_ms / 1000;
  }

  /** Ground truth at this instant, for tests and training; never on the line. */
  get truth(): SimulatedTruth {
    return truthOf(this.#plant, this.#controller);
  }

  get activeFaults(): readonly FaultId[] {
    return [...this.#active.keys()];
  }

  get isLinkDown(): boolean {
    return this.#wire.isDown;
  }

  /** False once a host lease has made the person stand back. */
  get handsOn(): boolean {
    return this.#hand.handsOn;
  }

  /** Bytes that left the bench since the start, lost ones included. */
  get bytesSent(): number {
    return this.#bytesSent;
  }

  /** @throws RangeError for a negative or unnumbered time. */
  advance(dt_s: number): void {
    if (!(dt_s >= 0)) throw new RangeError(`expected a time step of 0 s or more, got ${dt_s}`);
    // Whole nanoseconds: sums of them are exact, so how a second is cut does not matter.
    this.#pending_ns += Math.round(dt_s * 1e9);
    // A thirtieth of a second is no whole number of nanoseconds: let 1 µs pass.
    while (this.#pending_ns + 1000 >= STEP_ns) {
      this.#pending_ns -= STEP_ns;
      this.#step();
    }
  }

  /** Bytes that have arrived at the host's end since the last call. */
  takeBytes(): Uint8Array {
    return this.#wire.take();
  }

  /** Bytes from the host. */
  write(chunk: Uint8Array): void {
    this.#controller.write(this.#wire.receive(chunk));
    this.#carry();
  }

  /** Breaks something; injecting an active fault again gives it new parameters and begins anew. */
  inject(fault: FaultId, options?: FaultOptions): void {
    const active: ActiveFault = { options, injectedAt_ms: this.#now_ms, level: 0 };
    this.#active.set(fault, active);
    this.#moveOn(fault, active);
  }

  /** Mends it; nothing happens if it is whole. */
  clear(fault: FaultId): void {
    const active = this.#active.get(fault);
    if (!active) return;
    this.#active.delete(fault);
    applyFault(this.#stand, fault, 0, active.options, false);
  }

  /** How far an active fault has come on, 0 to 1; undefined where it is not active. */
  levelOf(fault: FaultId): number | undefined {
    return this.#active.get(fault)?.level;
  }

  /** The person at the simulated stand. Returns whether it took effect. */
  act(action: StandAction): boolean {
    return this.#hand.act(action, this.#now_ms);
  }

  /** Random bytes between the lines, as a loose plug makes them; for tests. */
  injectGarbage(count: number): void {
    this.#wire.garbage(count);
  }

  #step(): void {
    this.#timedFaults();
    if (this.#active.size > 0 && this.#now_ms % FAULT_STEP_ms === 0) this.#faultsMoveOn();
    const fromHost = this.#wire.tick(this.#now_ms);
    if (fromHost.length > 0) this.#controller.write(fromHost);
    this.#hand.step(this.#now_ms);
    this.#plant.step();
    this.#controller.step();
    this.#carry();
    this.#now_ms++;
  }

  #faultsMoveOn(): void {
    for (const [fault, active] of this.#active) {
      this.#moveOn(fault, active);
      // These mend themselves.
      const since_s = (this.#now_ms - active.injectedAt_ms) / 1000;
      const begun_s = since_s - parameterOf(fault, 'onset_s', active.options);
      if (fault === 'link-drop' && begun_s >= parameterOf(fault, 'for_s', active.options)) this.clear(fault);
      if (fault === 'reboot' && active.level > 0 && begun_s > 0 && !this.#controller.isBooting) this.clear(fault);
    }
  }

  #moveOn(fault: FaultId, active: ActiveFault): void {
    const before = active.level;
    const level = faultLevel(fault, active.options, (this.#now_ms - active.injectedAt_ms) / 1000);
    if (level === before) return;
    active.level = level;
    applyFault(this.#stand, fault, level, active.options, before === 0);
  }

  #carry(): void {
    const bytes = this.#controller.takeBytes();
    this.#bytesSent += bytes.length;
    this.#wire.send(bytes);
  }

  #timedFaults(): void {
    for (const timed of this.scenario.faults) {
      if (Math.round(1000 * timed.at_s) === this.#now_ms) this.inject(timed.fault, timed.options);
      if (timed.until_s !== undefined && Math.round(1000 * timed.until_s) === this.#now_ms) this.clear(timed.fault);
    }
  }

  #startWarm(throttle_percent: number): void {
    const outputs = this.#controller.outputs;
    for (const name of ['fan', 'supply', 'servo', 'ignition'] as const) outputs.setSwitch(name, true);
    outputs.setThrottle(throttle_percent * 10);
    this.#controller.drive();
    const { idleSpeed_rpm, fullThrottleSpeed_rpm } = this.#plant.rig.engine;
    // Near enough; the warm start settles the rest.
    const speed_rpm = idleSpeed_rpm + (fullThrottleSpeed_rpm - idleSpeed_rpm) * Math.sqrt(throttle_percent / 100);
    this.#plant.startWarm(throttle_percent / 100, speed_rpm);
    this.#controller.sensors.settle();
    this.#controller.sensors.resetTotal();
  }
}

function rateWithin(rate_Hz: number, low: number, high: number): number {
  if (!(rate_Hz >= low && rate_Hz <= high)) {
    throw new RangeError(`expected ${low} to ${high} lines per second, got ${rate_Hz}`);
  }
  return rate_Hz;
}
