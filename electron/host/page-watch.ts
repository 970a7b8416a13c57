/**
 * Whether anybody can see the engine: at least one page open and not hidden.
 * When the last one goes, a page that is loaded again has the grace to come
 * back; after it, nobody watches, and outputs must lock.
 */
import { systemTimers, type Timers } from './serial/timers.ts';

/** The time of a reload or of a glance at another window, not of a walk. A held starter ends sooner by itself. */
export const PAGE_GRACE_MS = 3000;

export class PageWatch<Page> {
  readonly #onNobody: (why: string) => void;
  readonly #timers: Timers;
  readonly #seen = new Map<Page, boolean>();
  #callOff: (() => void) | null = null;

  constructor(onNobody: (why: string) => void, timers: Timers = systemTimers) {
    this.#onNobody = onNobody;
    this.#timers = timers;
  }

  opened(page: Page): void {
    this.#seen.set(page, true);
    this.#look();
  }

  gone(page: Page): void {
    this.#seen.delete(page);
    this.#look();
  }

  /** The page says whether it can be seen. */
  says(page: Page, isSeen: boolean): void {
    if (this.#seen.has(page)) this.#seen.set(page, isSeen);
    this.#look();
  }

  /** Who cannot be seen may not go live: nobody would see that it is. */
  isSeen(page: Page): boolean {
    return this.#seen.get(page) === true;
  }

  close(): void {
    this.#callOff?.();
    this.#callOff = null;
  }

  #look(): void {
    if ([...this.#seen.values()].includes(true)) {
      this.close();
    } else {
      this.#callOff ??= this.#timers.after(PAGE_GRACE_MS, () => {
        this.#callOff = null;
        this.#onNobody(this.#seen.size === 0 ? 'no page open' : 'the page is hidden');
      });
    }
  }
}
