/**
 * Plays the host against any bench that claims to speak PROTOCOL.md and says,
 * line by line, what holds and what does not. By default it commands nothing
 * but IDENTIFY. The checks are in `simulator/conformance/`; here are the port,
 * the clock and the person.
 */
import { randomBytes } from 'node:crypto';
import { createInterface } from 'node:readline/promises';
import { parseArgs } from 'node:util';
import { conforms, reportLines } from '../../../simulator/conformance/conformance-report.ts';
import { ConformanceRun } from '../../../simulator/conformance/conformance-run.ts';
import { openSerialPort, type PortHandle } from '../serial/port-handle.ts';
import { say } from './words.ts';

const HELP = `Holds a bench against PROTOCOL.md.

  npm run conformance -- --port PATH

  --port PATH      the serial port of the bench
  --baud N         its rate (115200)
  --seconds N      listens for so long before it asks anything (12)
  --with-outputs   also drives the outputs: supplies, servo, starter with the ignition off, ignition
                   with the starter off. Only with nobody near the propeller. Asks first, unless the
                   bench says it is a simulator (its firmware begins with "sim-").
  --yes            does not ask
  --json           the findings as JSON

Without --with-outputs nothing is commanded but IDENTIFY.
Exit status: 0 what was seen conforms, 1 it does not, 2 the kit could not run.
`;
const TICK_ms = 5;
const TYPED = 'nobody is near';

interface Options {
  readonly path: string;
  readonly baud: number;
  readonly listen_s: number;
  readonly withOutputs: boolean;
  readonly isSure: boolean;
  readonly isJson: boolean;
}

const options = optionsOf(process.argv.slice(2));
if (options !== null) await main(options);

function optionsOf(args: string[]): Options | null {
  let values: ReturnType<typeof parse>;
  try {
    values = parse(args);
  } catch (cause) {
    return refuse((cause as Error).message);
  }
  if (values.help || values.port === undefined) {
    process.stdout.write(HELP);
    process.exitCode = values.help ? 0 : 2;
    return null;
  }
  const baud = Number(values.baud);
  const listen_s = Number(values.seconds);
  if (!(Number.isInteger(baud) && baud >= 300))
    return refuse(`--baud needs a rate such as 115200, not "${values.baud}".`);
  if (!(listen_s >= 6 && listen_s <= 3600)) return refuse(`--seconds goes from 6 to 3600, not "${values.seconds}".`);
  return {
    path: values.port,
    baud,
    listen_s,
    withOutputs: values['with-outputs'],
    isSure: values.yes,
    isJson: values.json,
  };
}

function parse(args: string[]) {
  return parseArgs({
    args,
    options: {
      port: { type: 'string' },
      baud: { type: 'string', default: '115200' },
      seconds: { type: 'string', default: '12' },
      'with-outputs': { type: 'boolean', default: false },
      yes: { type: 'boolean', default: false },
      json: { type: 'boolean', default: false },
      help: { type: 'boolean', short: 'h', default: false },
    },
  }).values;
}

function refuse(sentence: string): null {
  process.stderr.write(`${sentence} See --help.\n`);
  process.exitCode = 2;
  return null;
}

async function main(options: Options): Promise<void> {
  if (options.withOutputs && !options.isSure && !(await isAllowed(options))) return;
  const run = newRun(options, options.withOutputs);
  let said = '';
  const tell = (stage: string): void => {
    if (stage === said || options.isJson) return;
    said = stage;
    process.stderr.write(`${stage} …\n`);
  };
  await drive(options, run, () => {
    tell(run.stage === 'listening' ? `listening for ${options.listen_s} s` : run.stage);
    return run.isDone;
  });
  const findings = run.list();
  if (options.isJson) say(JSON.stringify({ conforms: conforms(findings), lines: run.watch.lines, findings }, null, 2));
  else {
    say(`${run.watch.lines} lines heard on ${options.path}.\n`);
    for (const line of reportLines(findings)) say(line);
  }
  process.exitCode = conforms(findings) ? 0 : 1;
}

/** Listens until the bench has said what it is; a simulator may be driven without asking. */
async function isAllowed(options: Options): Promise<boolean> {
  const run = newRun({ ...options, listen_s: 6 }, false);
  const from_ms = performance.now();
  await drive(options, run, () => run.watch.firmware !== '' || performance.now() - from_ms > 6000);
  if (run.watch.firmware.startsWith('sim-')) return true;
  const terminal = createInterface({ input: process.stdin, output: process.stderr });
  process.stderr.write(
    'This will switch supplies and servo, crank the engine with the ignition off, and switch the ignition on.\n' +
      'Fuel shut, nobody near the propeller, a hand on the hard-wired stop.\n',
  );
  const typed = await terminal.question(`Type "${TYPED}" to go on: `);
  terminal.close();
  if (typed.trim() === TYPED) return true;
  refuse('Not confirmed; nothing was driven.');
  return false;
}

function newRun(options: Pick<Options, 'listen_s'>, withOutputs: boolean): ConformanceRun {
  const [host, other] = [hostNumber(), hostNumber()];
  return new ConformanceRun({ listen_s: options.listen_s, withOutputs, host, other });
}

function hostNumber(): string {
  return randomBytes(2).toString('hex').toUpperCase();
}

/** Opens the port, feeds the run until it is enough, closes. */
async function drive(options: Options, run: ConformanceRun, isEnough: () => boolean): Promise<void> {
  let handle: PortHandle | null = null;
  let trouble = '';
  let isOpen = false;
  await new Promise<void>((resolve) => {
    const timer = setInterval(() => {
      if (!isOpen) return;
      for (const bytes of run.tick(performance.now())) handle?.write(bytes);
      if (isEnough()) finish();
    }, TICK_ms);
    const finish = (): void => {
      clearInterval(timer);
      resolve();
    };
    handle = openSerialPort(options.path, options.baud, {
      opened: () => {
        isOpen = true;
      },
      failed: (text) => {
        trouble = `The port ${options.path} cannot be opened: ${text}.`;
        finish();
      },
      bytes: (chunk) => run.bytes(chunk, performance.now()),
      lost: (text) => {
        trouble = `The port ${options.path} was lost: ${text}.`;
        finish();
      },
    });
  });
  await new Promise<void>((resolve) => {
    if (handle) handle.close(resolve);
    else resolve();
  });
  if (trouble !== '') {
    process.exitCode = 2;
    process.stderr.write(`${trouble}\n`);
    process.exit(2);
  }
}
