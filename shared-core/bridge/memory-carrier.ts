/**
 * Host and renderer in one process: tests, the demo, benchmarks. Messages
 * arrive in a later turn and in order, and go through the wire form, so that
 * neither side sees the other's arrays and a field that no carrier could move
 * fails here too.
 */
import type { Carrier } from './contract.ts';
import { createInbox, type Inbox } from './inbox.ts';
import { decodeWire, encodeWire } from './wire.ts';

export interface CarrierPair<A, B> {
  /** Posts A, receives B. */
  readonly first: Carrier<A, B>;
  /** Posts B, receives A. */
  readonly second: Carrier<B, A>;
}

/** Two ends joined; what is still on its way when an end closes is delivered before the other end is told. */
export function createMemoryCarriers<A, B>(): CarrierPair<A, B> {
  const forFirst = createInbox<B>();
  const forSecond = createInbox<A>();
  // One queue for both ways keeps "closed" behind the messages posted before it.
  let last: Promise<void> = Promise.resolve();
  const later = (act: () => void): void => {
    last = last.then(act);
  };
  return { first: end<A, B>(forFirst, forSecond, later), second: end<B, A>(forSecond, forFirst, later) };
}

function end<Out, In>(own: Inbox<In>, other: Inbox<Out>, later: (act: () => void) => void): Carrier<Out, In> {
  return {
    post(message) {
      if (own.isEnded) return;
      const bytes = encodeWire(message);
      later(() => {
        const decoded = decodeWire(bytes);
        if (!decoded.ok) throw new Error(`our own bytes did not decode: ${decoded.error}`);
        other.deliver(decoded.value as Out);
      });
    },
    onMessage: own.onMessage,
    onClose: own.onClose,
    close() {
      own.end();
      later(() => other.end());
    },
  };
}
