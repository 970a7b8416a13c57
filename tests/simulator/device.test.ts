/**
 * The simulated bench as a separate process on a real pseudo-terminal, read
 * and written through serialport as a real bench would be.
 */
import { type ChildProcess, spawn } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { createInterface } from 'node:readline';
import { fileURLToPath } from 'node:url';
import { SerialPort } from 'serialport';
import { afterEach, describe, expect, test } from 'vitest';
import { LineDecoder } from '../../shared-core/line/decoder.ts';
import { hostCommandLine, hostLeaseLine } from '../../shared-core/line/host-encoder.ts';
import type { Answer, BenchTable, LineSink } from '../../shared-core/line/messages.ts';
import { lapwing120 } from '../../shared-core/rig/lapwing.ts';
import { parseDeviceOptions } from '../../simulator/device/options.ts';

const main = fileURLToPath(new URL('../../simulator/device/main.ts', import.meta.url));
const started: ChildProcess[] = [];
const ports: SerialPort[] = [];

afterEach(async () => {
  for (const port of ports.splice(0)) if (port.isOpen) await new Promise((done) => port.close(done));
  for (const child of started.splice(0)) child.kill('SIGTERM');
});

class Seen implements LineSink {
  table_: BenchTable | null = null;
  readonly answers: Answer[] = [];
  sampleLines = 0;
  firstSample_us = Number.NaN;
  missingLines = 0;
  wrong: string | null = null;
  samples(_group: number, time_us32: number): void {
    if (this.sampleLines++ === 0) this.firstSample_us = time_us32 >>> 0;
  }
  identity(): void {}
  table(table: BenchTable): void {
    this.table_ = table;
  }
  input(): void {}
  answer(answer: Answer): void {
    this.answers.push(answer);
  }
  text(): void {}
  fault(): void {}
  missing(count: number): void {
    this.missingLines += count;
  }
  wrongVersion(version: string): void {
    this.wrong = version;
  }
}

function start(args: readonly string[]): ChildProcess {
  const child = spawn(process.execPath, [main, ...args], { stdio: ['pipe', 'pipe', 'pipe'] });
  started.push(child);
  return child;
}

async function devicePath(child: ChildProcess): Promise<string> {
  if (!child.stdout) throw new Error('the device has no standard output');
  for await (const line of createInterface({ input: child.stdout })) return line;
  throw new Error('the device ended without printing its path');
}

async function open(path: string, seen: Seen): Promise<{ port: SerialPort; decoder: LineDecoder }> {
  const port = new SerialPort({ path, baudRate: 115_200, autoOpen: false });
  ports.push(port);
  const decoder = new LineDecoder();
  port.on('data', (bytes: Buffer) => decoder.push(bytes, seen));
  await new Promise<void>((done, fail) => port.open((error) => (error ? fail(error) : done())));
  return { port, decoder };
}

async function until(holds: () => boolean, most_ms = 10_000): Promise<void> {
  const end_ms = performance.now() + most_ms;
  while (!holds()) {
    if (performance.now() > end_ms) throw new Error('it did not happen in time');
    await new Promise((done) => setTimeout(done, 20));
  }
}

