/** What the desktop allows, without an Electron binary: the policy files against a made-up Electron. */
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { App, IpcMain, Session, WebContents } from 'electron';
import { describe, expect, test, vi } from 'vitest';
import {
  denyPermissions,
  guardAllContents,
  isOwnPage,
  PAGE_ADDRESS,
} from '../../electron/desktop/navigation-policy.ts';
import { answerPageRequest } from '../../electron/desktop/page-protocol.ts';
import { isFromOwnPage, onPageMessage } from '../../electron/desktop/sender-check.ts';
import { createSleepGuard } from '../../electron/desktop/sleep-guard.ts';
import { webPreferences } from '../../electron/desktop/web-preferences.ts';
import { contentSecurityPolicy } from '../../electron/page/content-policy.ts';

test('given the window, then its page runs with exactly these preferences', () => {
  expect(webPreferences('/app/preload.cjs')).toStrictEqual({
    preload: '/app/preload.cjs',
    sandbox: true,
    contextIsolation: true,
    nodeIntegration: false,
    nodeIntegrationInWorker: false,
    nodeIntegrationInSubFrames: false,
    webSecurity: true,
    allowRunningInsecureContent: false,
    experimentalFeatures: false,
    webviewTag: false,
    navigateOnDragDrop: false,
    spellcheck: false,
    backgroundThrottling: false,
  });
});

const foreign = [
  'https://evil.example/',
  'app://runstand.evil.example/',
  'app://evil/runstand',
  'app://runstand:1/',
  'app://user@runstand/',
  'apps://runstand/',
  'file:///app/index.html',
  'javascript:alert(1)',
  'data:text/html,x',
  'about:blank',
  'app:runstand',
  '',
];

describe('given an address', () => {
  test.each([PAGE_ADDRESS, 'app://runstand/index.html#run', 'app://runstand/'])(
    'when it is %s, then it is ours',
    (address) => {
      expect(isOwnPage(address)).toBe(true);
    },
  );
  test.each(foreign)('when it is "%s", then it is not ours', (address) => {
    expect(isOwnPage(address)).toBe(false);
  });
});

describe('given any web contents that the app makes', () => {
  const { events, openHandler, log } = guarded();

  test.each(['will-navigate', 'will-redirect', 'will-frame-navigate'])(
    'when %s goes elsewhere, then it is prevented',
    (name) => {
      for (const url of foreign) {
        const event = { preventDefault: vi.fn(), url };
        events.get(name)?.(event);
        expect(event.preventDefault, url).toHaveBeenCalledOnce();
      }
      const own = { preventDefault: vi.fn(), url: PAGE_ADDRESS };
      events.get(name)?.(own);
      expect(own.preventDefault).not.toHaveBeenCalled();
    },
  );

  test('when a webview is attached, then it is prevented', () => {
    const event = { preventDefault: vi.fn() };
    events.get('will-attach-webview')?.(event);
    expect(event.preventDefault).toHaveBeenCalledOnce();
  });

  test('when a window is opened, even to our page, then it is denied and logged', () => {
    for (const url of [...foreign, PAGE_ADDRESS]) expect(openHandler({ url })).toEqual({ action: 'deny' });
    expect(log).toHaveBeenCalled();
  });
});

test('given any permission, when it is requested, checked or tied to a device, then it is denied', () => {
  const handlers = new Map<string, (...args: never[]) => unknown>();
  const session = new Proxy({} as Session, {
    get: (_target, name: string) => (handler: (...args: never[]) => unknown) => handlers.set(name, handler),
  });
  denyPermissions(session);
  expect([...handlers.keys()].sort()).toEqual([
    'setBluetoothPairingHandler',
    'setDevicePermissionHandler',
    'setDisplayMediaRequestHandler',
    'setPermissionCheckHandler',
    'setPermissionRequestHandler',
    'setUSBProtectedClassesHandler',
  ]);
  const call = (name: string, ...args: unknown[]): unknown => handlers.get(name)?.(...(args as never[]));
  for (const permission of ['media', 'geolocation', 'notifications', 'serial', 'openExternal', 'clipboard-read']) {
    const decide = vi.fn();
    call('setPermissionRequestHandler', null, permission, decide);
    expect(decide).toHaveBeenCalledExactlyOnceWith(false);
    expect(call('setPermissionCheckHandler', null, permission)).toBe(false);
  }
  expect(call('setDevicePermissionHandler', { deviceType: 'serial' })).toBe(false);
});

