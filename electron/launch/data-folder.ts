/** Where sessions are kept when nobody says otherwise: the system's place for a user's data. */
import { posix, win32 } from 'node:path';

/**
 * Linux and others: XDG base directories; Windows: roaming AppData; macOS:
 * Application Support.
 * @param home the user's home folder, absolute
 */
export function defaultDataFolder(
  platform: NodeJS.Platform,
  environment: Readonly<Record<string, string | undefined>>,
  home: string,
): string {
  if (platform === 'win32') {
    return win32.join(environment.APPDATA || win32.join(home, 'AppData', 'Roaming'), 'Runstand');
  }
  if (platform === 'darwin') return posix.join(home, 'Library', 'Application Support', 'Runstand');
  const xdg = environment.XDG_DATA_HOME;
  // The XDG specification has relative paths ignored.
  return posix.join(xdg !== undefined && posix.isAbsolute(xdg) ? xdg : posix.join(home, '.local', 'share'), 'runstand');
}
