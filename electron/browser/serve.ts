/**
 * Host and browser door together, from start to clean end. Used by
 * `main.ts` (the door alone) and by `npm start` (build, then the door).
 */
import { join } from 'node:path';
import { err, ok, type Result } from '../../shared-core/base/result.ts';
import { type Host, type HostOptions, startHost } from '../host/host.ts';
import type { LaunchOptions } from '../launch/launch-options.ts';
import { type BrowserDoor, openBrowserDoor } from './browser-door.ts';

/** The built page, beside the sources. */
export const pageFolder = join(import.meta.dirname, '..', '..', 'build', 'out', 'renderer');

export interface Serving {
  readonly door: BrowserDoor;
  /** Closes door and host. Ends within `CLOSE_MS`; false when the host did not make it in that time. */
  close(): Promise<boolean>;
}

/** The host writes what it holds and closes port and database well within this. */
const CLOSE_MS = 8000;

/** @returns one sentence where the door cannot be opened; then no host is left running */
export async function serve(
  options: Pick<LaunchOptions, 'dataFolder' | 'source' | 'httpPort'>,
  log: (line: string) => void,
  start: (options: HostOptions) => Host = startHost,
): Promise<Result<Serving, string>> {
  const { dataFolder, source, httpPort } = options;
  // The host is started once the door is known to open: no session is begun for a start that fails.
  let host: Host | null = null;
  const running = (): Host => {
    host ??= start({ dataFolder, source, door: 'browser', log });
    return host;
  };
  const door = await openBrowserDoor({
    host: { connect: (carrier) => running().connect(carrier), exportPath: (name) => running().exportPath(name) },
    pageFolder,
    httpPort,
    log,
  });
  if (!door.ok) return err(door.error);
  running();
  return ok({
    door: door.value,
    async close() {
      const closed = Promise.all([door.value.close(), running().close()]).then(() => true);
      return Promise.race([closed, afterCloseTime()]);
    },
  });
}

function afterCloseTime(): Promise<false> {
  return new Promise((resolve) => {
    setTimeout(() => resolve(false), CLOSE_MS).unref();
  });
}
