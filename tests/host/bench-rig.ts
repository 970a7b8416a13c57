/** An acquisition on the simulator, stepped by hand: simulated time, no timers, a store in memory. */
import { Acquisition } from '../../electron/host/acquisition.ts';
import type { HostClock } from '../../electron/host/clock.ts';
import { SimulatorSource } from '../../electron/host/simulator-source.ts';
import { MemoryStore } from '../../electron/host/store/memory-store.ts';
import { lapwing120 } from '../../shared-core/rig/lapwing.ts';
import type { ScenarioId } from '../../simulator/scenarios.ts';

export interface BenchRig {
  readonly acquisition: Acquisition;
  readonly source: SimulatorSource;
  readonly store: MemoryStore;
  /** Steps simulated time on. */
  pass(seconds: number): void;
  /** Steps until it holds; throws when it has not after `most_s`. */
  until(holds: () => boolean, most_s: number): void;
  valueOf(key: string): number;
  inputOf(key: string): 0 | 1 | 'X' | undefined;
  /** The list before the start is left open, and why is recorded: the starter may be held. */
  overrideLists(): void;
  close(): Promise<void>;
}

export function startBenchRig(scenario: ScenarioId, seed = 7): BenchRig {
  const source = new SimulatorSource({ scenario, seed, speed: 1 });
  const clock: HostClock = {
    now_us: () => source.now_us(),
    now_epochMs: () => 1_795_000_000_000 + source.now_us() / 1000,
  };
  const store = new MemoryStore();
  const acquisition = new Acquisition({ source, rig: lapwing120, store, clock, log: () => {} });
  acquisition.startUnpaced();
  return {
    acquisition,
    source,
    store,
    pass(seconds) {
      const until_s = source.bench.time_s + seconds;
      while (source.bench.time_s < until_s - 1e-9) source.step();
    },
    until(holds, most_s) {
      const until_s = source.bench.time_s + most_s;
      while (!holds()) {
        if (source.bench.time_s > until_s) throw new Error(`expected it to hold within ${most_s} s`);
        source.step();
      }
    },
    valueOf(key) {
      const { channels, value } = acquisition.pipeline.values;
      return value[channels.findIndex((each) => each.key === key)] ?? Number.NaN;
    },
    inputOf(key) {
      return acquisition.pipeline.inputs.find((each) => each.key === key)?.state;
    },
    overrideLists: () =>
      void acquisition.operator('operator 1', { kind: 'checklist-override', reason: 'bench without an engine' }),
    close: () => acquisition.close(),
  };
}
