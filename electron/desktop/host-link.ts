/**
 * The main process's hold on the host process: starts it, hands it a port per
 * page, starts it anew when it dies, and ends it. The clock, the fork and the
 * kill are arguments, so that all of this is tested without Electron.
 */
import type { FromHostProcess, ToHostProcess } from './host-messages.ts';

/** As much of Electron's UtilityProcess as is used. */
export interface HostChild<Port> {
  readonly pid: number | undefined;
  postMessage(message: ToHostProcess, transfer?: Port[]): void;
  on(event: 'message', listener: (message: FromHostProcess) => void): unknown;
  once(event: 'exit', listener: (code: number) => void): unknown;
}

export interface HostLinkOptions<Port> {
  readonly start: Extract<ToHostProcess, { kind: 'start' }>;
  fork(): HostChild<Port>;
  /** Two ends: for the host, and for the page. */
  createChannel(): { readonly forHost: Port; readonly forPage: Port };
  onSession(isOpen: boolean): void;
  log(line: string): void;
  /** `setTimeout`, `process.kill`. */
  after(ms: number, act: () => void): void;
  kill(pid: number): void;
}

export interface HostLink<Port> {
  /** The page's end of a fresh channel to the host. */
  connectPage(): Port;
  /** The window was hidden, minimised, or came back. */
  windowSeen(isSeen: boolean): void;
  /** Resolves once the host process has ended, by itself or by force. */
  close(): Promise<void>;
}

/** Longer than the host's own close; then the process is killed, and WAL keeps what was committed. */
export const CLOSE_WAIT_MS = 8000;
/** A host that dies at once is not restarted in a tight loop; a bench run must get its host back soon. */
export const RESTART_WAIT_MS = 1000;

export function createHostLink<Port>(options: HostLinkOptions<Port>): HostLink<Port> {
  let child: HostChild<Port> | null = null;
  let isClosing = false;
  let ended: () => void = () => {};
  /** Ports for pages that asked while no host was up. */
  let waiting: Port[] = [];

  const start = (): void => {
    if (isClosing) return;
    const started = options.fork();
    child = started;
    started.on('message', (message) => options.onSession(message.isOpen));
    started.once('exit', (code) => {
      child = null;
      options.onSession(false);
      if (isClosing) return ended();
      options.log(`the host process ended (code ${code}) and is started anew`);
      options.after(RESTART_WAIT_MS, start);
    });
    started.postMessage(options.start);
    for (const port of waiting) started.postMessage({ kind: 'page' }, [port]);
    waiting = [];
  };
  start();

  return {
    connectPage() {
      const { forHost, forPage } = options.createChannel();
      if (child === null) waiting.push(forHost);
      else child.postMessage({ kind: 'page' }, [forHost]);
      return forPage;
    },
    windowSeen(isSeen) {
      child?.postMessage({ kind: 'window', isSeen });
    },
    close() {
      isClosing = true;
      return new Promise((resolve) => {
        ended = resolve;
        const last = child;
        if (last === null) return resolve();
        last.postMessage({ kind: 'close' });
        options.after(CLOSE_WAIT_MS, () => {
          // UtilityProcess.kill() can freeze the main process while a port is open (electron#45053).
          if (child === null || last.pid === undefined) return;
          options.log('the host process did not close in time and was ended by force');
          options.kill(last.pid);
        });
      });
    },
  };
}
