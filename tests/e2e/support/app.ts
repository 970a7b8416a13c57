/**
 * Starts Runstand's browser door as a process of its own, as an operator
 * would, on a free port with an empty data folder.
 *
 *   const app = await startApp({ scenario: 'overspeed', speed: 4 });
 *   await page.goto(app.url);
 *   await app.stop();
 */
import { type ChildProcess, spawn } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';

export interface AppOptions {
  readonly scenario?: string;
  readonly seed?: number;
  readonly speed?: number;
  /** Serial port or pseudo-terminal instead of the simulator. */
  readonly port?: string;
  readonly noSource?: boolean;
  /** Kept at the end; default: a folder of its own, which goes with the app. */
  readonly dataFolder?: string;
}

export interface RunningApp {
  /** With the token: open this. */
  readonly url: string;
  readonly dataFolder: string;
  readonly pid: number;
  /** Asks it to end, as Ctrl-C does. Throws where it does not end well within ten seconds. */
  stop(): Promise<void>;
  /** Ends it without warning, as a crash does; the data folder stays. */
  kill(): Promise<void>;
  /** All that it printed so far. */
  output(): string;
}

const root = join(import.meta.dirname, '..', '..', '..');
const START_LIMIT_MS = 20_000;
const STOP_LIMIT_MS = 10_000;

export async function startApp(options: AppOptions = {}): Promise<RunningApp> {
  const dataFolder = options.dataFolder ?? mkdtempSync(join(tmpdir(), 'runstand-e2e-'));
  const removeFolder = (): void => {
    if (options.dataFolder === undefined) rmSync(dataFolder, { recursive: true, force: true, maxRetries: 3 });
  };
  const child = spawn(
    process.execPath,
    [join(root, 'electron', 'browser', 'main.ts'), ...argumentsFor(options, dataFolder)],
    {
      cwd: root,
      stdio: ['ignore', 'pipe', 'pipe'],
    },
  );
  let output = '';
  for (const stream of [child.stdout, child.stderr]) {
    stream.on('data', (chunk: Buffer) => {
      output += chunk.toString();
    });
  }
  const ended = new Promise<number | null>((resolve) => child.once('exit', resolve));
  const url = await addressOf(child, () => output);
  return {
    url,
    dataFolder,
    pid: child.pid ?? 0,
    output: () => output,
    async stop() {
      child.kill('SIGTERM');
      const code = await within(ended, STOP_LIMIT_MS);
      if (code === 'late') child.kill('SIGKILL');
      removeFolder();
      // Windows has no signals to be told by: there, every end is a hard one.
      if (code !== 0 && process.platform !== 'win32') throw new Error(`it ended with ${code}:\n${output}`);
    },
    async kill() {
      child.kill('SIGKILL');
      await ended;
    },
  };
}

function argumentsFor(options: AppOptions, dataFolder: string): string[] {
  const args = ['--http-port', '0', '--no-open', '--data', dataFolder];
  if (options.port !== undefined) args.push('--port', options.port);
  if (options.scenario !== undefined) args.push('--scenario', options.scenario);
  if (options.seed !== undefined) args.push('--seed', String(options.seed));
  if (options.speed !== undefined) args.push('--speed', String(options.speed));
  if (options.noSource === true) args.push('--no-source');
  return args;
}

async function addressOf(child: ChildProcess, output: () => string): Promise<string> {
  const printed = new Promise<string>((resolve, reject) => {
    const look = (): void => {
      const address = /Runstand is at (\S+)/.exec(output())?.[1];
      if (address !== undefined) resolve(address);
    };
    child.stdout?.on('data', look);
    child.once('exit', (code) => reject(new Error(`it ended with ${code} before it was ready:\n${output()}`)));
    child.once('error', reject);
  });
  const address = await within(printed, START_LIMIT_MS);
  if (address !== 'late') return address;
  child.kill('SIGKILL');
  throw new Error(`no address within ${START_LIMIT_MS / 1000} s:\n${output()}`);
}

/** A guard against hanging, not a wait: it fails what takes too long. */
async function within<T>(promise: Promise<T>, limit_ms: number): Promise<T | 'late'> {
  let timer: ReturnType<typeof setTimeout> | undefined;
  const late = new Promise<'late'>((resolve) => {
    timer = setTimeout(() => resolve('late'), limit_ms);
  });
  try {
    return await Promise.race([promise, late]);
  } finally {
    clearTimeout(timer);
  }
}
