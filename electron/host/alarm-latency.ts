/**
 * The way of alarms from the byte to the screen: stamps each change of the
 * alarms, takes what pages say of its painting, and keeps the figures of the
 * last changes for the health panel and the recording.
 */
import type { AlarmStamp, LatencyHealth } from '../../shared-core/bridge/contract.ts';
import type { JournalInput } from '../../shared-core/journal.ts';

/** Figures are over so many paintings. */
const KEPT = 200;
/** Stamps that a page may still speak of. */
const STAMPS_KEPT = 100;
/** A page that was asleep paints late; what it says of minutes ago is no latency. */
const LONGEST_MS = 60_000;
const NOTE_EVERY_MS = 60_000;

export class AlarmLatency {
  readonly #now_epochMs: () => number;
  readonly #issued = new Map<number, number>();
  readonly #ways_ms: number[] = [];
  #change = 0;
  #stamp: AlarmStamp | null = null;
  #isPosted = true;
  #shown = 0;
  #notedShown = 0;
  #noted_epochMs: number;

  constructor(now_epochMs: () => number) {
    this.#now_epochMs = now_epochMs;
    this.#noted_epochMs = now_epochMs();
  }

  /** Alarms or advisories have changed, by what arrived then. Of several before a snapshot the first counts. */
  changed(arrivedAt_epochMs: number): void {
    if (!this.#isPosted) return;
    this.#isPosted = false;
    this.#change++;
    const judgedAt_epochMs = this.#now_epochMs();
    this.#stamp = { change: this.#change, arrivedAt_epochMs, judgedAt_epochMs, postedAt_epochMs: judgedAt_epochMs };
    this.#issued.set(this.#change, arrivedAt_epochMs);
    this.#issued.delete(this.#change - STAMPS_KEPT);
  }

  get isPending(): boolean {
    return !this.#isPosted;
  }

  /** For the snapshot that goes out now. */
  posted(): AlarmStamp | null {
    if (!this.#isPosted && this.#stamp !== null) {
      this.#isPosted = true;
      this.#stamp = { ...this.#stamp, postedAt_epochMs: this.#now_epochMs() };
    }
    return this.#stamp;
  }

  /** A page has painted it. What it cannot know is left out. */
  shown(change: number, shownAt_epochMs: number): void {
    const arrivedAt_epochMs = this.#issued.get(change);
    if (arrivedAt_epochMs === undefined) return;
    const way_ms = shownAt_epochMs - arrivedAt_epochMs;
    if (!(way_ms >= 0 && way_ms <= LONGEST_MS)) return;
    this.#ways_ms.push(way_ms);
    this.#shown++;
    if (this.#ways_ms.length > KEPT) this.#ways_ms.shift();
  }

  get health(): LatencyHealth {
    const sorted = [...this.#ways_ms].sort((a, b) => a - b);
    const stamp = this.#stamp;
    return {
      shown: this.#shown,
      p50_ms: percentile(sorted, 0.5),
      p99_ms: percentile(sorted, 0.99),
      worst_ms: sorted.at(-1) ?? Number.NaN,
      posted_ms: stamp === null || !this.#isPosted ? Number.NaN : stamp.postedAt_epochMs - stamp.arrivedAt_epochMs,
    };
  }

  /** What is to be recorded now: once a minute, where something new was shown. */
  due(atOnce = false): Extract<JournalInput, { kind: 'latency' }> | null {
    const now_epochMs = this.#now_epochMs();
    if (this.#shown === this.#notedShown) return null;
    if (!atOnce && now_epochMs - this.#noted_epochMs < NOTE_EVERY_MS) return null;
    this.#noted_epochMs = now_epochMs;
    this.#notedShown = this.#shown;
    const { shown, p50_ms, p99_ms, worst_ms } = this.health;
    return { kind: 'latency', shown, p50_ms, p99_ms, worst_ms };
  }
}

/** Nearest rank of an ascending list; NaN of an empty one. */
export function percentile(sorted: readonly number[], part: number): number {
  return sorted[Math.max(0, Math.ceil(part * sorted.length) - 1)] ?? Number.NaN;
}