// Windows has no pseudo-terminals that serialport could open; the bench itself is tested everywhere else in this folder.
describe.skipIf(process.platform === 'win32')('given the device on a pseudo-terminal', () => {
  test('when a host opens the printed path, then it reads lines, its commands are answered, and it may come again', async () => {
    const path = await devicePath(start(['--pty', '--scenario', 'warm-idle', '--seed', '9', '--speed', '4']));
    expect(path).toMatch(/^\/dev\//);
    const seen = new Seen();
    const { port, decoder } = await open(path, seen);
    port.write(hostLeaseLine('C0DE', 5000));
    port.write(hostCommandLine('C0DE', '0001', { name: 'IDENTIFY' }));
    port.write(hostCommandLine('C0DE', '0002', { name: 'THROTTLE', permille: 300 }));
    await until(() => seen.answers.length >= 2 && seen.sampleLines > 300);
    expect(seen.answers).toMatchObject([
      { kind: 'accepted', id: '0001' },
      { kind: 'accepted', id: '0002' },
    ]);
    expect(seen.table_?.identity.bench).toBe('lapwing-bench');
    expect(Object.values(decoder.counts.faults).reduce((a, b) => a + b, 0)).toBe(0);
    expect(seen.missingLines).toBe(0);

    await new Promise((done) => port.close(done));
    const again = new Seen();
    await open(path, again);
    await until(() => again.table_ !== null && again.sampleLines > 100);
  });

  test('when it is told to send garbage and a fault, then the host counts and goes on', async () => {
    const args = ['--pty', '--scenario', 'standing', '--speed', '5', '--garbage-every', '1', '--inject', 'cht-open@1'];
    const seen = new Seen();
    const { decoder } = await open(await devicePath(start(args)), seen);
    await until(() => seen.sampleLines > 1500);
    const faults = Object.values(decoder.counts.faults).reduce((a, b) => a + b, 0);
    expect(faults).toBeGreaterThan(0);
    expect(seen.sampleLines).toBeGreaterThan(10 * faults);
  });

  test('when nobody read for some seconds, then a host that opens it gets present lines, not old ones', async () => {
    const path = await devicePath(start(['--pty', '--scenario', 'standing']));
    await new Promise((done) => setTimeout(done, 3500));
    const seen = new Seen();
    const { port } = await open(path, seen);
    port.write(hostCommandLine('C0DE', '0001', { name: 'IDENTIFY' }));
    await until(() => seen.sampleLines > 20);
    expect(seen.firstSample_us).toBeGreaterThan(3.0e6);
    expect(seen.missingLines).toBe(0);
  });

  test('when it announces version 2.0, then the host names it', async () => {
    const seen = new Seen();
    await open(await devicePath(start(['--pty', '--version', '2.0', '--speed', '5'])), seen);
    await until(() => seen.wrong === '2.0');
  });
});

test('given --stdio, then the lines come on standard output and commands are read from standard input', async () => {
  const child = start(['--stdio', '--scenario', 'standing', '--speed', '20']);
  const seen = new Seen();
  const decoder = new LineDecoder();
  child.stdout?.on('data', (bytes: Buffer) => decoder.push(bytes, seen));
  child.stdin?.write(hostCommandLine('C0DE', '0001', { name: 'FAN', on: true }));
  await until(() => seen.answers.length === 1 && seen.sampleLines > 100);
  expect(seen.answers[0]).toMatchObject({ kind: 'accepted', id: '0001' });
});

describe('given a command line', () => {
  test.each([
    { args: ['--scenario', 'picnic'], says: 'There is no scenario "picnic"' },
    { args: ['--seed', '1.5'], says: '--seed needs a whole number' },
    { args: ['--speed', '0'], says: '--speed goes from above 0' },
    { args: ['--speed', 'fast'], says: '--speed goes from above 0' },
    { args: ['--fast-hz', '1001'], says: '--fast-hz goes from 1 to 1000' },
    { args: ['--slow-hz', 'NaN'], says: '--slow-hz goes from' },
    { args: ['--inject', 'rain@3'], says: 'There is no fault "rain"' },
    { args: ['--inject', 'fan-off'], says: '--inject needs FAULT@SECONDS' },
    { args: ['--inject', 'fan-off@3:colour=2'], says: 'has no "colour"' },
    { args: ['--inject', 'overspeed@3:share=2'], says: 'share of "overspeed" goes from 0.05 to 0.8' },
    { args: ['--inject', 'overspeed@3:share='], says: 'share of "overspeed" goes from' },
    { args: ['--inject', 'overspeed@3:share=0.2:ramp_s=3'], says: '--inject needs FAULT@SECONDS' },
    { args: ['--version', '2'], says: '--version needs digits' },
    { args: ['--pty', '--frobnicate', '1'], says: 'There is no option' },
    { args: ['--seed'], says: 'needs a value' },
    { args: ['--stdio', '--log-outputs'], says: '--log-outputs needs --pty' },
  ])('when it is $args, then it says so', ({ args, says }) => {
    const parsed = parseDeviceOptions(args);
    expect(parsed.ok).toBe(false);
    if (!parsed.ok) expect(parsed.error).toContain(says);
  });

  test('when it is right, then all of it counts', () => {
    const parsed = parseDeviceOptions(['--pty', '--seed', '3', '--inject', 'fan-off@10', '--inject', 'reboot@2.5']);
    expect(parsed).toMatchObject({
      ok: true,
      value: {
        carrier: 'pty',
        seed: 3,
        injections: [
          { fault: 'fan-off', at_s: 10 },
          { fault: 'reboot', at_s: 2.5 },
        ],
      },
    });
  });

  test('when a fault is given its extent, then it is kept with it', () => {
    const parsed = parseDeviceOptions(['--pty', '--inject', 'plug-fouled@12.5:cylinder=1,severity=0.5,ramp_s=60']);
    expect(parsed).toMatchObject({
      ok: true,
      value: {
        injections: [{ fault: 'plug-fouled', at_s: 12.5, options: { cylinder: 1, severity: 0.5, ramp_s: 60 } }],
      },
    });
  });
});

test('given a rig sheet in a file, when the device runs it, then its table has that engine; and a sheet that is none is named', async () => {
  const folder = mkdtempSync(join(tmpdir(), 'sheet-'));
  try {
    const file = join(folder, 'four.json');
    const engine = { ...lapwing120.engine, cylinders: 4, displacement_cm3: 210 };
    writeFileSync(file, JSON.stringify({ ...lapwing120, id: 'four', engine }));
    const seen = new Seen();
    const decoder = new LineDecoder();
    const child = start(['--stdio', '--scenario', 'standing', '--speed', '20', '--sheet', file]);
    child.stdout?.on('data', (bytes: Buffer) => decoder.push(bytes, seen));
    await until(() => seen.table_ !== null);
    expect(seen.table_?.identity.bench).toBe('four-bench');
    expect(seen.table_?.channels.filter((row) => row.quantity === 'head-temperature')).toHaveLength(4);

    writeFileSync(file, '{"format":"something"}');
    const wrong = start(['--stdio', '--sheet', file]);
    let said = '';
    wrong.stderr?.on('data', (bytes: Buffer) => (said += String(bytes)));
    const code = await new Promise((done) => wrong.on('exit', done));
    expect(code).toBe(2);
    expect(said).toContain('is not right');
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
});
