/**
 * Runs the bundled host process under plain Node, with the parts of Electron
 * that it touches made up: `process.parentPort` and a port with MessagePortMain's
 * events. Acts as main process and page, and prints what it saw as JSON.
 */
import { join } from 'node:path';
import { MessageChannel } from 'node:worker_threads';
import type { HostMessage, RendererMessage } from '../../shared-core/bridge/contract.ts';
import { createPortCarrier } from '../../shared-core/bridge/port-carrier.ts';

const [bundleFolder = '', dataFolder = ''] = process.argv.slice(2);
let toHost: (event: { data: unknown; ports: unknown[] }) => void = () => {};
Object.assign(process, {
  parentPort: {
    on: (_event: 'message', listener: typeof toHost) => {
      toHost = listener;
    },
    postMessage: () => {},
  },
});
await import(join(bundleFolder, 'host-process.js'));

const source = { kind: 'simulator', scenario: 'warm-idle', seed: 1, speed: 10 };
toHost({ data: { kind: 'start', options: { dataFolder, source } }, ports: [] });

const { port1, port2 } = new MessageChannel();
const asMain = {
  on(event: string, listener: (event?: { data: unknown }) => void) {
    port1.on(event, event === 'message' ? (data: unknown) => listener({ data }) : () => listener());
  },
  postMessage: (message: unknown) => port1.postMessage(message),
  start: () => port1.start(),
  close: () => port1.close(),
};
const page = createPortCarrier<RendererMessage, HostMessage>(port2, (onData, onEnd) => {
  port2.on('message', onData);
  port2.on('close', onEnd);
});
const kinds = new Set<string>();
let asked = false;
// The host process ends itself once it has closed, and this process with it.
process.on('exit', () => console.log(JSON.stringify({ kinds: [...kinds].sort() })));
page.onMessage((message) => {
  kinds.add(message.type);
  if (message.type === 'snapshot' && message.snapshot.session !== null && !asked) {
    asked = true;
    // Answered by the reading worker, so the worker's bundle is found and its database opens.
    page.post({ type: 'request', id: 1, method: 'sessions.events', params: { id: message.snapshot.session.id } });
  }
  if (message.type === 'reply') {
    kinds.add(message.result.ok ? 'answered' : `refused: ${JSON.stringify(message.result.error)}`);
  }
  if (['display', 'reply', 'snapshot'].every((kind) => kinds.has(kind))) toHost({ data: { kind: 'close' }, ports: [] });
});
page.post({ type: 'credit', stream: 'live', count: 5 });
toHost({ data: { kind: 'page' }, ports: [asMain] });
