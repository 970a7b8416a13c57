/**
 * The receiving half of a carrier: keeps what comes before a handler is set,
 * tells the end once, and lets nothing through after it. Carriers differ in
 * how they move messages, not in this.
 */

export interface Inbox<In> {
  /** A message has come. Ignored after the end. */
  deliver(message: In): void;
  /** The carrier has ended; a second call does nothing. */
  end(): void;
  readonly isEnded: boolean;
  onMessage(handler: (message: In) => void): void;
  onClose(handler: () => void): void;
}

export function createInbox<In>(): Inbox<In> {
  let handler: ((message: In) => void) | null = null;
  let waiting: In[] = [];
  let isEnded = false;
  const closeHandlers: (() => void)[] = [];

  return {
    deliver(message) {
      if (isEnded) return;
      if (handler === null) waiting.push(message);
      else handler(message);
    },
    end() {
      if (isEnded) return;
      isEnded = true;
      waiting = [];
      for (const close of closeHandlers) close();
    },
    get isEnded() {
      return isEnded;
    },
    onMessage(next) {
      handler = next;
      const early = waiting;
      waiting = [];
      for (const message of early) {
        // The handler may close the carrier while it is served the early ones.
        if (!isEnded) next(message);
      }
    },
    onClose(close) {
      closeHandlers.push(close);
      // Told late rather than never; in its own turn, as a listener would be.
      if (isEnded) void Promise.resolve().then(close);
    },
  };
}
