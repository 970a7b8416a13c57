/**
 * The window shows our page and nothing else: no other address, no second
 * window, no webview, no permission, nothing opened outside.
 */
import type { App, Session, WebContents } from 'electron';

export const PAGE_SCHEME = 'app';
export const PAGE_HOST = 'runstand';
export const PAGE_ADDRESS = `${PAGE_SCHEME}://${PAGE_HOST}/index.html`;

/** Compared by its parsed parts: a prefix would let `app://runstand.evil` pass. */
export function isOwnPage(address: string): boolean {
  if (!URL.canParse(address)) return false;
  const { protocol, host, username, password } = new URL(address);
  return protocol === `${PAGE_SCHEME}:` && host === PAGE_HOST && username === '' && password === '';
}

/** For every web contents that the app ever makes, ours included. */
export function guardContents(contents: WebContents, log: (line: string) => void): void {
  const hold = (event: { preventDefault(): void; readonly url: string }): void => {
    if (isOwnPage(event.url)) return;
    event.preventDefault();
    log(`navigation refused: ${event.url.slice(0, 200)}`);
  };
  contents.on('will-navigate', hold);
  contents.on('will-redirect', hold);
  contents.on('will-frame-navigate', hold);
  contents.on('will-attach-webview', (event) => {
    event.preventDefault();
    log('a webview was refused');
  });
  contents.setWindowOpenHandler(({ url }) => {
    log(`a window was refused: ${url.slice(0, 200)}`);
    return { action: 'deny' };
  });
}

export function guardAllContents(app: Pick<App, 'on'>, log: (line: string) => void): void {
  app.on('web-contents-created', (_event, contents) => guardContents(contents, log));
}

/** Serial ports, USB and the rest are the host's; the page needs no permission of the browser's. */
export function denyPermissions(session: Session): void {
  session.setPermissionRequestHandler((_contents, _permission, decide) => decide(false));
  session.setPermissionCheckHandler(() => false);
  session.setDevicePermissionHandler(() => false);
  session.setDisplayMediaRequestHandler((_request, decide) => decide({}));
  session.setUSBProtectedClassesHandler(() => []);
  session.setBluetoothPairingHandler((_details, decide) => decide({ confirmed: false }));
}
