/**
 * The whole simulated bench: plant, controller, wire, faults and the person at
 * the stand, advanced in steps of 1 ms. Bytes out, bytes in; no clock, no
 * port. The same options and the same calls give the same bytes, whatever the
 * sizes of the advances.
 */
import { Controller } from './bench/controller.ts';
import { Wire } from './bench/wire.ts';
import { type FaultId, type FaultOptions, parameterOf } from './faults.ts';
import { hillWorkshop, type Site } from './physics/air.ts';
import { Plant } from './physics/plant.ts';
import { randomStream } from './physics/random.ts';
import { type RigName, rigs } from './rigs.ts';
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
  readonly site?: Site;
  readonly rig?: RigName;
  /** Announces another protocol version; for tests. */
  readonly version?: string;
}

const STEP_ns = 1_000_000;

export class SimulatedBench {
  readonly scenario: Scenario;
  readonly #plant: Plant;
  readonly #controller: Controller;
  readonly #wire: Wire;
  readonly #hand: StandHand;
  readonly #active = new Map<FaultId, FaultOptions>();
  #pending_ns = 0;
  #now_ms = 0;
  #linkUntil_ms = 0;
  #bytesSent = 0;

  /** @throws RangeError for rates outside their ranges. */
  constructor(options: SimulatorOptions) {
    const fast_Hz = rateWithin(options.fast_Hz ?? 100, 1, 1000);
    const slow_Hz = rateWithin(options.slow_Hz ?? 10, 0.5, 1000);
    this.scenario = scenarios[options.scenario];
    this.#plant = new Plant(
      rigs[options.rig ?? 'lapwing-120'],
      options.site ?? hillWorkshop,
      hillWorkshop,
      options.seed,
    );
    this.#controller = new Controller(this.#plant, {
      fast_Hz,
      slow_Hz,
      seed: options.seed,
      version: options.version ?? '1.0',
    });
    this.#wire = new Wire(randomStream(options.seed, 'wire'));
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

  /** Breaks something; injecting an active fault again gives it new parameters. */
  inject(fault: FaultId, options?: FaultOptions): void {
    this.#active.set(fault, options ?? {});
    this.#apply(fault, options, true);
  }

  /** Mends it; nothing happens if it is whole. */
  clear(fault: FaultId): void {
    if (!this.#active.delete(fault)) return;
    this.#apply(fault, undefined, false);
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
    this.#hand.step(this.#now_ms);
    this.#plant.step();
    this.#controller.step();
    this.#carry();
    this.#now_ms++;
    if (this.#linkUntil_ms > 0 && this.#now_ms >= this.#linkUntil_ms) this.clear('link-drop');
    if (!this.#controller.isBooting && this.#active.has('reboot')) this.#active.delete('reboot');
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

  #apply(fault: FaultId, options: FaultOptions | undefined, isOn: boolean): void {
    const plant = this.#plant;
    const sensors = this.#controller.sensors.faults;
    const value = (key: string): number => parameterOf(fault, key, options);
    switch (fault) {
      case 'cht-open':
      case 'egt-short': {
        const flags = fault === 'cht-open' ? sensors.isHeadOpen : sensors.isExhaustShort;
        flags.fill(false);
        if (isOn) flags[Math.min(flags.length, Math.round(value('cylinder'))) - 1] = true;
        break;
      }
      case 'fan-off':
        plant.inputs.isFanDead = isOn;
        break;
      case 'overspeed':
        plant.inputs.unload = isOn ? value('share') : 0;
        break;
      case 'fuel-starvation':
        plant.fuel.isStarved = isOn;
        break;
      case 'fuel-meter-high':
        sensors.flowFactor = isOn ? value('factor') : 1;
        break;
      case 'generator-dead':
        plant.electrics.isGeneratorDead = isOn;
        break;
      case 'stop-open':
        this.#controller.outputs.isStopClosed = !isOn;
        break;
      case 'cage-open':
        this.#controller.outputs.isCageClosed = !isOn;
        break;
      case 'thrust-stuck':
        sensors.isThrustStuck = isOn;
        break;
      case 'line-noise':
        this.#wire.setBitErrorRate(isOn ? value('rate') : 0);
        break;
      case 'link-drop':
        this.#wire.isDown = isOn;
        this.#linkUntil_ms = isOn ? this.#now_ms + Math.round(1000 * value('for_s')) : 0;
        break;
      case 'reboot':
        if (isOn) this.#controller.reboot();
        break;
    }
  }
}

function rateWithin(rate_Hz: number, low: number, high: number): number {
  if (!(rate_Hz >= low && rate_Hz <= high)) {
    throw new RangeError(`expected ${low} to ${high} lines per second, got ${rate_Hz}`);
  }
  return rate_Hz;
}
