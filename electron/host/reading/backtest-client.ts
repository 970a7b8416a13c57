/**
 * The host's side of the back-test worker: starts it when first asked, keeps
 * what it says of its progress, and cancels it by a flag in shared memory,
 * which it sees although it is busy.
 */
import { Worker } from 'node:worker_threads';
import { err, ok, type Result } from '../../../shared-core/base/result.ts';
import type { BacktestView, BridgeError } from '../../../shared-core/bridge/contract.ts';
import { type BacktestRequest, backtestId, backtestRefusal } from './backtest-room.ts';
import type { BacktestStart } from './backtest-worker.ts';

const END_WITHIN_MS = 500;

export class BacktestClient {
  readonly #folder: string;
  readonly #cancelled = new Int32Array(new SharedArrayBuffer(4));
  #worker: Worker | null = null;
  #number = 0;
  #view: BacktestView | null = null;
  #waiting: (() => void)[] = [];

  /** @param folder data folder with the recordings */
  constructor(folder: string) {
    this.#folder = folder;
  }

  async ask(request: BacktestRequest): Promise<Result<unknown, BridgeError>> {
    if (request.method === 'backtest.start') return this.#start(request.params);
    const { id } = request.params;
    if (this.#view?.id !== id) {
      return err({ kind: 'not-found', sentence: 'There is no such back-test any more.', remedy: 'Start it again.' });
    }
    if (request.method === 'backtest.result') return ok(this.#view);
    await this.#cancel();
    return ok(null);
  }

  async close(): Promise<void> {
    const worker = this.#worker;
    this.#worker = null;
    if (worker === null) return;
    Atomics.store(this.#cancelled, 0, this.#number);
    const ended = new Promise<void>((resolve) => worker.once('exit', () => resolve()));
    worker.postMessage('end');
    await Promise.race([ended, new Promise((resolve) => setTimeout(resolve, END_WITHIN_MS).unref())]);
    await worker.terminate();
  }

  #start(
    params: Extract<BacktestRequest, { method: 'backtest.start' }>['params'],
  ): Result<{ id: string }, BridgeError> {
    const refusal = backtestRefusal(params.rules);
    if (refusal !== null) return err(refusal);
    Atomics.store(this.#cancelled, 0, this.#number);
    const number = ++this.#number;
    const id = backtestId(number);
    this.#view = { id, state: 'running', progress: 0, session: null, sentence: '', results: [] };
    const start: BacktestStart = { number, sessions: params.sessions, rules: params.rules };
    this.#started().postMessage(start);
    return ok({ id });
  }

  async #cancel(): Promise<void> {
    Atomics.store(this.#cancelled, 0, this.#number);
    if (this.#view?.state !== 'running') return;
    await new Promise<void>((resolve) => this.#waiting.push(resolve));
  }

  #started(): Worker {
    if (this.#worker !== null) return this.#worker;
    // From source under Node's type stripping, or beside the host's bundle.
    const isBundled = !import.meta.url.endsWith('.ts');
    const file = new URL(isBundled ? './backtest-worker.js' : './backtest-worker.ts', import.meta.url);
    const worker = new Worker(file, { workerData: { folder: this.#folder, cancelled: this.#cancelled } });
    worker.on('message', (view: BacktestView) => {
      // What an older one still says is of no interest.
      if (view.id === this.#view?.id) this.#take(view);
    });
    worker.on('error', (error) => this.#fail(`The back-test worker failed: ${error.message}.`));
    worker.on('exit', () => this.#fail('The back-test worker ended.'));
    this.#worker = worker;
    return worker;
  }

  #take(view: BacktestView): void {
    this.#view = view;
    if (view.state === 'running') return;
    for (const resolve of this.#waiting.splice(0)) resolve();
  }

  #fail(sentence: string): void {
    this.#worker = null;
    if (this.#view?.state === 'running') this.#take({ ...this.#view, state: 'failed', session: null, sentence });
  }
}
