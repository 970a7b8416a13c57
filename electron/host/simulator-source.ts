/**
 * The built-in simulator as a byte source: the same bytes that a bench would
 * send, paced by the host's clock times `speed`. The physics and the bench
 * are in `simulator/`.
 */
import type { SimulatorView } from '../../shared-core/bridge/contract.ts';
import { type ScenarioId, scenarios } from '../../simulator/scenarios.ts';
import { SimulatedBench } from '../../simulator/simulated-bench.ts';
import type { ByteSource, ByteSourceEvents } from './byte-source.ts';
import { type HostClock, systemClock } from './clock.ts';

const TIMER_MS = 20;
/** Simulated time per hand-over: small enough for the 250 ms of the held starter at any speed. */
const SLICE_US = 20_000;
/** A stall longer than this (a sleeping laptop) is not caught up. */
const LONGEST_STEP_US = 5_000_000;

export interface SimulatorSettings {
  readonly scenario: ScenarioId;
  readonly seed: number;
  /** Simulated seconds per second. */
  readonly speed: number;
}

export class SimulatorSource implements ByteSource {
  readonly kind = 'simulator';
  readonly name: string;
  readonly bench: SimulatedBench;
  speed: number;
  /** Called after every slice: simulated time has passed. */
  onStepped: () => void = () => {};
  readonly #settings: SimulatorSettings;
  readonly #clock: HostClock;
  #time_us = 0;
  #events: ByteSourceEvents | null = null;
  #timer: ReturnType<typeof setInterval> | null = null;

  constructor(settings: SimulatorSettings, clock: HostClock = systemClock) {
    this.#settings = settings;
    this.#clock = clock;
    this.speed = settings.speed;
    this.bench = new SimulatedBench({ seed: settings.seed, scenario: settings.scenario });
    this.name = scenarios[settings.scenario].title;
  }

  /** Clock of this source, for all that is timed against its bytes: simulated time, whatever the speed. */
  now_us(): number {
    return this.#time_us;
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
      owed_us = Math.min(owed_us + (now_us - last_us) * this.speed, LONGEST_STEP_US);
      last_us = now_us;
      while (owed_us >= SLICE_US) {
        owed_us -= SLICE_US;
        this.step();
      }
    }, TIMER_MS);
  }

  /** One slice of simulated time. */
  step(): void {
    this.#time_us += SLICE_US;
    this.bench.advance(SLICE_US / 1e6);
    const bytes = this.bench.takeBytes();
    if (bytes.length > 0) this.#events?.onBytes(bytes, this.#time_us);
    this.onStepped();
  }

  write(bytes: Uint8Array): boolean {
    this.bench.write(bytes);
    return true;
  }

  view(): SimulatorView {
    return {
      scenario: this.#settings.scenario,
      title: this.name,
      seed: this.#settings.seed,
      speed: this.speed,
      time_s: this.bench.time_s,
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
