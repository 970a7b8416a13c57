/**
 * What the open pages are shown, and when: the live stream's display steps and
 * snapshots, and the replay's as they come. One set of pages for both.
 */
import type { DisplayBatch, HostMessage, Layout, Snapshot, StreamName } from '../../shared-core/bridge/contract.ts';
import { systemClock } from './clock.ts';
import type { Page } from './page.ts';

/**
 * About thirty display steps a second, each sent on the arrival of bytes: what has just come does not wait for a timer,
 * and with the screen's own 17 ms a byte is drawn within 60 ms (tests/bench/live.ts). When nothing comes, a timer goes
 * on at this pace, so that a silent link shows. Numbers change at most five times a second.
 */
export const DISPLAY_EVERY_MS = 33;
/** An arrival this soon after a step begins the next; at 100 lines a second, every third does. */
const ARRIVAL_AFTER_MS = 27;
const SNAPSHOT_EVERY_MS = 200;
/** Snapshots of alarm changes follow at this distance at least. */
const URGENT_EVERY_MS = 20;

/** Where the live stream comes from. */
export interface LiveSide {
  layout(): Layout;
  snapshot(): Snapshot;
  /** What happened since the last one; null while nothing is connected. */
  takeDisplay(): DisplayBatch | null;
}

export class PageStream {
  readonly #live: LiveSide;
  readonly #pages = new Set<Page>();
  readonly #timers: readonly ReturnType<typeof setInterval>[];
  #displayed_us = 0;
  #urgentAt_us = Number.NEGATIVE_INFINITY;
  #urgent: ReturnType<typeof setTimeout> | null = null;
  #isStopped = false;
  #replayLayout: Layout | null = null;
  #lastReplay: Snapshot | null = null;

  /** @param live asked later, not yet here */
  constructor(live: LiveSide) {
    this.#live = live;
    this.#timers = [
      setInterval(() => this.#displayAfter(DISPLAY_EVERY_MS), DISPLAY_EVERY_MS),
      setInterval(() => this.snapshot(), SNAPSHOT_EVERY_MS),
    ];
  }

  get pages(): Iterable<Page> {
    return this.#pages;
  }

  /** The page is told at once where live stream and replay stand. */
  add(page: Page): void {
    this.#pages.add(page);
    page.snapshot(this.#live.snapshot(), () => this.#live.layout());
    const layout = this.#replayLayout;
    if (this.#lastReplay !== null && layout !== null) page.snapshot(this.#lastReplay, () => layout);
  }

  remove(page: Page): void {
    this.#pages.delete(page);
  }

  /** Bytes came. */
  arrived(): void {
    this.#displayAfter(ARRIVAL_AFTER_MS);
  }

  snapshot(): void {
    if (this.#pages.size === 0) return;
    const snapshot = this.#live.snapshot();
    for (const page of this.#pages) page.snapshot(snapshot, () => this.#live.layout());
  }

  /** Alarms do not wait for the round; of a flood, one snapshot each `URGENT_EVERY_MS`. */
  urgent(): void {
    if (this.#urgent !== null || this.#isStopped) return;
    const wait_ms = URGENT_EVERY_MS - (systemClock.now_us() - this.#urgentAt_us) / 1000;
    const show = (): void => {
      this.#urgent = null;
      this.#urgentAt_us = systemClock.now_us();
      this.snapshot();
    };
    if (wait_ms <= 0) show();
    else this.#urgent = setTimeout(show, wait_ms);
  }

  replay(message: HostMessage): void {
    if (message.type === 'layout') this.#replayLayout = message.layout;
    const layout = this.#replayLayout;
    if (message.type === 'snapshot' && layout !== null) {
      this.#lastReplay = message.snapshot;
      for (const page of this.#pages) page.snapshot(message.snapshot, () => layout);
    }
    if (message.type === 'display') for (const page of this.#pages) page.display(message.batch);
  }

  replayClosed(): void {
    this.#lastReplay = null;
  }

  /** What comes next may number its layouts like the one before. */
  forgetLayout(stream: StreamName): void {
    for (const page of this.#pages) page.forgetLayout(stream);
  }

  /** Closes the pages, too. */
  close(): void {
    this.stop();
    for (const page of this.#pages) page.close();
  }

  /** Nothing is shown from now on. */
  stop(): void {
    this.#isStopped = true;
    for (const timer of this.#timers) clearInterval(timer);
    if (this.#urgent !== null) clearTimeout(this.#urgent);
  }

  #displayAfter(least_ms: number): void {
    const now_us = systemClock.now_us();
    if (now_us - this.#displayed_us < least_ms * 1000) return;
    this.#displayed_us = now_us;
    if (this.#pages.size === 0) return;
    const batch = this.#live.takeDisplay();
    if (batch !== null) for (const page of this.#pages) page.display(batch);
  }
}
