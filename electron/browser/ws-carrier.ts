/**
 * The host's end of one page's WebSocket. Bytes are those of `wire.ts`, one
 * message each. Who may connect is `browser-door.ts`'s business.
 */
import type { WebSocket } from 'ws';
import type { HostCarrier, RendererMessage } from '../../shared-core/bridge/contract.ts';
import { createInbox } from '../../shared-core/bridge/inbox.ts';
import { decodeWire, encodeWire } from '../../shared-core/bridge/wire.ts';

/**
 * Bytes that may wait for a page that does not read. Display batches are held
 * back by credits long before; this bounds what is left, so that a hung page
 * cannot take the host's memory. Twice the largest answer that the schema
 * lets a page ask for (`view`: 128 channels, 8192 columns, three arrays).
 */
export const MAX_WAITING_BYTES = 2 * 128 * 8192 * 3 * 8;

/** Close codes of RFC 6455, section 7.4.1. */
const closeCode = { unsupported: 1003, malformed: 1007, tooSlow: 1008 } as const;

/** What arrives is decoded, and typed on trust: the host checks it against the schema (`host/page.ts`). */
export function createWsCarrier(socket: WebSocket, log: (line: string) => void): HostCarrier {
  const inbox = createInbox<RendererMessage>();
  socket.on('message', (data: Buffer, isBinary: boolean) => {
    if (!isBinary) return socket.close(closeCode.unsupported);
    const message = decodeWire(data);
    if (message.ok) return inbox.deliver(message.value as RendererMessage);
    log(`a page was disconnected: ${message.error}`);
    socket.close(closeCode.malformed);
  });
  socket.on('error', (error) => log(`a page's connection failed: ${error.message}`));
  socket.on('close', () => inbox.end());
  return {
    post(message) {
      if (inbox.isEnded || socket.readyState !== socket.OPEN) return;
      if (socket.bufferedAmount > MAX_WAITING_BYTES) {
        log('a page was disconnected: it did not read what was sent');
        socket.close(closeCode.tooSlow);
        // A page that does not read does not answer a close either.
        socket.terminate();
        return;
      }
      socket.send(encodeWire(message));
    },
    onMessage: inbox.onMessage,
    onClose: inbox.onClose,
    close() {
      inbox.end();
      socket.close();
    },
  };
}
