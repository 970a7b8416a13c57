/**
 * The utility process: the whole host, away from windows, so that a title bar
 * that is held or a page that hangs never stops acquisition. Started, given
 * ports and closed by `host-link.ts` in the main process.
 */
import type { MessagePortMain } from 'electron';
import type { HostMessage, RendererMessage } from '../../shared-core/bridge/contract.ts';
import { createPortCarrier } from '../../shared-core/bridge/port-carrier.ts';
import { type Host, startHost } from '../host/host.ts';
import type { FromHostProcess, ToHostProcess } from './host-messages.ts';

/** The computer falls asleep in minutes; two seconds late is in time. */
const SESSION_LOOK_MS = 2000;

const parent = process.parentPort;
let host: Host | null = null;
let isSessionOpen = false;

parent.on('message', (event) => {
  const message = event.data as ToHostProcess;
  switch (message.kind) {
    case 'start':
      host ??= startHost({ ...message.options, door: 'desktop', log: (line) => console.log(line) });
      return;
    case 'page': {
      const port = event.ports[0];
      if (host !== null && port !== undefined) connectPage(host, port);
      return;
    }
    case 'window':
      host?.windowSeen(message.isSeen);
      return;
    case 'close':
      void (host?.close() ?? Promise.resolve()).then(
        () => process.exit(0),
        (error: unknown) => {
          console.error(error);
          process.exit(1);
        },
      );
  }
});

function connectPage(to: Host, port: MessagePortMain): void {
  to.connect(
    createPortCarrier<HostMessage, RendererMessage>(port, (onData, onEnd) => {
      port.on('message', (event) => onData(event.data));
      port.on('close', onEnd);
    }),
  );
}

setInterval(() => {
  const isOpen = host?.isRecording ?? false;
  if (isOpen === isSessionOpen) return;
  isSessionOpen = isOpen;
  parent.postMessage({ kind: 'session', isOpen } satisfies FromHostProcess);
}, SESSION_LOOK_MS);
