/**
 * Back-tests over one or many sessions, in slices: between two slices it
 * listens, so that it can be asked how far it is, and cancelled. In a worker of
 * its own (`backtest-worker.ts`), so that views and replay go on beside it, it
 * takes long slices, since each opens its blocks anew, and is cancelled by a
 * shared flag that it looks at in between (`backtest-client.ts`).
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

/** In the caller's thread: cancelled within 200 ms by messages alone. */
const SHORT_SLICE_MS = 60;
const TELL_EVERY_MS = 100;

export interface BacktestHooks {
  readonly slice_ms?: number;
  /** Looked at with every second of recorded data, for the back-test of that number. */
  readonly isCancelled?: (number: number) => boolean;
  /** How far it is, about ten times a second and at its end. */
  readonly onView?: (view: BacktestView) => void;
}

interface Job {
  readonly id: string;
  readonly number: number;
  state: BacktestView['state'];
  progress: number;
  session: string | null;
  sentence: string;
  readonly results: SessionBackTest[];
  isCancelled: boolean;
}

export class BacktestRoom {
  readonly #store: SessionStore;
  readonly #hooks: BacktestHooks;
  #told_ms = 0;
  #job: Job | null = null;
  #running: Promise<void> = Promise.resolve();
  #number = 0;

  constructor(store: SessionStore, hooks: BacktestHooks = {}) {
    this.#store = store;
    this.#hooks = hooks;
  }

  async ask(request: BacktestRequest): Promise<Result<unknown, BridgeError>> {
    switch (request.method) {
      case 'backtest.start': {
        const refusal = backtestRefusal(request.params.rules);
        if (refusal !== null) return err(refusal);
        const number = this.#number + 1;
        await this.start(number, request.params.sessions, request.params.rules);
        return ok({ id: backtestId(number) });
      }
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

  /** Begins the back-test of this number; one that runs is cancelled before. */
  async start(number: number, sessions: readonly string[], rules: readonly LimitRule[]): Promise<void> {
    await this.close();
    this.#number = number;
    const job: Job = {
      ...{ id: backtestId(number), number, state: 'running', progress: 0, session: null, sentence: '' },
      ...{ results: [], isCancelled: false },
    };
    this.#job = job;
    this.#running = this.#run(job, [...new Set(sessions)], rules);
  }

  async #run(job: Job, sessions: readonly string[], rules: readonly LimitRule[]): Promise<void> {
    try {
      for (const [i, session] of sessions.entries()) {
        await breath();
        if (this.#isCancelled(job)) break;
        job.session = session;
        this.#tell(job);
        const result = await this.#session(job, session, rules, i / sessions.length, 1 / sessions.length);
        if (result !== null) job.results.push(result);
      }
      job.state = this.#isCancelled(job) ? 'cancelled' : job.results.length === 0 ? 'failed' : 'done';
      if (job.state === 'done') job.progress = 1;
    } catch (thrown) {
      job.state = 'failed';
      job.sentence = `The back-test broke off: ${thrown instanceof Error ? thrown.message : String(thrown)}.`;
    }
    job.session = null;
    this.#tell(job);
  }

  #isCancelled(job: Job): boolean {
    if (this.#hooks.isCancelled?.(job.number) === true) job.isCancelled = true;
    return job.isCancelled;
  }

  #tell(job: Job): void {
    this.#told_ms = performance.now();
    this.#hooks.onView?.(viewOf(job));
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
    const { row, rig } = session.value;
    const test = new BackTest(id, rig, rules);
    const sink = new Counted(test);
    const slice_ms = this.#hooks.slice_ms ?? SHORT_SLICE_MS;
    for (let isOver = false; !isOver; ) {
      const began_ms = performance.now();
      isOver = true;
      const read = this.#store.replay(id, sink, {
        fromOrd: sink.nextOrd,
        shouldStop: () => {
          const now_ms = performance.now();
          if (now_ms - this.#told_ms >= TELL_EVERY_MS) {
            job.progress = done + share * Math.min(1, test.now_us / Math.max(1, row.duration_us));
            this.#tell(job);
          }
          if (!this.#isCancelled(job) && now_ms - began_ms < slice_ms) return false;
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
      if (this.#isCancelled(job)) return null;
    }
    // A session that is being recorded has gone on meanwhile, and the fold with it.
    const now = row.isOpen ? this.#store.load(id) : session;
    return test.result(
      (now.ok ? now : session).value.events.flatMap(({ t_us, side, body }): { t_us: number; body: JournalOutput }[] =>
        side === 'out' ? [{ t_us, body }] : [],
      ),
    );
  }

  #jobOf(id: string): Result<Job, BridgeError> {
    if (this.#job?.id === id) return ok(this.#job);
    return err({ kind: 'not-found', sentence: 'There is no such back-test any more.', remedy: 'Start it again.' });
  }
}

export function backtestId(number: number): string {
  return `backtest-${number}`;
}

/** Why these rules cannot be tried; null when they can. */
export function backtestRefusal(rules: readonly LimitRule[]): BridgeError | null {
  const findings = rules.flatMap((rule) => ruleContradictions(rule, rule.title));
  const ids = rules.map((rule) => rule.id);
  if (new Set(ids).size !== ids.length) findings.push('two rules have the same id');
  if (findings.length === 0) return null;
  return { kind: 'invalid', sentence: `Not started: ${findings.join('; ')}.`, remedy: 'Mend the rule.' };
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
