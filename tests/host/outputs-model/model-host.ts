/**
 * One life of the host in the model: the real acquisition (intake, pipeline,
 * outputs) and the real watch over pages, on the model's clock. Its death is
 * that nobody calls it any more.
 */
import { Acquisition } from '../../../electron/host/acquisition.ts';
import type { ByteSource, ByteSourceEvents } from '../../../electron/host/byte-source.ts';
import { PageWatch } from '../../../electron/host/page-watch.ts';
import { MemoryStore } from '../../../electron/host/store/memory-store.ts';
import { lapwing120 } from '../../../shared-core/rig/lapwing.ts';

/** `HoldButton` and `acts-bar.tsx`: a page says its hold again so often. */
const SAY_AGAIN_MS = 150;
/** `contract.ts`, `outputs.starter`. */
const HOLD_LASTS_MS = 500;
/** `acts-bar.tsx`: the second step of unlocking waits so long. */
const UNLOCK_WAIT_MS = 8000;

export interface PageState {
  isOpen: boolean;
  isSeen: boolean;
  isFrozen: boolean;
  /** Number of the press under way; null where the button is not held or the host has ended it. */
  press: number | null;
  said_ms: number;
  askedToUnlock_ms: number;
}

export class ModelHost {
  readonly acquisition: Acquisition;
  readonly pages: readonly PageState[] = [newPage(), newPage()];
  events: ByteSourceEvents | null = null;
  readonly #watch: PageWatch<PageState>;
  readonly #timers: { due_ms: number; run: () => void }[] = [];
  #now_ms: number;
  #heldUntil_ms = Number.NEGATIVE_INFINITY;
  static #presses = 0;

  constructor(now_ms: number, write: (bytes: Uint8Array) => boolean) {
    this.#now_ms = now_ms;
    const source: ByteSource = {
      kind: 'port',
      name: 'model',
      start: (events) => {
        this.events = events;
      },
      write,
      close: async () => {},
    };
    this.acquisition = new Acquisition({
      source,
      rig: lapwing120,
      store: new MemoryStore(),
      clock: { now_us: () => this.#now_ms * 1000, now_epochMs: () => 1_795_000_000_000 + this.#now_ms },
      log: () => {},
    });
    this.#watch = new PageWatch<PageState>((why) => this.acquisition.outputs.pageGone(why), {
      after: (delay_ms, run) => {
        const timer = { due_ms: this.#now_ms + delay_ms, run };
        this.#timers.push(timer);
        return () => {
          timer.due_ms = Number.POSITIVE_INFINITY;
        };
      },
    });
    this.openPage(this.pages[0]!);
    this.acquisition.startUnpaced();
  }

  get outputs() {
    return this.acquisition.outputs;
  }

  plug(isIn: boolean): void {
    const state = isIn ? 'open' : 'waiting';
    this.events?.onStatus({ state, sentence: '', remedy: '', attempts: 1, nextAttemptIn_ms: null });
  }

  /** A hold is in force: taken from a page that has said it within the time that a hold lasts, and not let go. */
  isHeldAt(now_ms: number): boolean {
    return now_ms <= this.#heldUntil_ms;
  }

  time(now_ms: number): void {
    this.#now_ms = now_ms;
  }

  /** What a process does as time passes: timers, pages that speak, its own tick. */
  run(now_ms: number): void {
    for (const timer of this.#timers.filter((each) => each.due_ms <= now_ms)) {
      timer.due_ms = Number.POSITIVE_INFINITY;
      timer.run();
    }
    for (const page of this.pages) {
      if (page.isOpen && !page.isFrozen && page.press !== null && now_ms - page.said_ms >= SAY_AGAIN_MS)
        this.#say(page);
    }
    if (now_ms % 20 === 0) this.acquisition.idle();
  }

  openPage(page: PageState): void {
    Object.assign(page, newPage(), { isOpen: true });
    this.#watch.opened(page);
  }

  /** Gone without a word: crashed, closed, its machine asleep. */
  losePage(page: PageState): void {
    if (!page.isOpen) return;
    page.isOpen = false;
    page.press = null;
    this.#watch.gone(page);
  }

  see(page: PageState, isSeen: boolean): void {
    if (!page.isOpen) return;
    if (!isSeen) this.release(page);
    page.isSeen = isSeen;
    this.#watch.says(page, isSeen);
  }

  press(page: PageState): void {
    if (!page.isOpen || !this.outputs.isLive || page.press !== null) return;
    // Lists are not what is tried here: whoever presses has recorded why they are open.
    if (!this.acquisition.pipeline.startLists.isOverridden)
      this.acquisition.operator('operator 1', { kind: 'checklist-override', reason: 'invented' });
    ModelHost.#presses += 1;
    page.press = ModelHost.#presses;
    this.#say(page);
  }

  release(page: PageState): void {
    if (!page.isOpen) return;
    const press = page.press ?? 0;
    page.press = null;
    this.#heldUntil_ms = this.#now_ms;
    this.outputs.holdStarter('operator 1', false, press);
  }

  unlockFirst(page: PageState): void {
    if (page.isOpen) page.askedToUnlock_ms = this.#now_ms;
  }

  unlockSecond(page: PageState): void {
    if (!page.isOpen || this.#now_ms - page.askedToUnlock_ms > UNLOCK_WAIT_MS) return;
    page.askedToUnlock_ms = Number.NEGATIVE_INFINITY;
    if (this.#watch.isSeen(page)) this.outputs.setLive(true, 'by operator 1');
  }

  #say(page: PageState): void {
    page.said_ms = this.#now_ms;
    const held = this.outputs.holdStarter('operator 1', true, page.press!);
    if (held.ok) this.#heldUntil_ms = this.#now_ms + HOLD_LASTS_MS;
    else page.press = null;
  }
}

function newPage(): PageState {
  return {
    isOpen: false,
    isSeen: true,
    isFrozen: false,
    press: null,
    said_ms: Number.NEGATIVE_INFINITY,
    askedToUnlock_ms: Number.NEGATIVE_INFINITY,
  };
}
