/**
 * What may be asked for on the command line, the same for `npm start`, the
 * browser door and the packaged desktop. Reads arguments only: opens nothing.
 */
import { homedir } from 'node:os';
import { resolve } from 'node:path';
import { parseArgs } from 'node:util';
import { err, ok, type Result } from '../../shared-core/base/result.ts';
import type { HostOptions } from '../host/host.ts';
import { defaultDataFolder } from './data-folder.ts';

export interface LaunchOptions {
  readonly dataFolder: string;
  readonly source: HostOptions['source'];
  /** Serve the browser door even where the desktop could open. */
  readonly browser: boolean;
  /** Print the address only. */
  readonly noOpen: boolean;
  /** Null: the usual port, or any free one when that is taken. 0: any free one. */
  readonly httpPort: number | null;
  readonly help: boolean;
}

export const DEFAULT_BAUD = 115_200;
export const DEFAULT_SEED = 1;
export const DEFAULT_SCENARIO = 'demonstration';

export const usage = `Runstand: workbench for piston aero engines on a propeller stand

  npm start                        the built-in simulator
  npm start -- --port PATH         a bench on a serial port, or a pseudo-terminal

  --port PATH       serial port of the bench
  --baud N          its speed, default ${DEFAULT_BAUD}
  --scenario ID     scenario of the simulator, default ${DEFAULT_SCENARIO}
  --seed N          its seed, default ${DEFAULT_SEED}
  --speed N         its speed against real time, default 1
  --no-source       start with nothing connected
  --data DIR        folder for the recordings
  --browser         serve a browser on this machine instead of the desktop window
  --http-port N     port for that, 0 for any free one
  --no-open         print the address, open nothing
  --help            this text`;

/** The options, or one sentence saying which argument is wrong. */
export function parseLaunchOptions(args: readonly string[]): Result<LaunchOptions, string> {
  let values: ReturnType<typeof readArgs>;
  try {
    values = readArgs(args);
  } catch (error) {
    return err(error instanceof Error ? error.message : String(error));
  }
  if (values.port !== undefined && values.scenario !== undefined) {
    return err('--port and --scenario exclude each other: choose a bench or the simulator');
  }
  const baud = whole('baud', values.baud, 50, 12_000_000, DEFAULT_BAUD);
  if (!baud.ok) return baud;
  const seed = whole('seed', values.seed, 0, 0xffff_ffff, DEFAULT_SEED);
  if (!seed.ok) return seed;
  const httpPort = whole('http-port', values['http-port'], 0, 65_535, -1);
  if (!httpPort.ok) return httpPort;
  const speed = values.speed === undefined ? 1 : Number(values.speed);
  if (!(speed >= 0.1 && speed <= 1000)) return err('--speed takes a number from 0.1 to 1000');
  if (values.port === '') return err('--port needs the path of a port');

  const source: HostOptions['source'] = values['no-source']
    ? { kind: 'none' }
    : values.port !== undefined
      ? { kind: 'port', path: values.port, baud: baud.value }
      : { kind: 'simulator', scenario: values.scenario ?? DEFAULT_SCENARIO, seed: seed.value, speed };
  return ok({
    dataFolder: values.data ? resolve(values.data) : defaultDataFolder(process.platform, process.env, homedir()),
    source,
    browser: values.browser ?? false,
    noOpen: values['no-open'] ?? false,
    httpPort: httpPort.value === -1 ? null : httpPort.value,
    help: values.help ?? false,
  });
}

function readArgs(args: readonly string[]) {
  return parseArgs({
    args: [...args],
    allowPositionals: false,
    options: {
      port: { type: 'string' },
      baud: { type: 'string' },
      scenario: { type: 'string' },
      seed: { type: 'string' },
      speed: { type: 'string' },
      'no-source': { type: 'boolean' },
      data: { type: 'string' },
      browser: { type: 'boolean' },
      'http-port': { type: 'string' },
      'no-open': { type: 'boolean' },
      help: { type: 'boolean' },
    },
  }).values;
}

function whole(
  name: string,
  text: string | undefined,
  low: number,
  high: number,
  unsaid: number,
): Result<number, string> {
  if (text === undefined) return ok(unsaid);
  const value = /^\d+$/.test(text) ? Number(text) : NaN;
  return value >= low && value <= high ? ok(value) : err(`--${name} takes a whole number from ${low} to ${high}`);
}
