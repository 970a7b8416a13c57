/**
 * The page's end of the bridge, whichever door it came through: a MessagePort
 * handed over by the desktop's preload, or a WebSocket with the token of the
 * printed address. Connecting anew after `onClose` is the app's decision.
 */
import type { HostMessage, RendererCarrier, RendererMessage } from '../../shared-core/bridge/contract.ts';
import { type DesktopBridge, PORT_MESSAGE } from '../../shared-core/bridge/desktop-bridge.ts';
import { parseHostMessage } from '../../shared-core/bridge/host-envelope.ts';
import { createInbox } from '../../shared-core/bridge/inbox.ts';
import { createPortCarrier } from '../../shared-core/bridge/port-carrier.ts';
import { decodeWire, encodeWire } from '../../shared-core/bridge/wire.ts';

declare global {
  interface Window {
    /** Only in the desktop. */
    readonly runstand?: DesktopBridge;
  }
}

/** Why there is no connection; `sentence` and `remedy` are for the operator. */
export class ConnectFault extends Error {
  /** `no-token` and `wrong-token` do not mend by trying again; `unreachable` may. */
  readonly kind: 'no-token' | 'wrong-token' | 'unreachable';
  readonly sentence: string;
  readonly remedy: string;

  constructor(kind: ConnectFault['kind'], sentence: string, remedy: string) {
    super(sentence);
    this.name = 'ConnectFault';
    this.kind = kind;
    this.sentence = sentence;
    this.remedy = remedy;
  }
}

/** A port is handed over within a moment of the host being up; this covers the host's own start. */
const PORT_WAIT_MS = 10_000;
const TOKEN_KEY = 'runstand:token';

/** @throws ConnectFault (as a rejection) */
export function connectCarrier(): Promise<RendererCarrier> {
  return window.runstand === undefined ? connectSocket() : connectPort(window.runstand);
}

/** Link for a download that the host names (`ExportedFile.href`): with the token, which the host's link lacks. */
export function downloadHref(href: string): string {
  return `${href}?token=${currentToken() ?? ''}`;
}

function connectPort(bridge: DesktopBridge): Promise<RendererCarrier> {
  return new Promise((resolve, reject) => {
    const settle = (): void => {
      window.removeEventListener('message', received);
      clearTimeout(timer);
    };
    const received = (event: MessageEvent): void => {
      const port = event.ports[0];
      if (event.source !== window || event.data !== PORT_MESSAGE || port === undefined) return;
      settle();
      const carrier = createPortCarrier<RendererMessage, unknown>(port, (onData, onEnd) => {
        port.addEventListener('message', (message) => onData(message.data));
        port.addEventListener('close', onEnd);
      });
      resolve(checked(carrier.post, carrier.close, carrier.onClose, (handler) => carrier.onMessage(handler)));
    };
    const timer = setTimeout(() => {
      settle();
      reject(
        new ConnectFault(
          'unreachable',
          'The acquisition host does not answer.',
          'Runstand starts it anew by itself. If it stays so, close the window and start Runstand again.',
        ),
      );
    }, PORT_WAIT_MS);
    window.addEventListener('message', received);
    bridge.requestPort();
  });
}

async function connectSocket(): Promise<RendererCarrier> {
  const token = currentToken();
  if (token === null) {
    throw new ConnectFault(
      'no-token',
      'This page was opened without its key.',
      'Open the whole address that Runstand printed when it started, with what follows the #.',
    );
  }
  const socket = new WebSocket(`ws://${location.host}/bridge?token=${token}`);
  socket.binaryType = 'arraybuffer';
  const inbox = createInbox<unknown>();
  socket.addEventListener('message', (event: MessageEvent<ArrayBuffer>) => {
    // The message is ours alone: its arrays are used where they lie.
    const message = decodeWire(new Uint8Array(event.data), true);
    if (message.ok) return inbox.deliver(message.value);
    console.error(`the connection was closed: ${message.error}`);
    socket.close();
  });
  socket.addEventListener('close', () => inbox.end());
  await opened(socket, token);
  return checked(
    (message) => {
      if (socket.readyState === WebSocket.OPEN) socket.send(encodeWire(message));
    },
    () => {
      inbox.end();
      socket.close();
    },
    inbox.onClose,
    inbox.onMessage,
  );
}

/** A browser does not say why an upgrade failed, so a plain request is made to find out. */
async function opened(socket: WebSocket, token: string): Promise<void> {
  const isOpen = await new Promise<boolean>((resolve) => {
    socket.addEventListener('open', () => resolve(true), { once: true });
    socket.addEventListener('close', () => resolve(false), { once: true });
  });
  if (isOpen) return;
  const status = await fetch(`/door?token=${token}`).then(
    (response) => response.status,
    () => 0,
  );
  if (status === 401) {
    throw new ConnectFault(
      'wrong-token',
      'Runstand was started again since this page was opened.',
      'Open the address that it printed at its last start.',
    );
  }
  throw new ConnectFault(
    'unreachable',
    'Runstand does not answer.',
    'Start it again with "npm start" if it has ended.',
  );
}

/**
 * From the address once, then kept for this tab, so that a reload works and
 * the token does not stand in the address bar or the history.
 */
function currentToken(): string | null {
  const fromAddress = new URLSearchParams(location.hash.slice(1)).get('token');
  if (fromAddress !== null && /^[0-9a-f]{64}$/.test(fromAddress)) {
    sessionStorage.setItem(TOKEN_KEY, fromAddress);
    history.replaceState(history.state, '', location.pathname + location.search);
  }
  return sessionStorage.getItem(TOKEN_KEY);
}

/** Messages that are not the contract's are told on the console and left out. */
function checked(
  post: RendererCarrier['post'],
  close: RendererCarrier['close'],
  onClose: RendererCarrier['onClose'],
  onRaw: (handler: (value: unknown) => void) => void,
): RendererCarrier {
  return {
    post,
    close,
    onClose,
    onMessage(handler: (message: HostMessage) => void) {
      onRaw((value) => {
        const message = parseHostMessage(value);
        if (message.ok) handler(message.value);
        else console.error(`a message from the host was left out: ${message.error}`);
      });
    },
  };
}
