/**
 * Back-tests over one or many sessions, in slices: between two slices it
 * listens, so that it can be asked how far it is, and cancelled. Runs in a
 * worker of its own (`backtest-worker.ts`), so that views and replay go on
 * beside it, or in the caller's thread where sessions are in memory.
 */
import { err, ok, type Result } from '../../../shared-core/base/result.ts';
import type { BacktestView, BridgeError, Requests } from '../../../shared-core/bridge/contract.ts';
import type { JournalInput, JournalOutput, JournalSink } from '../../../shared-core/journal.ts';
import { BackTest, type SessionBackTest } from '../../../shared-core/limits/back-test.ts';
import type { LimitRule } from '../../../shared-core/limits/rules.ts';
import { ruleContradictions } from '../../../shared-core/rig/sheet-contradictions.ts';
import { wordsOf } from '../store/error-words.ts';
import type { SessionStore } from '../store/store-contract.ts';

type Ask<M extends 'backtest.start' | 'backtest.cancel' | 'backtest.result'> = {
  readonly method: M;
  readonly params: Requests[M]['params'];
};
export type BacktestRequest = Ask<'backtest.start'> | Ask<'backtest.cancel'> | Ask<'backtest.result'>;

/** Cancelled within 200 ms: a slice, and what the journal reads between two looks at the clock. */
const SLICE_MS = 60;

interface Job {
  readonly id: string;
  state: BacktestView['state'];
  progress: number;
  session: string | null;
  sentence: string;
  readonly results: SessionBackTest[];
  isCancelled: boolean;
}

export class BacktestRoom {
  readonly #store: SessionStore;
  #job: Job | null = null;
  #running: Promise<void> = Promise.resolve();
  #number = 0;

  constructor(store: SessionStore) {
    this.#store = store;
  }

  async ask(request: BacktestRequest): Promise<Result<unknown, BridgeError>> {
    switch (request.method) {
      case 'backtest.start':
        return this.#start(request.params.sessions, request.params.rules);
      case 'backtest.cancel': {
        const job = this.#jobOf(request.params.id);
        if (!job.ok) return job;
        job.value.isCancelled = true;
        await this.#running;
        return ok(null);
      }
      case 'backtest.result': {
        const job = this.#jobOf(request.params.id);
        return job.ok ? ok(viewOf(job.value)) : job;
      }
    }
  }

  /** Whatever runs ends. */
  async close(): Promise<void> {
    if (this.#job !== null) this.#job.isCancelled = true;
    await this.#running;
  }

  async #start(sessions: readonly string[], rules: readonly LimitRule[]): Promise<Result<{ id: string }, BridgeError>> {
    const findings = rules.flatMap((rule) => ruleContradictions(rule, rule.title));
    const ids = rules.map((rule) => rule.id);
    if (new Set(ids).size !== ids.length) findings.push('two rules have the same id');
    if (findings.length > 0) {
      return err({ kind: 'invalid', sentence: `Not started: ${findings.join('; ')}.`, remedy: 'Mend the rule.' });
    }
    await this.close();
    const id = `backtest-${++this.#number}`;
    const job: Job = {
      ...{ id, state: 'running', progress: 0, session: null, sentence: '', results: [], isCancelled: false },
    };
    this.#job = job;
    this.#running = this.#run(job, [...new Set(sessions)], rules);
    return ok({ id });
  }

  async #run(job: Job, sessions: readonly string[], rules: readonly LimitRule[]): Promise<void> {
    try {
      for (const [i, session] of sessions.entries()) {
        await breath();
        if (job.isCancelled) break;
        job.session = session;
        const result = await this.#session(job, session, rules, i / sessions.length, 1 / sessions.length);
        if (result !== null) job.results.push(result);
      }
      job.state = job.isCancelled ? 'cancelled' : job.results.length === 0 ? 'failed' : 'done';
      if (job.state === 'done') job.progress = 1;
    } catch (thrown) {
      job.state = 'failed';
      job.sentence = `The back-test broke off: ${thrown instanceof Error ? thrown.message : String(thrown)}.`;
    }
    job.session = null;
  }

  /** Null where the session could not be read, or when cancelled. */
  async #session(
    job: Job,
    id: string,
    rules: readonly LimitRule[],
    done: number,
    share: number,
  ): Promise<SessionBackTest | null> {
    const session = this.#store.load(id);
    if (!session.ok) {
      job.sentence = `Session ${id} was left out. ${wordsOf(session.error).sentence}`;
      return null;
    }
    const { row, rig, events } = session.value;
    const test = new BackTest(id, rig, rules);
    const sink = new Counted(test);
    for (let isOver = false; !isOver; ) {
      const began_ms = performance.now();
      isOver = true;
      const read = this.#store.replay(id, sink, {
        fromOrd: sink.nextOrd,
        shouldStop: () => {
          if (!job.isCancelled && performance.now() - began_ms < SLICE_MS) return false;
          isOver = false;
          return true;
        },
      });
      if (!read.ok) {
        job.sentence = `Session ${id} was read only in part. ${wordsOf(read.error).sentence}`;
        break;
      }
      const part = row.duration_us > 0 ? Math.min(1, test.now_us / row.duration_us) : 1;
      job.progress = done + share * part;
      await breath();
      if (job.isCancelled) return null;
    }
    return test.result(
      events.flatMap(({ t_us, side, body }): { t_us: number; body: JournalOutput }[] =>
        side === 'out' ? [{ t_us, body }] : [],
      ),
    );
  }

  #jobOf(id: string): Result<Job, BridgeError> {
    if (this.#job?.id === id) return ok(this.#job);
    return err({ kind: 'not-found', sentence: 'There is no such back-test any more.', remedy: 'Start it again.' });
  }
}

/** Knows where the next slice begins. */
class Counted implements JournalSink {
  readonly #sink: JournalSink;
  nextOrd = 0;

  constructor(sink: JournalSink) {
    this.#sink = sink;
  }
  frame(ord: number, t_us: number, group: number, raw: Int32Array, columns: number): void {
    this.nextOrd = ord + 1;
    this.#sink.frame(ord, t_us, group, raw, columns);
  }
  tick(ord: number, t_us: number): void {
    this.nextOrd = ord + 1;
    this.#sink.tick(ord, t_us);
  }
  event(ord: number, t_us: number, body: JournalInput): void {
    this.nextOrd = ord + 1;
    this.#sink.event(ord, t_us, body);
  }
}

function viewOf(job: Job): BacktestView {
  const { id, state, progress, session, sentence, results } = job;
  return { id, state, progress, session, sentence, results: [...results] };
}

/** Lets waiting messages in. */
function breath(): Promise<void> {
  return new Promise((resolve) => setImmediate(resolve));
}
