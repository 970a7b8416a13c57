/**
 * What was done to a simulated bench, slice by slice. The simulator gives the
 * same bytes for the same calls, so an earlier moment is reached by a new
 * bench of the same seed and the same calls up to it.
 */
import type { FaultId, FaultOptions } from '../../simulator/faults.ts';
import type { SimulatedRig } from '../../simulator/rigs.ts';
import type { ScenarioId, StandAction } from '../../simulator/scenarios.ts';
import { SimulatedBench } from '../../simulator/simulated-bench.ts';

/** Simulated time per hand-over: small enough for the 250 ms of the held starter at any speed. */
export const SLICE_US = 20_000;
/** About eleven hours with a lease; beyond, going through it again would take minutes. */
const MOST_CALLS = 200_000;
/** Work between two breaths, so that pages are answered meanwhile. */
const BREATH_MS = 30;

export type BenchCall =
  | { readonly does: 'write'; readonly bytes: Uint8Array }
  | { readonly does: 'inject'; readonly fault: FaultId; readonly options: FaultOptions | undefined }
  | { readonly does: 'clear'; readonly fault: FaultId }
  | { readonly does: 'act'; readonly action: StandAction };

/** An earlier moment: so many slices, with these calls, each before the slice that it is numbered by. */
export interface SimulatorMoment {
  readonly slices: number;
  readonly calls: readonly { readonly slice: number; readonly call: BenchCall }[];
}

export class SimulatorPast {
  slices: number;
  readonly #calls: { slice: number; call: BenchCall }[];
  #isTooLong = false;

  constructor(from?: SimulatorMoment) {
    this.slices = from?.slices ?? 0;
    this.#calls = [...(from?.calls ?? [])];
  }

  stepped(): void {
    this.slices++;
  }

  did(call: BenchCall): void {
    if (this.#isTooLong) return;
    this.#calls.push({ slice: this.slices, call });
    if (this.#calls.length <= MOST_CALLS) return;
    this.#isTooLong = true;
    this.#calls.length = 0;
  }

  moment(): SimulatorMoment | null {
    return this.#isTooLong ? null : { slices: this.slices, calls: [...this.#calls] };
  }
}

/** What a bench is made of. */
export interface BenchMakings {
  readonly seed: number;
  readonly scenario: ScenarioId;
  readonly rig?: SimulatedRig | undefined;
}

export function newBench({ seed, scenario, rig }: BenchMakings): SimulatedBench {
  return new SimulatedBench({ seed, scenario, ...(rig === undefined ? {} : { rig }) });
}

/** A bench as it was at that moment. Takes about a three-hundredth of the simulated time, with breaths. */
export async function benchAt(
  settings: BenchMakings,
  moment: SimulatorMoment,
): Promise<{ readonly bench: SimulatedBench; readonly past: SimulatorPast }> {
  const bench = newBench(settings);
  let next = 0;
  let breathed_ms = performance.now();
  for (let slice = 0; slice <= moment.slices; slice++) {
    for (; next < moment.calls.length && moment.calls[next]!.slice === slice; next++)
      call(bench, moment.calls[next]!.call);
    if (slice === moment.slices) break;
    bench.advance(SLICE_US / 1e6);
    bench.takeBytes();
    if (performance.now() - breathed_ms < BREATH_MS) continue;
    await new Promise((resolve) => setImmediate(resolve));
    breathed_ms = performance.now();
  }
  return { bench, past: new SimulatorPast(moment) };
}

function call(bench: SimulatedBench, what: BenchCall): void {
  switch (what.does) {
    case 'write':
      bench.write(what.bytes);
      break;
    case 'inject':
      bench.inject(what.fault, what.options);
      break;
    case 'clear':
      bench.clear(what.fault);
      break;
    case 'act':
      bench.act(what.action);
      break;
  }
}
