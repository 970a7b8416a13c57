/** `npm run conformance` as a person types it, against the simulator on a real pseudo-terminal. */
import { type ChildProcess, spawn } from 'node:child_process';
import { createInterface } from 'node:readline';
import { fileURLToPath } from 'node:url';
import { afterAll, describe, expect, test } from 'vitest';

const device = fileURLToPath(new URL('../../../simulator/device/main.ts', import.meta.url));
const kit = fileURLToPath(new URL('../../../electron/host/cli/conformance.ts', import.meta.url));
const started: ChildProcess[] = [];

afterAll(() => {
  for (const child of started.splice(0)) child.kill('SIGTERM');
});

interface Ended {
  readonly code: number | null;
  readonly out: string;
  readonly err: string;
}

async function ended(args: readonly string[], typed = ''): Promise<Ended> {
  const child = spawn(process.execPath, [kit, ...args], { stdio: ['pipe', 'pipe', 'pipe'] });
  started.push(child);
  let out = '';
  let err = '';
  child.stdout?.on('data', (bytes: Buffer) => {
    out += String(bytes);
  });
  child.stderr?.on('data', (bytes: Buffer) => {
    err += String(bytes);
  });
  child.stdin?.end(typed);
  const code = await new Promise<number | null>((done) => child.on('close', done));
  return { code, out, err };
}

async function devicePath(args: readonly string[]): Promise<string> {
  const child = spawn(process.execPath, [device, '--pty', '--scenario', 'standing', ...args], {
    stdio: ['ignore', 'pipe', 'inherit'],
  });
  started.push(child);
  for await (const line of createInterface({ input: child.stdout! })) return line;
  throw new Error('the device ended without printing its path');
}

// Windows has no pseudo-terminals that serialport could open; the kit itself is tested in memory everywhere.
// Real time, on cores that others use: a bench or a kit that was not scheduled in time is tried again.
describe.skipIf(process.platform === 'win32')('given the simulated bench on a pseudo-terminal', { retry: 2 }, () => {
  test('when the kit asks and drives it, then it conforms, and is not asked to confirm, for it is a simulator', async () => {
    const { code, out, err } = await ended([
      '--port',
      await devicePath([]),
      '--seconds',
      '7',
      '--with-outputs',
      '--json',
    ]);
    const result = JSON.parse(out) as {
      conforms: boolean;
      findings: { check: string; state: string; detail: string }[];
    };
    expect(result.findings.filter((each) => each.state === 'fails')).toEqual([]);
    expect(result.findings.filter((each) => each.state === 'holds').length).toBeGreaterThan(50);
    expect([result.conforms, code, err]).toEqual([true, 0, '']);
  }, 60_000);

  test('when the line flips bits, then it fails, says where, and ends with status 1', async () => {
    const path = await devicePath(['--inject', 'line-noise@0:rate=0.0005']);
    const { code, out } = await ended(['--port', path, '--seconds', '6']);
    expect(out).toMatch(/^part 2 +FAILS +the CRC is right/m);
    expect(out).toContain('This bench does not conform');
    expect(code).toBe(1);
  }, 60_000);

  test('when it does not say that it is a simulator, and nobody types the words, then nothing is driven', async () => {
    const path = await devicePath(['--firmware', '2.1.0']);
    const { code, out, err } = await ended(['--port', path, '--with-outputs'], 'yes\n');
    expect(err).toContain('nobody near the propeller');
    expect(err).toContain('nothing was driven');
    expect([code, out]).toEqual([2, '']);
  }, 60_000);
});

test.each([
  { args: [], says: 'npm run conformance -- --port PATH', code: 2 },
  { args: ['--port', '/dev/there-is-none'], says: 'cannot be opened', code: 2 },
  { args: ['--port', 'x', '--baud', 'fast'], says: '--baud needs a rate', code: 2 },
  { args: ['--port', 'x', '--seconds', '1'], says: '--seconds goes from 6', code: 2 },
  { args: ['--port', 'x', '--loud'], says: 'See --help', code: 2 },
])('given the arguments $args, then it says so', async ({ args, says, code }) => {
  const result = await ended(args);
  expect(result.out + result.err).toContain(says);
  expect(result.code).toBe(code);
});
