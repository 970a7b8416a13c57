/** The host's side of the reading worker: starts it when first asked, passes requests, brings back what it shows. */
import { Worker } from 'node:worker_threads';
import type { Result } from '../../../shared-core/base/result.ts';
import type { BridgeError } from '../../../shared-core/bridge/contract.ts';
import type { Reading, ReadingRequest, ReadingShow } from './reading-room.ts';
import type { WorkerAsk, WorkerSays } from './worker.ts';

const END_WITHIN_MS = 500;

export class ReadingClient implements Reading {
  readonly #folder: string;
  readonly #exportsFolder: string;
  readonly #show: (message: ReadingShow) => void;
  readonly #waiting = new Map<number, (result: Result<unknown, BridgeError>) => void>();
  #worker: Worker | null = null;
  #nextId = 1;

  constructor(folder: string, exportsFolder: string, show: (message: ReadingShow) => void) {
    this.#folder = folder;
    this.#exportsFolder = exportsFolder;
    this.#show = show;
  }

  ask(request: ReadingRequest): Promise<Result<unknown, BridgeError>> {
    const worker = this.#started();
    const id = this.#nextId++;
    const ask: WorkerAsk = { id, request };
    return new Promise((resolve) => {
      this.#waiting.set(id, resolve);
      worker.postMessage(ask);
    });
  }

  async close(): Promise<void> {
    const worker = this.#worker;
    this.#worker = null;
    if (worker === null) return;
    const ended = new Promise<void>((resolve) => worker.once('exit', () => resolve()));
    worker.postMessage('end');
    // It closes its database by itself; one that is deep in a read is not waited for.
    await Promise.race([ended, new Promise((resolve) => setTimeout(resolve, END_WITHIN_MS).unref())]);
    await worker.terminate();
  }

  #started(): Worker {
    if (this.#worker !== null) return this.#worker;
    // From source under Node's type stripping, or beside the host's bundle.
    const isBundled = !import.meta.url.endsWith('.ts');
    const worker = new Worker(new URL(isBundled ? './reading-worker.js' : './worker.ts', import.meta.url), {
      workerData: { folder: this.#folder, exportsFolder: this.#exportsFolder },
    });
    worker.on('message', (said: WorkerSays) => {
      if (said.kind === 'show') this.#show(said.message);
      else {
        this.#waiting.get(said.id)?.(said.result);
        this.#waiting.delete(said.id);
      }
    });
    worker.on('error', (error) => this.#fail(`The reading worker failed: ${error.message}.`));
    worker.on('exit', () => this.#fail('The reading worker ended.'));
    this.#worker = worker;
    return worker;
  }

  #fail(sentence: string): void {
    this.#worker = null;
    for (const resolve of this.#waiting.values()) {
      resolve({ ok: false, error: { kind: 'internal', sentence, remedy: 'Recording is not touched. Try again.' } });
    }
    this.#waiting.clear();
  }
}
