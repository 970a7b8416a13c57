/**
 * The one way in which the main process listens to a page: only to the top
 * frame of our own page. No other file uses ipcMain (a test holds that).
 */
import type { IpcMain, IpcMainEvent } from 'electron';
import { isOwnPage } from './navigation-policy.ts';

interface Sender {
  /** Null once the frame is gone or has navigated away. */
  readonly senderFrame: { readonly url: string; readonly parent: unknown } | null;
}

export function isFromOwnPage(event: Sender): boolean {
  const frame = event.senderFrame;
  return frame !== null && frame.parent === null && isOwnPage(frame.url);
}

/** Hears `channel` from our page; anything else is logged and dropped. */
export function onPageMessage(
  ipcMain: Pick<IpcMain, 'on'>,
  channel: string,
  log: (line: string) => void,
  handler: (event: IpcMainEvent) => void,
): void {
  ipcMain.on(channel, (event) => {
    if (isFromOwnPage(event)) return handler(event);
    log(`a message on ${channel} from a foreign frame was dropped`);
  });
}
