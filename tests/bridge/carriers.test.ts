/** Every carrier under the one conformance suite. */
import { createServer } from 'node:http';
import type { AddressInfo } from 'node:net';
import { MessageChannel, type MessagePort } from 'node:worker_threads';
import { expect, test } from 'vitest';
import { WebSocket, WebSocketServer } from 'ws';
import { createWsCarrier } from '../../electron/browser/ws-carrier.ts';
import type { Carrier, HostMessage, RendererMessage } from '../../shared-core/bridge/contract.ts';
import { createInbox } from '../../shared-core/bridge/inbox.ts';
import { createMemoryCarriers } from '../../shared-core/bridge/memory-carrier.ts';
import { createPortCarrier } from '../../shared-core/bridge/port-carrier.ts';
import { decodeWire, encodeWire } from '../../shared-core/bridge/wire.ts';
import { carrierConformance } from '../contracts/carrier.ts';

carrierConformance('in-memory', async () => {
  const { first, second } = createMemoryCarriers<HostMessage, RendererMessage>();
  return { host: first, page: second, dispose: async () => {} };
});

carrierConformance('message-port', async () => {
  const { port1, port2 } = new MessageChannel();
  return {
    // As in the host process, where MessagePortMain emits `{ data }`.
    host: createPortCarrier<HostMessage, unknown>(port1, (onData, onEnd) => {
      port1.on('message', onData);
      port1.on('close', onEnd);
    }),
    // As in the page, where MessagePort is an event target.
    page: createPortCarrier<RendererMessage, unknown>(port2, (onData, onEnd) => {
      const target = port2 as MessagePort & EventTarget;
      target.addEventListener('message', (event) => onData((event as MessageEvent).data));
      target.addEventListener('close', onEnd);
    }),
    dispose: async () => {},
  };
});

carrierConformance('WebSocket', async () => {
  const { hostSocket, pageSocket, dispose } = await socketPair();
  return { host: createWsCarrier(hostSocket, () => {}), page: pageEnd(pageSocket), dispose };
});

test('given a message port, when the other end dies without a word, then this end is told', async () => {
  const { port1, port2 } = new MessageChannel();
  const carrier = createPortCarrier<HostMessage, unknown>(port1, (onData, onEnd) => {
    port1.on('message', onData);
    port1.on('close', onEnd);
  });
  const told = new Promise<void>((resolve) => carrier.onClose(resolve));
  port2.close();
  await told;
});

test.each([
  { what: 'text', data: '{"type":"credit"}', code: 1003 },
  { what: 'bytes that are no message', data: new Uint8Array([1, 2, 3]), code: 1007 },
  {
    what: 'a header that lies about its length',
    data: new Uint8Array([0x52, 0x53, 0x57, 0x31, 255, 0, 0, 0]),
    code: 1007,
  },
])(
  'given a WebSocket, when $what comes, then nothing is delivered and it is closed with $code',
  async ({ data, code }) => {
    const { hostSocket, pageSocket, dispose } = await socketPair();
    const carrier = createWsCarrier(hostSocket, () => {});
    let delivered = 0;
    carrier.onMessage(() => {
      delivered += 1;
    });
    const closed = new Promise<number>((resolve) => pageSocket.on('close', resolve));
    pageSocket.send(data);
    expect(await closed).toBe(code);
    expect(delivered).toBe(0);
    await dispose();
  },
);

test('given a page that does not read, when more than the bound waits, then it is disconnected and the log says so', async () => {
  const { hostSocket, pageSocket, dispose } = await socketPair();
  const log: string[] = [];
  const carrier = createWsCarrier(hostSocket, (line) => log.push(line));
  const told = new Promise<void>((resolve) => carrier.onClose(resolve));
  pageSocket.pause();
  const megabyte = new Float64Array(131_072);
  for (let i = 0; i < 100; i += 1) carrier.post({ type: 'reply', id: i, result: { ok: true, value: megabyte } });
  await told;
  expect(log.join()).toMatch(/did not read/);
  pageSocket.terminate();
  await dispose();
});

async function socketPair(): Promise<{ hostSocket: WebSocket; pageSocket: WebSocket; dispose: () => Promise<void> }> {
  const server = createServer();
  const sockets = new WebSocketServer({ server, perMessageDeflate: false });
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
  const accepted = new Promise<WebSocket>((resolve) => sockets.on('connection', resolve));
  const pageSocket = new WebSocket(`ws://127.0.0.1:${(server.address() as AddressInfo).port}`);
  const hostSocket = await accepted;
  await new Promise<void>((resolve) => pageSocket.on('open', () => resolve()));
  return {
    hostSocket,
    pageSocket,
    dispose: async () => {
      for (const socket of [hostSocket, pageSocket]) socket.terminate();
      await new Promise<void>((resolve) => sockets.close(() => server.close(() => resolve())));
    },
  };
}

/** The page's end as in `renderer/app/carrier.ts`, over a Node socket: that file itself runs in the browser tests. */
function pageEnd(socket: WebSocket): Carrier<RendererMessage, unknown> {
  const inbox = createInbox<unknown>();
  socket.on('message', (data: Buffer) => {
    const message = decodeWire(data);
    if (!message.ok) throw new Error(message.error);
    inbox.deliver(message.value);
  });
  socket.on('close', () => inbox.end());
  return {
    post(message) {
      if (!inbox.isEnded && socket.readyState === socket.OPEN) socket.send(encodeWire(message));
    },
    onMessage: inbox.onMessage,
    onClose: inbox.onClose,
    close() {
      inbox.end();
      socket.close();
    },
  };
}