describe('given a message to the main process', () => {
  const cases = [
    { what: 'our page', frame: { url: PAGE_ADDRESS, parent: null }, isHeard: true },
    { what: 'a frame inside our page', frame: { url: PAGE_ADDRESS, parent: {} }, isHeard: false },
    { what: 'another address', frame: { url: 'https://evil.example/', parent: null }, isHeard: false },
    { what: 'an address that begins like ours', frame: { url: 'app://runstand.evil/', parent: null }, isHeard: false },
    { what: 'a frame that is gone', frame: null, isHeard: false },
  ];
  test.each(cases)('when it comes from $what, then heard is $isHeard', ({ frame, isHeard }) => {
    expect(isFromOwnPage({ senderFrame: frame })).toBe(isHeard);
    let listener: (event: unknown) => void = () => {};
    const ipcMain = {
      on: (_channel: string, added: typeof listener) => {
        listener = added;
      },
    };
    const handler = vi.fn();
    const log = vi.fn();
    onPageMessage(ipcMain as unknown as IpcMain, 'any', log, handler);
    listener({ senderFrame: frame });
    expect(handler).toHaveBeenCalledTimes(isHeard ? 1 : 0);
    expect(log).toHaveBeenCalledTimes(isHeard ? 0 : 1);
  });
});

describe('given the app:// protocol', () => {
  const folder = mkdtempSync(join(tmpdir(), 'runstand-page-'));
  writeFileSync(join(folder, 'index.html'), 'the page');

  test('when the page is asked for, then it comes under the same policy as in a browser', async () => {
    const answer = await answerPageRequest(folder, new Request(PAGE_ADDRESS));
    expect(answer.status).toBe(200);
    expect(await answer.text()).toBe('the page');
    expect(answer.headers.get('Content-Security-Policy')).toBe(contentSecurityPolicy([]));
    expect(answer.headers.get('X-Content-Type-Options')).toBe('nosniff');
  });

  test.each([
    'app://runstand/%2e%2e%2fetc/passwd',
    'app://runstand/..%2f..%2findex.html',
    'app://other/index.html',
    'app://runstand/none.js',
  ])('when %s is asked for, then 404', async (address) => {
    expect((await answerPageRequest(folder, new Request(address))).status).toBe(404);
  });

  test('when all is done, then the folder goes', () => {
    rmSync(folder, { recursive: true });
  });
});

test('given sessions that come and go, then the computer is kept awake exactly while one is open', () => {
  const calls: string[] = [];
  let next = 0;
  const guard = createSleepGuard({
    start: (kind) => {
      calls.push(`start ${kind} ${next}`);
      return next++;
    },
    stop: (id) => calls.push(`stop ${id}`),
  });
  for (const isOpen of [false, true, true, false, false, true]) guard(isOpen);
  expect(calls).toEqual(['start prevent-display-sleep 0', 'stop 0', 'start prevent-display-sleep 1']);
});

function guarded() {
  const events = new Map<string, (event: unknown) => void>();
  let openHandler: (details: { url: string }) => unknown = () => undefined;
  const contents = {
    on: (name: string, listener: (event: unknown) => void) => events.set(name, listener),
    setWindowOpenHandler: (handler: typeof openHandler) => {
      openHandler = handler;
    },
  };
  const log = vi.fn();
  const app = {
    on: (name: string, listener: (event: unknown, made: WebContents) => void) => {
      expect(name).toBe('web-contents-created');
      listener({}, contents as unknown as WebContents);
    },
  };
  guardAllContents(app as unknown as App, log);
  return { events, openHandler, log };
}
