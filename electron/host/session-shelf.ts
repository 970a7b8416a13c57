/** The library's sessions as pages ask for them and mark them: list, keep, note, tags, bin. */
import { err, ok, type Result } from '../../shared-core/base/result.ts';
import type { BridgeError } from '../../shared-core/bridge/contract.ts';
import type { RequestMessage } from './page.ts';
import { wordsOf } from './store/error-words.ts';
import type { SessionStore, StoreError } from './store/store-contract.ts';

export type ShelfRequest = Extract<RequestMessage, { method: `sessions.${'list' | 'keep' | 'note' | 'tags' | 'bin'}` }>;

export class SessionShelf {
  readonly #store: SessionStore;
  readonly #now_epochMs: () => number;
  readonly #log: (line: string) => void;

  constructor(store: SessionStore, now_epochMs: () => number, log: (line: string) => void) {
    this.#store = store;
    this.#now_epochMs = now_epochMs;
    this.#log = log;
  }

  ask(request: ShelfRequest): Result<unknown, BridgeError> {
    switch (request.method) {
      case 'sessions.list': {
        const listed = this.#store.list({ includeBinned: request.params.includeBinned === true });
        return listed.ok ? listed : err({ kind: 'disk', ...wordsOf(listed.error) });
      }
      case 'sessions.keep':
        return stored(this.#store.keep(request.params.id, request.params.keep));
      case 'sessions.note':
        return stored(this.#store.note(request.params.id, request.params.note));
      case 'sessions.tags':
        return stored(this.#store.tags(request.params.id, request.params.tags));
      case 'sessions.bin': {
        const { id, binned } = request.params;
        const done = this.#store.bin(id, binned ? this.#now_epochMs() : null);
        if (done.ok) this.#log(`session ${id} ${binned ? 'put into the bin' : 'taken out of the bin'}`);
        return stored(done);
      }
    }
  }

  /** By the retention rule. */
  prune(): void {
    const pruned = this.#store.prune(this.#now_epochMs());
    if (!pruned.ok) return;
    for (const id of pruned.value) {
      this.#log(`session ${id} let go by the retention rule: no run, no abort, not kept`);
    }
  }
}

function stored<T>(result: Result<T, StoreError>): Result<T, BridgeError> {
  if (result.ok) return ok(result.value);
  const kinds: Partial<Record<StoreError['kind'], string>> = {
    'session-not-found': 'not-found',
    'session-in-use': 'refused',
  };
  return err({ kind: kinds[result.error.kind] ?? 'disk', ...wordsOf(result.error) });
}
