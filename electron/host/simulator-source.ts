/**
 * The built-in simulator as a byte source: the same bytes that a bench would
 * send, paced by the host's clock times `speed`. The physics and the bench
 * are in `simulator/`; going back to an earlier moment is `simulator-past.ts`.
 */
import type { SimulatorView } from '../../shared-core/bridge/contract.ts';
import type { FaultId, FaultOptions } from '../../simulator/faults.ts';
import type { SimulatedRig } from '../../simulator/rigs.ts';
import { type ScenarioId, type StandAction, scenarios } from '../../simulator/scenarios.ts';
import type { SimulatedBench } from '../../simulator/simulated-bench.ts';
import type { ByteSource, ByteSourceEvents } from './byte-source.ts';
import { type HostClock, systemClock } from './clock.ts';
import { newBench, type SimulatorMoment, SimulatorPast, SLICE_US } from './simulator-past.ts';

const TIMER_MS = 20;
/** A stall longer than this (a sleeping laptop) is not caught up. */
const LONGEST_STEP_US = 5_000_000;

export interface SimulatorSettings {
  readonly scenario: ScenarioId;
  readonly seed: number;
  /** Simulated seconds per second. */
  readonly speed: number;
  /** Default: the demo rig. */
  readonly rig?: SimulatedRig | undefined;
  /** Shown instead of the scenario's title. */
  readonly name?: string;
}

/** A bench that has been brought to a moment, and what brought it there. */
export interface SimulatorAtMoment {
  readonly bench: SimulatedBench;
  readonly past: SimulatorPast;
}

export class SimulatorSource implements ByteSource {
  readonly kind = 'simulator';
  readonly name: string;
  readonly bench: SimulatedBench;
  readonly settings: SimulatorSettings;
  speed: number;
  /** Simulated time stands still, and with it all that is timed by it. */
  isPaused = false;
  /** Called after every slice: simulated time has passed. */
  onStepped: () => void = () => {};
  readonly #clock: HostClock;
  readonly #past: SimulatorPast;
  #events: ByteSourceEvents | null = null;
  #timer: ReturnType<typeof setInterval> | null = null;

  constructor(settings: SimulatorSettings, clock: HostClock = systemClock, from?: SimulatorAtMoment) {
    this.settings = settings;
    this.#clock = clock;
    this.speed = settings.speed;
    this.bench = from?.bench ?? newBench(settings);
    this.#past = from?.past ?? new SimulatorPast();
    this.name = settings.name ?? scenarios[settings.scenario].title;
  }

  /** Clock of this source, for all that is timed against its bytes: simulated time, whatever the speed. */
  now_us(): number {
    return this.#past.slices * SLICE_US;
  }

  /** This moment, to come back to; null where the simulation has gone on for too long to be gone through again. */
  moment(): SimulatorMoment | null {
    return this.#past.moment();
  }

  /** Opens it without a timer: `step` is then called by whoever drives it. */
  open(events: ByteSourceEvents): void {
    this.#events = events;
    events.onStatus({
      state: 'open',
      sentence: `The built-in simulator plays "${this.name}". No engine is connected.`,
      remedy: '',
      attempts: 1,
      nextAttemptIn_ms: null,
    });
  }

  start(events: ByteSourceEvents): void {
    this.open(events);
    let last_us = this.#clock.now_us();
    let owed_us = 0;
    this.#timer = setInterval(() => {
      const now_us = this.#clock.now_us();
      if (!this.isPaused) owed_us = Math.min(owed_us + (now_us - last_us) * this.speed, LONGEST_STEP_US);
      last_us = now_us;
      // A pause that is asked for while time is being caught up holds at once.
      while (owed_us >= SLICE_US && !this.isPaused) {
        owed_us -= SLICE_US;
        this.step();
      }
    }, TIMER_MS);
  }

  /** One slice of simulated time. */
  step(): void {
    this.#past.stepped();
    this.bench.advance(SLICE_US / 1e6);
    const bytes = this.bench.takeBytes();
    if (bytes.length > 0) this.#events?.onBytes(bytes, this.now_us());
    this.onStepped();
  }

  write(bytes: Uint8Array): boolean {
    this.#past.did({ does: 'write', bytes: bytes.slice() });
    this.bench.write(bytes);
    return true;
  }

  inject(fault: FaultId, options?: FaultOptions): void {
    this.#past.did({ does: 'inject', fault, options });
    this.bench.inject(fault, options);
  }

  clear(fault: FaultId): void {
    this.#past.did({ does: 'clear', fault });
    this.bench.clear(fault);
  }

  /** The person at the stand. Returns whether it took effect. */
  act(action: StandAction): boolean {
    this.#past.did({ does: 'act', action });
    return this.bench.act(action);
  }

  view(): SimulatorView {
    return {
      scenario: this.settings.scenario,
      title: this.name,
      seed: this.settings.seed,
      speed: this.speed,
      time_s: this.bench.time_s,
      isPaused: this.isPaused,
      activeFaults: [...this.bench.activeFaults],
      handsOn: this.bench.handsOn,
    };
  }

  async close(): Promise<void> {
    if (this.#timer !== null) clearInterval(this.#timer);
    this.#timer = null;
    this.#events = null;
  }
}
