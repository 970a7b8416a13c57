/**
 * The simulated bench as a separate process: on a real pseudo-terminal or on
 * standard input and output, paced by the wall clock times `--speed`. The
 * bench itself is `simulated-bench.ts`.
 */
import { readFileSync } from 'node:fs';
import { err, type Result } from '../../shared-core/base/result.ts';
import { parseRigSheet } from '../../shared-core/rig/rig-schema.ts';
import { rigFromSheet } from '../rig-from-sheet.ts';
import { type RigName, rigs, type SimulatedRig } from '../rigs.ts';
import { SimulatedBench } from '../simulated-bench.ts';
import { type DeviceOptions, helpText, parseDeviceOptions } from './options.ts';
import { OutputsLog } from './outputs-log.ts';
import { openPty } from './pty.ts';

/** Real time between two advances. */
const TICK_ms = 10;
/** After a longer stall (a sleeping machine) the bench goes on, rather than catch up. */
const LONGEST_TICK_s = 0.5;
const STEP_s = 0.001;
const GARBAGE_BYTES = 40;

interface Carrier {
  write(bytes: Uint8Array): void;
  onBytes(take: (bytes: Uint8Array) => void): void;
  /** Shown as the first line of standard output, where that is free. */
  readonly path: string | null;
  close(): void;
}

const parsed = parseDeviceOptions(process.argv.slice(2));
if (!parsed.ok) {
  process.stderr.write(`${parsed.error}\n`);
  process.exitCode = 2;
} else if (parsed.value.carrier === 'help') {
  process.stdout.write(helpText(measuredRate()));
} else {
  const rig = rigOf(parsed.value);
  if (!rig.ok) {
    process.stderr.write(`${rig.error}\n`);
    process.exitCode = 2;
  } else {
    const carrier = parsed.value.carrier === 'pty' ? await openPtyCarrier(parsed.value.speed) : stdioCarrier();
    if (carrier) run(carrier, parsed.value, rig.value);
  }
}

function run(carrier: Carrier, options: DeviceOptions, rig: SimulatedRig): void {
  const bench = new SimulatedBench({ ...options, rig });
  const injections = [...options.injections].sort((a, b) => a.at_s - b.at_s);
  let garbageAt_s = options.garbageEvery_s;
  const log = options.isLogging ? new OutputsLog((line) => process.stdout.write(`${line}\n`)) : null;
  const now_ms = (): number => Math.round(bench.time_s * 1000);
  carrier.onBytes((bytes) => {
    log?.heard(bytes, now_ms());
    bench.write(bytes);
    log?.look(bench.truth, now_ms());
  });
  if (carrier.path !== null) process.stdout.write(`${carrier.path}\n`);

  /** Millisecond by millisecond where each is looked at. */
  const advance = (dt_s: number): void => {
    if (log === null) {
      bench.advance(dt_s);
      return;
    }
    for (let left_s = dt_s; left_s > 0; left_s -= STEP_s) {
      bench.advance(Math.min(STEP_s, left_s));
      log.look(bench.truth, now_ms());
    }
  };

  /** Stops at each injection, so that it comes at its own millisecond at any speed. */
  const advanceTo = (until_s: number): void => {
    for (let next = injections[0]; next && next.at_s <= until_s; next = injections[0]) {
      advance(Math.max(0, next.at_s - bench.time_s));
      bench.inject(next.fault, next.options);
      injections.shift();
    }
    advance(Math.max(0, until_s - bench.time_s));
  };

  let last_ms = performance.now();
  const timer = setInterval(() => {
    const real_ms = performance.now();
    const dt_s = Math.min((real_ms - last_ms) / 1000, LONGEST_TICK_s) * options.speed;
    last_ms = real_ms;
    advanceTo(bench.time_s + dt_s);
    if (options.garbageEvery_s > 0 && bench.time_s >= garbageAt_s) {
      garbageAt_s += options.garbageEvery_s;
      bench.injectGarbage(GARBAGE_BYTES);
    }
    const bytes = bench.takeBytes();
    if (bytes.length > 0) carrier.write(bytes);
  }, TICK_ms);

  const end = (): void => {
    clearInterval(timer);
    carrier.close();
    process.exit(0);
  };
  process.once('SIGINT', end);
  process.once('SIGTERM', end);
}

/** The rig by name, or that of a sheet file. */
function rigOf(options: { readonly rig: RigName; readonly sheetFile: string | null }): Result<SimulatedRig, string> {
  const { sheetFile } = options;
  if (sheetFile === null) return { ok: true, value: rigs[options.rig] };
  let text: string;
  let json: unknown;
  try {
    text = readFileSync(sheetFile, 'utf8');
  } catch (cause) {
    return err(`The rig sheet ${sheetFile} cannot be read: ${(cause as Error).message}`);
  }
  try {
    json = JSON.parse(text);
  } catch (cause) {
    return err(`The rig sheet ${sheetFile} is no JSON: ${(cause as Error).message}`);
  }
  const sheet = parseRigSheet(json);
  if (!sheet.ok) return err(`The rig sheet ${sheetFile} is not right:\n  ${sheet.error.join('\n  ')}`);
  return rigFromSheet(sheet.value);
}

async function openPtyCarrier(speed: number): Promise<Carrier | null> {
  const opened = await openPty(speed);
  if (opened.ok) return opened.value;
  process.stderr.write(`${opened.error}\n`);
  process.exitCode = 1;
  return null;
}

function stdioCarrier(): Carrier {
  return {
    path: null,
    write: (bytes) => void process.stdout.write(bytes),
    onBytes: (take) => {
      process.stdin.on('data', take);
      process.stdin.once('end', () => process.exit(0));
      process.stdout.on('error', () => process.exit(0));
    },
    close: () => undefined,
  };
}

/** Bytes a second at full throttle and the usual rates, from ten simulated seconds. */
function measuredRate(): number {
  const bench = new SimulatedBench({ seed: 1, scenario: 'full-throttle' });
  bench.advance(10);
  return Math.round(bench.takeBytes().length / 100) * 10;
}
