/**
 * The events of one recorded session, as a page has them: all of them at
 * first, and with every further asking those that have come since. A session
 * of hours that is still being recorded is thus not sent anew every second.
 */
import type { Result } from '../../shared-core/base/result.ts';
import type { BridgeError } from '../../shared-core/bridge/contract.ts';
import type { JournalEvent } from '../../shared-core/journal.ts';

export type EventsAnswer = Result<readonly JournalEvent[], BridgeError>;
/** Asks the host for the events of a session from an `ord` on. */
export type AskForEvents = (params: { id: string; fromOrd: number }) => Promise<EventsAnswer>;

export class EventFeed {
  readonly session: string;
  readonly #ask: AskForEvents;
  #events: readonly JournalEvent[] = [];
  #nextOrd = 0;
  #turn: Promise<unknown> = Promise.resolve();

  constructor(session: string, ask: AskForEvents) {
    this.session = session;
    this.#ask = ask;
  }

  /**
   * All that is recorded by now, but for the counts and clock mappings that
   * come every second. The same list as before where nothing has come.
   */
  refresh(): Promise<EventsAnswer> {
    // One after the other: two that asked from the same place would bring the same events.
    const mine = this.#turn.then(() => this.#more());
    this.#turn = mine;
    return mine;
  }

  async #more(): Promise<EventsAnswer> {
    const answer = await this.#ask({ id: this.session, fromOrd: this.#nextOrd });
    if (!answer.ok) return answer;
    const last = answer.value.at(-1);
    if (last !== undefined) this.#nextOrd = last.ord + 1;
    const news = answer.value.filter(({ body }) => body.kind !== 'counts' && body.kind !== 'clock');
    if (news.length > 0) this.#events = [...this.#events, ...news];
    return { ok: true, value: this.#events };
  }
}
