/** The browser for the browser tests: the system's own, found by name. */
import { accessSync, constants } from 'node:fs';
import { delimiter, join } from 'node:path';

const names = ['chromium', 'chromium-browser', 'google-chrome', 'google-chrome-stable', 'chrome', 'msedge'];

const fixedPaths: Partial<Record<NodeJS.Platform, string[]>> = {
  darwin: [
    '/Applications/Google Chrome.app/Contents/MacOS/Google Chrome',
    '/Applications/Chromium.app/Contents/MacOS/Chromium',
    '/Applications/Microsoft Edge.app/Contents/MacOS/Microsoft Edge',
  ],
  win32: ['PROGRAMFILES', 'PROGRAMFILES(X86)', 'LOCALAPPDATA'].flatMap((variable) => {
    const folder = process.env[variable];
    return folder === undefined
      ? []
      : [
          join(folder, 'Google', 'Chrome', 'Application', 'chrome.exe'),
          join(folder, 'Microsoft', 'Edge', 'Application', 'msedge.exe'),
        ];
  }),
};

/** Absolute path, or null. `CHROME` in the environment comes first. */
export function findChromium(): string | null {
  const fromPath = (process.env.PATH ?? '')
    .split(delimiter)
    .flatMap((folder) => names.map((name) => join(folder, name)));
  const candidates = [process.env.CHROME ?? '', ...(fixedPaths[process.platform] ?? []), ...fromPath];
  return candidates.find(isRunnable) ?? null;
}

/** It runs as root in CI, without a graphics card, and must ask nothing of the network. */
export const chromiumArguments = [
  '--no-sandbox',
  '--disable-gpu',
  '--disable-quic',
  '--no-first-run',
  '--disable-background-networking',
  '--disable-component-update',
  '--disable-sync',
];

function isRunnable(path: string): boolean {
  if (path === '') return false;
  try {
    accessSync(path, constants.X_OK);
    return true;
  } catch {
    return false;
  }
}
