/**
 * Command line of the simulated bench device: text in, options or a plain
 * sentence out.
 */
import { err, ok, type Result } from '../../shared-core/base/result.ts';
import { isWord } from '../../shared-core/line/fields.ts';
import { FIRMWARE } from '../bench/controller.ts';
import { type FaultId, type FaultOptions, faults, isFaultId } from '../faults.ts';
import { isScenarioId, type ScenarioId, scenarios } from '../scenarios.ts';

export interface DeviceOptions {
  readonly carrier: 'pty' | 'stdio' | 'help';
  readonly scenario: ScenarioId;
  readonly seed: number;
  /** Simulated seconds per real second. */
  readonly speed: number;
  readonly fast_Hz: number;
  readonly slow_Hz: number;
  readonly version: string;
  readonly firmware: string;
  readonly rig: 'lapwing-120' | 'plover-210';
  /** A rig sheet (JSON) in place of a rig by name. */
  readonly sheetFile: string | null;
  readonly injections: readonly Injection[];
  /** Simulated seconds between bursts of random bytes; 0 for none. */
  readonly garbageEvery_s: number;
  /** Says on standard output what the outputs did, and what the host said (`outputs-log.ts`). */
  readonly isLogging: boolean;
}

export interface Injection {
  readonly fault: FaultId;
  readonly at_s: number;
  readonly options?: FaultOptions;
}

/** Keys that the help explains once. */
const common = new Set(['onset_s', 'ramp_s', 'severity']);

const defaults: DeviceOptions = {
  carrier: 'help',
  scenario: 'demonstration',
  seed: 1,
  speed: 1,
  fast_Hz: 100,
  slow_Hz: 10,
  version: '1.0',
  firmware: FIRMWARE,
  rig: 'lapwing-120',
  sheetFile: null,
  injections: [],
  garbageEvery_s: 0,
  isLogging: false,
};

export function parseDeviceOptions(args: readonly string[]): Result<DeviceOptions, string> {
  const found: { -readonly [K in keyof DeviceOptions]: DeviceOptions[K] } = { ...defaults };
  const injections: Injection[] = [];
  for (let i = 0; i < args.length; i++) {
    const name = args[i]!;
    if (name === '--pty' || name === '--stdio') {
      found.carrier = name === '--pty' ? 'pty' : 'stdio';
      continue;
    }
    if (name === '--log-outputs') {
      found.isLogging = true;
      continue;
    }
    if (name === '--help' || name === '-h') return ok({ ...found, carrier: 'help' });
    const value = args[++i];
    if (value === undefined) return err(`${name} needs a value, or is not an option. --help lists them.`);
    const number = Number(value);
    switch (name) {
      case '--scenario':
        if (!isScenarioId(value)) return err(`There is no scenario "${value}". --help lists them.`);
        found.scenario = value;
        break;
      case '--seed':
        if (!Number.isInteger(number)) return err(`--seed needs a whole number, not "${value}".`);
        found.seed = number;
        break;
      case '--speed':
        if (!(number > 0 && number <= 200)) return err(`--speed goes from above 0 to 200, not "${value}".`);
        found.speed = number;
        break;
      case '--fast-hz':
        if (!(number >= 1 && number <= 1000)) return err(`--fast-hz goes from 1 to 1000, not "${value}".`);
        found.fast_Hz = number;
        break;
      case '--slow-hz':
        if (!(number >= 0.5 && number <= 1000)) return err(`--slow-hz goes from 0.5 to 1000, not "${value}".`);
        found.slow_Hz = number;
        break;
      case '--version':
        if (!/^\d+\.\d+$/.test(value)) return err(`--version needs digits, a point, digits: not "${value}".`);
        found.version = value;
        break;
      case '--firmware':
        if (!isWord(value)) return err(`--firmware needs one word of at most 24 characters, not "${value}".`);
        found.firmware = value;
        break;
      case '--rig':
        if (value !== 'lapwing-120' && value !== 'plover-210') return err(`There is no rig "${value}".`);
        found.rig = value;
        break;
      case '--sheet':
        found.sheetFile = value;
        break;
      case '--garbage-every':
        if (!(number > 0)) return err(`--garbage-every needs seconds above 0, not "${value}".`);
        found.garbageEvery_s = number;
        break;
      case '--inject': {
        const injection = injectionOf(value);
        if (!injection.ok) return injection;
        injections.push(injection.value);
        break;
      }
      default:
        return err(`There is no option "${name}". --help lists them.`);
    }
  }
  if (found.isLogging && found.carrier === 'stdio')
    return err('--log-outputs needs --pty: --stdio is taken by the line.');
  return ok({ ...found, injections });
}

