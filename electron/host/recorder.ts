/**
 * The recorder: takes the journal as it happens and makes it durable at least
 * once a second. When the disk is in trouble it holds the data in memory,
 * says so at once and for how long that can go on, and writes it when room
 * returns. Storage is in `store/`.
 */
import type { RecorderHealth } from '../../shared-core/bridge/contract.ts';
import type { JournalInput, JournalOutput, JournalSink } from '../../shared-core/journal.ts';
import type { SavedFold } from '../../shared-core/pipeline/fold-memory.ts';
import type { PipelineView } from '../../shared-core/pipeline-contract.ts';
import type { HostClock } from './clock.ts';
import { DiskForecast } from './disk-forecast.ts';
import { wordsOf } from './store/error-words.ts';
import { KEYFRAME_EVERY_US, packKeyframe } from './store/keyframe.ts';
import type { SessionStore, SessionSummary, SessionWriter } from './store/store-contract.ts';

/** Half of the second that may be lost at most: one commit may be late by its own length. */
export const COMMIT_EVERY_MS = 500;
/**
 * Most that is held while the disk is in trouble: packed, about two days of 32
 * channels at 100 Hz. Beyond it frames are no longer taken, and the operator is told.
 */
export const MOST_HELD_BYTES = 256 * 1024 * 1024;

export class Recorder implements JournalSink {
  readonly #store: SessionStore;
  readonly #writer: SessionWriter;
  readonly #clock: HostClock;
  readonly #summary: () => SessionSummary;
  readonly #timer: ReturnType<typeof setInterval>;
  #health: RecorderHealth;
  /** Told after every commit, tried or done. */
  onHealth: (health: RecorderHealth) => void = () => {};
  readonly #mostHeldBytes: number;
  readonly #forecast = new DiskForecast();
  #lastOrd = -1;
  /** The held data has reached its bound: frames are not taken. */
  #isFull = false;
  /** Frames were not taken: the fold has seen what no replay will, so it is no place to begin one from. */
  #hasLost = false;
  #nextKeyframe_us = KEYFRAME_EVERY_US;
  #derivedKeys: readonly string[] = [];
  #derivedFrom = 0;
  #layoutVersion = -1;
  #isClosed = false;

  constructor(
    store: SessionStore,
    writer: SessionWriter,
    clock: HostClock,
    summary: () => SessionSummary,
    mostHeldBytes: number = MOST_HELD_BYTES,
  ) {
    this.#store = store;
    this.#mostHeldBytes = mostHeldBytes;
    this.#writer = writer;
    this.#clock = clock;
    this.#summary = summary;
    this.#health = {
      state: 'recording',
      sentence: '',
      remedy: '',
      sessionBytes: 0,
      freeBytes: store.freeBytes(),
      forecast_h: null,
      held_s: 0,
      lastCommit_epochMs: clock.now_epochMs(),
    };
    this.#timer = setInterval(() => this.commit(), COMMIT_EVERY_MS);
  }

  get health(): RecorderHealth {
    return { ...this.#health, held_s: this.#health.state === 'recording' ? 0 : this.#writer.held_s };
  }

  frame(ord: number, t_us: number, group: number, raw: Int32Array, columns: number): void {
    this.#lastOrd = ord;
    if (this.#isFull) return;
    this.#writer.frame(ord, t_us, group, raw, columns);
  }

  tick(ord: number, t_us: number): void {
    this.#lastOrd = ord;
    if (this.#isFull) return;
    this.#writer.tick(ord, t_us);
  }

  /** After each frame, what the pipeline made of it: for the levels that plots of derived channels read. */
  values(t_us: number, view: PipelineView): void {
    const { channels, value, updated_us } = view.values;
    if (view.layoutVersion !== this.#layoutVersion) {
      this.#layoutVersion = view.layoutVersion;
      const derived = channels.filter((channel) => channel.origin.kind === 'derived');
      const keys = derived.map((channel) => channel.key);
      // The same channels keep their array: to the store another one means another list.
      if (keys.join() !== this.#derivedKeys.join()) this.#derivedKeys = keys;
      this.#derivedFrom = derived[0]?.ordinal ?? 0;
    }
    if (this.#derivedKeys.length === 0 || this.#isFull) return;
    this.#writer.derived(t_us, this.#derivedKeys, value, updated_us, this.#derivedFrom);
  }

  /** After an entry has been folded: now and then what the fold remembers is kept, for replays to begin there. */
  folded(ord: number, t_us: number, fold: { save(): SavedFold }): void {
    if (t_us < this.#nextKeyframe_us) return;
    this.#nextKeyframe_us = t_us + KEYFRAME_EVERY_US;
    if (!this.#hasLost) this.#writer.keyframe(packKeyframe(ord, t_us, fold.save()));
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
    const now_epochMs = this.#clock.now_epochMs();
    const freeBytes = this.#store.freeBytes();
    if (done.ok) {
      this.#isFull = false;
      this.#forecast.grown(now_epochMs, done.value.bytes);
      this.#health = {
        state: 'recording',
        sentence: '',
        remedy: '',
        sessionBytes: done.value.bytes,
        freeBytes,
        forecast_h: this.#forecast.left_h(freeBytes),
        held_s: 0,
        lastCommit_epochMs: now_epochMs,
      };
      return;
    }
    const { sentence, remedy } = wordsOf(done.error);
    const { heldBytes, held_s } = this.#writer;
    this.#isFull = heldBytes >= this.#mostHeldBytes;
    this.#hasLost ||= this.#isFull;
    const holding = this.#isFull
      ? `${lengthText(held_s)} are held in memory, which is all that may be: what comes now is NOT recorded.`
      : `Memory lasts about ${lengthText(((this.#mostHeldBytes - heldBytes) / Math.max(1, heldBytes)) * held_s)} more.`;
    this.#health = {
      ...this.#health,
      state: this.#isFull ? 'stopped' : 'holding',
      sentence: held_s > 1 || this.#isFull ? `${sentence} ${holding}` : sentence,
      remedy,
      freeBytes,
      forecast_h: this.#forecast.left_h(freeBytes),
    };
  }

  close(): void {
    if (this.#isClosed) return;
    clearInterval(this.#timer);
    const done = this.#writer.close(this.#summary(), this.#clock.now_epochMs());
    if (!done.ok) this.#health = { ...this.#health, ...wordsOf(done.error), state: 'stopped' };
    this.#isClosed = true;
  }
}

/** `40 s`, `12 min`, `31 h`. */
function lengthText(seconds: number): string {
  if (seconds < 120) return `${Math.round(seconds)} s`;
  return seconds < 7200 ? `${Math.round(seconds / 60)} min` : `${Math.round(seconds / 3600)} h`;
}
