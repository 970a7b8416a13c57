/**
 * Whole recordings, looked at or copied out as files of their own. Each such
 * work has a reading worker to itself, since it reads a recording from end to
 * end without a pause; cancelling ends the worker.
 */
import { mkdirSync, rmSync } from 'node:fs';
import { join } from 'node:path';
import { err, type Result } from '../../shared-core/base/result.ts';
import type { BridgeError } from '../../shared-core/bridge/contract.ts';
import { type Reading, type ReadingRequest, SESSION_FILE_EXTENSION } from './reading/reading-room.ts';

type WholeRequest = Extract<ReadingRequest, { method: 'export.session' | 'sessions.verify' }>;
export type WholeWork = 'session' | 'verify';

export class SessionFiles {
  readonly #exportsFolder: string;
  readonly #newReading: () => Reading;
  readonly #working = new Map<string, { readonly reading: Reading; isCancelled: boolean }>();

  /** @param newReading a reading room of its own for each work, closed after it */
  constructor(exportsFolder: string, newReading: () => Reading) {
    this.#exportsFolder = exportsFolder;
    this.#newReading = newReading;
  }

  async ask(request: WholeRequest): Promise<Result<unknown, BridgeError>> {
    const work: WholeWork = request.method === 'export.session' ? 'session' : 'verify';
    const { id } = request.params;
    const key = `${work} ${id}`;
    if (this.#working.has(key)) {
      return err({
        kind: 'busy',
        sentence: work === 'session' ? 'This session is being copied already.' : 'This session is being read already.',
        remedy: 'Wait until it is done, or cancel it.',
      });
    }
    const now = { reading: this.#newReading(), isCancelled: false };
    this.#working.set(key, now);
    try {
      if (work === 'session') mkdirSync(this.#exportsFolder, { recursive: true });
      const done = await now.reading.ask(request);
      if (!now.isCancelled) return done;
      // What the worker was writing when it ended.
      if (work === 'session') {
        const file = join(this.#exportsFolder, `${id}${SESSION_FILE_EXTENSION}`);
        for (const left of [file, `${file}.part`]) rmSync(left, { force: true });
      }
      return err({ kind: 'cancelled', sentence: 'Cancelled.', remedy: '' });
    } finally {
      this.#working.delete(key);
      await now.reading.close();
    }
  }

  async cancel(work: WholeWork, id: string): Promise<void> {
    const now = this.#working.get(`${work} ${id}`);
    if (now === undefined) return;
    now.isCancelled = true;
    await now.reading.close();
  }

  async close(): Promise<void> {
    await Promise.all([...this.#working.values()].map((each) => each.reading.close()));
  }
}