/** `FAULT@SECONDS`, or `FAULT@SECONDS:key=value,key=value`. */
function injectionOf(text: string): Result<Injection, string> {
  const [what = '', ...more] = text.split(':');
  const [fault = '', at = ''] = what.split('@');
  const at_s = Number(at);
  if (!isFaultId(fault)) return err(`There is no fault "${fault}". --help lists them.`);
  if (at === '' || !(at_s >= 0) || more.length > 1) {
    return err(`--inject needs FAULT@SECONDS or FAULT@SECONDS:key=value,key=value, not "${text}".`);
  }
  if (more.length === 0) return ok({ fault, at_s });
  const options: Record<string, number> = {};
  for (const pair of (more[0] ?? '').split(',')) {
    const [key = '', number = ''] = pair.split('=');
    const parameter = faults[fault].parameters.find((each) => each.key === key);
    if (!parameter) {
      const known = faults[fault].parameters.map((each) => each.key).join(', ');
      return err(`The fault "${fault}" has no "${key}". It takes ${known}.`);
    }
    const value = Number(number);
    if (number === '' || !(value >= parameter.low && value <= parameter.high)) {
      return err(
        `${key} of "${fault}" goes from ${parameter.low} to ${parameter.high} ${parameter.unit}, not "${number}".`,
      );
    }
    options[key] = value;
  }
  return ok({ fault, at_s, options });
}

/** `bytesPerSecond` as measured for the default rates. */
export function helpText(bytesPerSecond: number): string {
  const list = (rows: readonly { readonly id: string; readonly title: string }[]): string =>
    rows.map(({ id, title }) => `    ${id.padEnd(18)} ${title}`).join('\n');
  const faultRows = Object.values(faults).map(({ id, title, parameters }) => {
    const own = parameters.filter(({ key }) => !common.has(key)).map(({ key, usual }) => `${key}=${usual}`);
    return { id, title: own.length === 0 ? title : `${title}: ${own.join(',')}` };
  });
  return `The simulated bench as a device.

  npm run simulator -- --pty     on a pseudo-terminal; the first line of output is its path
  npm run simulator -- --stdio   on standard input and output

  --scenario NAME      what goes on at the stand (${defaults.scenario})
  --seed N             same seed, same bytes (${defaults.seed})
  --speed X            simulated seconds per second, up to 200 (${defaults.speed})
  --fast-hz N          lines per second of the fast group (${defaults.fast_Hz})
  --slow-hz N          lines per second of the slow group (${defaults.slow_Hz})
  --rig NAME           lapwing-120 or plover-210 (${defaults.rig})
  --sheet FILE         the rig of a rig sheet (JSON) in its place
  --inject FAULT@S     breaks something after S simulated seconds; may come several times
  --inject FAULT@S:key=value,key=value
                       the same, so far and so fast: the fault's own keys as listed,
                       severity (0 to 1), ramp_s, onset_s
  --garbage-every S    40 random bytes every S simulated seconds
  --log-outputs        with --pty: says on standard output what the outputs did and what the host said
  --version V          announces another protocol version
  --firmware V         announces another firmware; "sim-..." says that it is a simulator

  scenarios
${list(Object.values(scenarios))}

  faults
${list(faultRows)}

  At its usual rates and with the engine at full throttle it sends about ${bytesPerSecond} bytes a second;
  a line of 115,200 Bd carries 11,520. Nothing here paces bytes to a baud rate.
`;
}
