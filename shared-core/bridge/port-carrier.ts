/**
 * A carrier over one end of a message channel: the page's MessagePort,
 * Electron's MessagePortMain, or Node's. They clone what is posted, so typed
 * arrays and NaN pass as they are; no transfer list is given, because
 * MessagePortMain loses transferred buffers (electron#37157).
 */
import type { Carrier } from './contract.ts';
import { createInbox } from './inbox.ts';

/** What the three kinds of port have in common. */
export interface PortLike {
  postMessage(message: unknown): void;
  start(): void;
  close(): void;
}

/** How one kind of port tells of a message's data and of its end. */
export type ListenToPort = (onData: (data: unknown) => void, onEnd: () => void) => void;

/**
 * In-band end, sent by `close`. A port's own close event reaches the other
 * side late or, in older engines, not at all; it is listened to as well, for
 * an end that died without a word.
 */
const GOODBYE = 'runstand:goodbye';

/** What arrives is typed on trust: `parseRendererMessage` and `parseHostMessage` are for checking it. */
export function createPortCarrier<Out, In>(port: PortLike, listen: ListenToPort): Carrier<Out, In> {
  const inbox = createInbox<In>();
  const end = (): void => {
    if (inbox.isEnded) return;
    inbox.end();
    port.close();
  };
  listen((data) => {
    if (data === GOODBYE) end();
    else inbox.deliver(data as In);
  }, end);
  port.start();
  return {
    post(message) {
      if (!inbox.isEnded) port.postMessage(message);
    },
    onMessage: inbox.onMessage,
    onClose: inbox.onClose,
    close() {
      if (!inbox.isEnded) port.postMessage(GOODBYE);
      end();
    },
  };
}
