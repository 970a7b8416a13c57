/**
 * The recorder: takes the journal as it happens and makes it durable at least
 * once a second. When the disk is in trouble it holds the data in memory,
 * says so at once, and writes it when room returns. Storage is in `store/`.
 */
import type { RecorderHealth } from '../../shared-core/bridge/contract.ts';
import type { JournalInput, JournalOutput, JournalSink } from '../../shared-core/journal.ts';
import type { HostClock } from './clock.ts';
import { wordsOf } from './store/error-words.ts';
import type { SessionStore, SessionSummary, SessionWriter } from './store/store-contract.ts';

/** Half of the second that may be lost at most: one commit may be late by its own length. */
export const COMMIT_EVERY_MS = 500;

export class Recorder implements JournalSink {
  readonly #store: SessionStore;
  readonly #writer: SessionWriter;
  readonly #clock: HostClock;
  readonly #summary: () => SessionSummary;
  readonly #timer: ReturnType<typeof setInterval>;
  #health: RecorderHealth;
  /** Told after every commit, tried or done. */
  onHealth: (health: RecorderHealth) => void = () => {};
  #lastOrd = -1;
  #isClosed = false;

  constructor(store: SessionStore, writer: SessionWriter, clock: HostClock, summary: () => SessionSummary) {
    this.#store = store;
    this.#writer = writer;
    this.#clock = clock;
    this.#summary = summary;
    this.#health = {
      state: 'recording',
      sentence: '',
      remedy: '',
      sessionBytes: 0,
      freeBytes: store.freeBytes(),
      held_s: 0,
      lastCommit_epochMs: clock.now_epochMs(),
    };
    this.#timer = setInterval(() => this.commit(), COMMIT_EVERY_MS);
  }

  get health(): RecorderHealth {
    return { ...this.#health, held_s: this.#health.state === 'holding' ? this.#writer.held_s : 0 };
  }

  frame(ord: number, t_us: number, group: number, raw: Int32Array, columns: number): void {
    this.#lastOrd = ord;
    this.#writer.frame(ord, t_us, group, raw, columns);
  }

  tick(ord: number, t_us: number): void {
    this.#lastOrd = ord;
    this.#writer.tick(ord, t_us);
  }

  event(ord: number, t_us: number, body: JournalInput): void {
    this.#lastOrd = ord;
    this.#writer.event({ ord, t_us, side: 'in', body });
  }

  /** What the fold made of the entry last recorded. */
  output(t_us: number, body: JournalOutput): void {
    this.#writer.event({ ord: this.#lastOrd, t_us, side: 'out', body });
  }

  commit(): void {
    if (this.#isClosed) return;
    this.#tryCommit();
    this.onHealth(this.health);
  }

  #tryCommit(): void {
    const done = this.#writer.commit(this.#summary());
    if (done.ok) {
      this.#health = {
        state: 'recording',
        sentence: '',
        remedy: '',
        sessionBytes: done.value.bytes,
        freeBytes: this.#store.freeBytes(),
        held_s: 0,
        lastCommit_epochMs: this.#clock.now_epochMs(),
      };
      return;
    }
    const words = wordsOf(done.error);
    this.#health = { ...this.#health, ...words, state: 'holding', freeBytes: this.#store.freeBytes() };
  }

  close(): void {
    if (this.#isClosed) return;
    clearInterval(this.#timer);
    const done = this.#writer.close(this.#summary(), this.#clock.now_epochMs());
    if (!done.ok) this.#health = { ...this.#health, ...wordsOf(done.error), state: 'stopped' };
    this.#isClosed = true;
  }
}
