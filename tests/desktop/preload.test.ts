/** What the page gets from the preload, against a made-up Electron. */
import { afterEach, expect, test, vi } from 'vitest';

const exposed = new Map<string, Record<string, unknown>>();
const sent: unknown[][] = [];
const heard = new Map<string, (event: { ports: unknown[] }) => void>();

vi.mock('electron', () => ({
  contextBridge: { exposeInMainWorld: (name: string, api: Record<string, unknown>) => exposed.set(name, api) },
  ipcRenderer: {
    send: (...args: unknown[]) => sent.push(args),
    on: (channel: string, listener: (event: { ports: unknown[] }) => void) => heard.set(channel, listener),
  },
}));

afterEach(() => vi.unstubAllGlobals());

test('given the preload, then the page gets one named function, and a port only for its own origin', async () => {
  const postMessage = vi.fn();
  vi.stubGlobal('window', { location: { origin: 'app://runstand' }, postMessage });
  await import('../../electron/preload/preload.ts');

  expect([...exposed.keys()]).toEqual(['runstand']);
  const api = exposed.get('runstand') ?? {};
  expect(Object.keys(api)).toEqual(['requestPort']);

  // Whatever the page passes in, only the bare request goes out.
  (api.requestPort as (...args: unknown[]) => unknown)('other-channel', { a: 1 });
  expect(sent).toEqual([['runstand:port-request']]);

  const port = {};
  expect([...heard.keys()]).toEqual(['runstand:port-offer']);
  heard.get('runstand:port-offer')?.({ ports: [port] });
  expect(postMessage).toHaveBeenCalledExactlyOnceWith('runstand:port', 'app://runstand', [port]);
});
