/** The host process's life as the main process sees it; clock, fork and kill are made up. */
import { describe, expect, test } from 'vitest';
import { CLOSE_WAIT_MS, createHostLink, RESTART_WAIT_MS } from '../../electron/desktop/host-link.ts';
import type { FromHostProcess, ToHostProcess } from '../../electron/desktop/host-messages.ts';

const start = { kind: 'start', options: { dataFolder: '/data', source: { kind: 'none' } } } as const;

describe('given a host process', () => {
  test('when a page asks for a port, then the host gets the other end of it', () => {
    const { link, children } = linked();
    expect(link.connectPage()).toBe('page end 1');
    expect(children[0]?.sent).toEqual([start, { kind: 'page', port: 'host end 1' }]);
  });

  test('when it dies, then it is started anew with the same options after a moment, and waiting pages are joined', () => {
    const { link, children, timers, log } = linked();
    children[0]?.exit(1);
    expect(children.length).toBe(1);
    expect(link.connectPage()).toBe('page end 1');
    expect(timers.map((timer) => timer.ms)).toEqual([RESTART_WAIT_MS]);
    timers[0]?.act();
    expect(children[1]?.sent).toEqual([start, { kind: 'page', port: 'host end 1' }]);
    expect(log.join()).toMatch(/started anew/);
  });

  test('when it dies with a session open, then the computer may sleep until the next one', () => {
    const { children, sessions } = linked();
    children[0]?.tell({ kind: 'session', isOpen: true });
    children[0]?.exit(1);
    expect(sessions).toEqual([true, false]);
  });

  test('when the app closes, then it is asked to close, and closing ends with it', async () => {
    const { link, children, killed, timers } = linked();
    const closed = link.close();
    expect(children[0]?.sent.at(-1)).toEqual({ kind: 'close' });
    children[0]?.exit(0);
    await closed;
    for (const timer of timers) timer.act();
    expect(killed).toEqual([]);
    expect(children.length).toBe(1);
  });

  test('when it does not close in time, then it is killed by its own number', async () => {
    const { link, children, killed, timers } = linked();
    const closed = link.close();
    expect(timers.map((timer) => timer.ms)).toEqual([CLOSE_WAIT_MS]);
    timers[0]?.act();
    expect(killed).toEqual([101]);
    children[0]?.exit(137);
    await closed;
  });

  test('when the app closes while it is down, then closing ends at once and it stays down', async () => {
    const { link, children, timers } = linked();
    children[0]?.exit(1);
    await link.close();
    timers[0]?.act();
    expect(children.length).toBe(1);
  });
});

function linked() {
  const children: ReturnType<typeof madeUpChild>[] = [];
  const timers: { ms: number; act: () => void }[] = [];
  const killed: number[] = [];
  const sessions: boolean[] = [];
  const log: string[] = [];
  let channels = 0;
  const link = createHostLink<string>({
    start,
    fork: () => {
      const child = madeUpChild(101 + children.length);
      children.push(child);
      return child;
    },
    createChannel: () => {
      channels += 1;
      return { forHost: `host end ${channels}`, forPage: `page end ${channels}` };
    },
    onSession: (isOpen) => sessions.push(isOpen),
    log: (line) => log.push(line),
    after: (ms, act) => timers.push({ ms, act }),
    kill: (pid) => killed.push(pid),
  });
  return { link, children, timers, killed, sessions, log };
}

function madeUpChild(pid: number) {
  const sent: unknown[] = [];
  const listeners: { message?: (message: FromHostProcess) => void; exit?: (code: number) => void } = {};
  return {
    pid,
    sent,
    postMessage(message: ToHostProcess, transfer: string[] = []) {
      sent.push(transfer[0] === undefined ? message : { ...message, port: transfer[0] });
    },
    on: (_event: 'message', listener: (message: FromHostProcess) => void) => {
      listeners.message = listener;
    },
    once: (_event: 'exit', listener: (code: number) => void) => {
      listeners.exit = listener;
    },
    tell: (message: FromHostProcess) => listeners.message?.(message),
    exit: (code: number) => listeners.exit?.(code),
  };
}
