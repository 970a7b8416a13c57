/**
 * `npm start`: builds what is not up to date, opens the desktop where it can,
 * and otherwise says in one line why not and serves the browser door.
 */
import { spawn, spawnSync } from 'node:child_process';
import { existsSync } from 'node:fs';
import { join } from 'node:path';
import { type LaunchOptions, parseLaunchOptions, usage } from '../electron/launch/launch-options.ts';
import { bundle } from './bundle.ts';
import { electronBinary, findElectron, obstacle, thisMachine } from './desktop-runtime.ts';
import { openInBrowser } from './open-address.ts';

const root = join(import.meta.dirname, '..');
/** A desktop that fails to start does so at once; one that ran longer was closed by its operator. */
const START_FAILURE_MS = 8000;
const OLDEST_NODE = 24;

process.exit(await main(process.argv.slice(2)));

async function main(args: string[]): Promise<number> {
  if (Number.parseInt(process.versions.node, 10) < OLDEST_NODE) return onOwnNode(args);
  const parsed = parseLaunchOptions(args);
  if (!parsed.ok) {
    console.error(`${parsed.error}\nSee "npm start -- --help".`);
    return 2;
  }
  if (parsed.value.help) {
    console.log(usage);
    return 0;
  }
  const options = parsed.value;
  const desktop = await desktopOrReason(options);
  if ('binary' in desktop) {
    const ended = await runDesktop(desktop.binary, args);
    if (ended.isNormal) return ended.code;
    console.log(`The desktop did not open: it ended at once with code ${ended.code}. Serving your browser instead.`);
  } else {
    console.log(desktop.line);
  }
  return serveBrowser(options);
}

/** The `node` package brings the version that we are made for. */
function onOwnNode(args: string[]): number {
  const own = join(root, 'node_modules', 'node', 'bin', process.platform === 'win32' ? 'node.exe' : 'node');
  if (!existsSync(own)) {
    console.error(
      `Runstand needs Node ${OLDEST_NODE} or newer, this is ${process.version}. Run "npm ci", which brings it.`,
    );
    return 1;
  }
  return spawnSync(own, [join(root, 'build', 'start.ts'), ...args], { stdio: 'inherit' }).status ?? 1;
}

async function desktopOrReason(options: LaunchOptions): Promise<{ binary: string } | { line: string }> {
  const serving = 'Serving your browser instead.';
  if (options.browser) return { line: 'The desktop was not opened: --browser asks for the browser.' };
  if (options.noOpen) {
    // Nothing is fetched for a window that is not to be opened.
    const reason = obstacle(thisMachine()) ?? (electronBinary(root) === null ? 'its runtime is not installed' : null);
    const more = reason === null ? '' : `, and ${reason}`;
    return { line: `The desktop did not open: --no-open asks for the address only${more}. ${serving}` };
  }
  const found = await findElectron(root, thisMachine(), () => console.log('Fetching the desktop runtime, once …'));
  return found.ok ? { binary: found.value } : { line: `The desktop did not open: ${found.error}. ${serving}` };
}

async function runDesktop(binary: string, args: string[]): Promise<{ isNormal: boolean; code: number }> {
  await build(['page', 'desktop']);
  const started_ms = performance.now();
  const child = spawn(binary, [root, '--', ...args], { stdio: 'inherit' });
  // Ctrl-C reaches the child by itself; we wait until it has closed its host.
  for (const signal of ['SIGINT', 'SIGTERM', 'SIGHUP'] as const) process.on(signal, () => child.kill(signal));
  const code = await new Promise<number>((resolve) => {
    child.on('error', () => resolve(1));
    child.on('exit', (exitCode, signal) => resolve(exitCode ?? (signal === 'SIGINT' ? 0 : 1)));
  });
  const isNormal = code === 0 || performance.now() - started_ms > START_FAILURE_MS;
  for (const signal of ['SIGINT', 'SIGTERM', 'SIGHUP'] as const) process.removeAllListeners(signal);
  return { isNormal, code };
}

async function serveBrowser(options: LaunchOptions): Promise<number> {
  await build(['page']);
  // Loaded only here: a desktop start has no use for the host in this process.
  const { addressLine, serveUntilStopped } = await import('../electron/browser/main.ts');
  return serveUntilStopped(options, (address) => {
    console.log(addressLine(address));
    console.log('Stop it with Ctrl-C.');
    if (!options.noOpen) openInBrowser(address);
  });
}

async function build(parts: Parameters<typeof bundle>[0]): Promise<void> {
  const started_ms = performance.now();
  const built = await bundle(parts);
  if (built.length > 0) console.log(`Built in ${((performance.now() - started_ms) / 1000).toFixed(1)} s.`);
}
