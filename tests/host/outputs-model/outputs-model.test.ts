/**
 * Random courses of operators, line, bench and the host's death over the real
 * outputs, codec and bench: never ignition or starter on without a live lease
 * and a live permission, and nothing on again by itself. What must hold is
 * looked at in every millisecond (`model-stand.ts`).
 */
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { type Act, anyAct, anyPause_ms, crank, goLive, run } from './acts.ts';
import { type Flaw, ModelStand } from './model-stand.ts';

/** `MODEL_RUNS=5000` looks longer. */
const RUNS = Number(process.env.MODEL_RUNS ?? 300);
const ACTS = 30;

interface Model {
  /** Acts done: the stand itself holds what must be so. */
  done: number;
}

class Step implements fc.Command<Model, ModelStand> {
  readonly #act: Act;
  readonly #pause_ms: number;
  constructor(act: Act, pause_ms: number) {
    this.#act = act;
    this.#pause_ms = pause_ms;
  }
  check(): boolean {
    return true;
  }
  run(model: Model, stand: ModelStand): void {
    model.done += 1;
    // A host that stands still takes in nothing until it goes on.
    if (stand.now_ms < stand.stalledUntil_ms) stand.pass(stand.stalledUntil_ms - stand.now_ms);
    this.#act.do(stand);
    stand.pass(this.#pause_ms);
  }
  toString(): string {
    return `${this.#act.name}; ${this.#pause_ms} ms`;
  }
}

const starts = { locked: () => {}, live: goLive, cranking: crank, running: run } as const;

type Totals = ModelStand['seen'];

function courses(flaw: Flaw, onEnd: (seen: Totals) => void) {
  return fc.property(
    fc.constantFrom<keyof typeof starts>('locked', 'live', 'live', 'cranking', 'cranking', 'running'),
    fc.integer({ min: 1, max: 2 ** 31 - 1 }),
    fc.commands([fc.tuple(anyAct, anyPause_ms).map(([act, pause_ms]) => new Step(act, pause_ms))], {
      maxCommands: ACTS,
      size: 'max',
    }),
    (start, seed, commands) => {
      const stand = new ModelStand(seed, flaw);
      starts[start](stand);
      fc.modelRun(() => ({ model: { done: 0 }, real: stand }), commands);
      // Whatever there was: with the host gone, all of it is off within a lease.
      stand.killHost();
      stand.pass(1500);
      onEnd(stand.seen);
    },
  );
}

describe('given operators, a line, a bench and a host that may die', () => {
  const seed = Date.now() % 2 ** 31;

  test(`when anything happens in any order (seed ${seed}), then nothing is on without lease and permission, nor by itself`, {
    timeout: 120_000 + 200 * RUNS,
  }, () => {
    const total: Totals = {
      starterOn_ms: 0,
      ignitionOn_ms: 0,
      deathsWhileCranking: 0,
      kept_ms: 0,
      leaseLapses: 0,
      repeats: 0,
    };
    fc.assert(
      courses('none', (seen) => {
        for (const key of Object.keys(total) as (keyof Totals)[]) total[key] += seen[key];
      }),
      { seed, numRuns: RUNS },
    );
    // The courses came where it matters.
    expect(total.starterOn_ms).toBeGreaterThan(10_000);
    expect(total.ignitionOn_ms).toBeGreaterThan(20_000);
    for (const key of ['deathsWhileCranking', 'kept_ms', 'leaseLapses', 'repeats'] as const) {
      expect(total[key], key).toBeGreaterThan(10);
    }
  });

  test.each<Exclude<Flaw, 'none'>>([
    'host keeps the lease when it locks',
    'host says an old command again after it was switched off',
    'host goes on cranking after the hand let go',
    'bench lets a lease last five seconds',
    'bench holds the starter for a second',
    'bench asks for no lease',
    'bench executes a repeated command again',
  ])(`when it is broken on purpose: %s (seed ${seed}), then it is found`, { timeout: 120_000 }, (flaw) => {
    const found = fc.check(
      courses(flaw, () => {}),
      { seed, numRuns: 2 * RUNS, endOnFailure: true },
    );
    expect(found.failed).toBe(true);
  });
});
