/**
 * Whether the desktop window can open here: is there an Electron binary, can
 * one be fetched soon, and would it run? Every "no" is a reason in plain words.
 */
import { spawn } from 'node:child_process';
import { existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { err, ok, type Result } from '../shared-core/base/result.ts';

/** A good line fetches the 110 MB in this time; nobody should wait longer for a window. */
const FETCH_LIMIT_MS = 60_000;

export interface Machine {
  readonly platform: NodeJS.Platform;
  readonly environment: Readonly<Record<string, string | undefined>>;
  readonly isRoot: boolean;
}

export function thisMachine(): Machine {
  return { platform: process.platform, environment: process.env, isRoot: process.getuid?.() === 0 };
}

/** What keeps a window from opening here, binary or not; null where nothing does. */
export function obstacle(machine: Machine): string | null {
  if (machine.platform !== 'linux') return null;
  if (!machine.environment.DISPLAY && !machine.environment.WAYLAND_DISPLAY) return 'there is no display';
  // Chromium refuses to start its sandbox as root, and we do not run it without.
  return machine.isRoot ? 'it does not run as root' : null;
}

/** Path of the binary, if it is there and complete. */
export function electronBinary(root: string): string | null {
  const folder = join(root, 'node_modules', 'electron');
  const dist = process.env.ELECTRON_OVERRIDE_DIST_PATH ?? join(folder, 'dist');
  const pathFile = join(folder, 'path.txt');
  if (!existsSync(pathFile)) return null;
  const binary = join(dist, readFileSync(pathFile, 'utf8'));
  return existsSync(binary) ? binary : null;
}

/**
 * The binary, fetched now if need be. Electron's npm package comes without
 * it; its own installer checks what it fetches against published checksums.
 * @param sayFetching called once before a fetch
 */
export async function findElectron(
  root: string,
  machine: Machine,
  sayFetching: () => void,
): Promise<Result<string, string>> {
  const reason = obstacle(machine);
  if (reason !== null) return err(reason);
  const present = electronBinary(root);
  if (present !== null) return ok(present);
  sayFetching();
  const failure = await runInstaller(join(root, 'node_modules', 'electron', 'install.js'));
  if (failure !== null) return err(failure);
  const fetched = electronBinary(root);
  return fetched === null ? err('its runtime is not installed and could not be fetched') : ok(fetched);
}

/** Null when it ended well. */
function runInstaller(script: string): Promise<string | null> {
  if (!existsSync(script)) return Promise.resolve('the electron package is not installed');
  return new Promise((resolve) => {
    const child = spawn(process.execPath, [script], { stdio: 'ignore' });
    const limit = setTimeout(() => {
      child.kill();
      resolve(`its runtime could not be fetched within ${FETCH_LIMIT_MS / 1000} s`);
    }, FETCH_LIMIT_MS);
    child.on('error', (error) => {
      clearTimeout(limit);
      resolve(`its runtime could not be fetched (${error.message})`);
    });
    child.on('exit', (code) => {
      clearTimeout(limit);
      resolve(code === 0 ? null : 'its runtime is not installed and could not be fetched from here');
    });
  });
}
