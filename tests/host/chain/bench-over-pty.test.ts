/**
 * The whole chain as on a stand: the simulated bench as a process of its own
 * on a real pseudo-terminal, the serial driver, intake, pipeline and the
 * recorder on disk. Real time, since a terminal knows no other.
 */
import { type ChildProcess, spawn } from 'node:child_process';
import { mkdtempSync, rmSync, symlinkSync, unlinkSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { createInterface } from 'node:readline';
import { afterEach, beforeEach, describe, expect, test, vi } from 'vitest';
import { Acquisition } from '../../../electron/host/acquisition.ts';
import { compareReplay } from '../../../electron/host/cli/compare-replay.ts';
import { systemClock } from '../../../electron/host/clock.ts';
import { analyse } from '../../../electron/host/export/report-file.ts';
import { PortSource } from '../../../electron/host/serial/port-source.ts';
import { openStore } from '../../../electron/host/store/open-store.ts';
import type { SqliteStore } from '../../../electron/host/store/sqlite-store.ts';
import { lapwing120 } from '../../../shared-core/rig/lapwing.ts';

const device = join(import.meta.dirname, '..', '..', '..', 'simulator', 'device', 'main.ts');
const hasTerminals = process.platform !== 'win32';

let folder = '';
let link = '';
let store: SqliteStore;
let acquisition: Acquisition | null = null;
const benches: ChildProcess[] = [];

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'runstand-chain-'));
  // The lasting name of a device that comes and goes, as udev gives one.
  link = join(folder, 'bench');
  const opened = openStore(join(folder, 'data'));
  if (!opened.ok) throw new Error(opened.error.kind);
  store = opened.value;
});
afterEach(async () => {
  await acquisition?.close();
  acquisition = null;
  for (const bench of benches.splice(0)) bench.kill('SIGKILL');
  store.close();
  rmSync(folder, { recursive: true, force: true, maxRetries: 3 });
});

/** Starts a bench; its device stands under the lasting name from then on. */
async function startBench(...args: string[]): Promise<ChildProcess> {
  const child = spawn(process.execPath, [device, '--pty', ...args], { stdio: ['ignore', 'pipe', 'inherit'] });
  benches.push(child);
  for await (const path of createInterface({ input: child.stdout! })) {
    symlinkSync(path, link);
    return child;
  }
  throw new Error('the bench printed no path');
}

async function stopBench(bench: ChildProcess): Promise<void> {
  unlinkSync(link);
  const ended = new Promise((done) => bench.once('exit', done));
  bench.kill('SIGKILL');
  await ended;
}

function connect(): Acquisition {
  const source = new PortSource({ path: link, baud: 115_200 });
  acquisition = new Acquisition({ source, rig: lapwing120, store, clock: systemClock, log: () => {} });
  acquisition.start();
  return acquisition;
}

const shown = (from: Acquisition, key: string): number => {
  const { channels, value } = from.pipeline.values;
  return value[channels.findIndex((each) => each.key === key)] ?? Number.NaN;
};

describe.skipIf(!hasTerminals)('given a bench on a pseudo-terminal', () => {
  test('when 60 s pass, then every line is there, recorded and whole, and a replay equals live', {
    timeout: 120_000,
  }, async () => {
    await startBench('--scenario', 'full-throttle', '--fast-hz', '100', '--slow-hz', '10');
    const live = connect();
    await vi.waitUntil(() => live.pipeline.layoutVersion > 0, { timeout: 10_000 });
    await vi.waitUntil(() => live.pipeline.now_us > 60_000_000, { timeout: 75_000, interval: 200 });
    const { counts } = live.intake;
    expect(counts.missing).toBe(0);
    // A line or two may come before the channel table is complete; nothing is damaged.
    const damaged = Object.entries(counts.faults).filter(([kind, count]) => kind !== 'before-table' && count > 0);
    expect(damaged).toEqual([]);
    // 110 sample lines a second, and the rest.
    expect(counts.accepted).toBeGreaterThan(6500);
    expect(shown(live, 'rpm')).toBeGreaterThan(6000);
    // The nominal rate holds 11,520 bytes a second.
    expect(counts.bytes / 60).toBeLessThan(11_520);
    const id = live.session!.id;
    await live.close();
    acquisition = null;
    const verified = store.verify(id);
    const recorded = store.load(id);
    const again = analyse(store, id);
    if (!verified.ok || !recorded.ok || !again.ok) throw new Error('expected the session to read back');
    expect(verified.value.findings).toEqual([]);
    expect(verified.value.frames).toBeGreaterThan(6400);
    expect(compareReplay(recorded.value.events, again.value.analysis.outputs)).toEqual([]);
  });

  test('when the terminal goes and another comes, then the gap is in the session and values go on', {
    timeout: 60_000,
  }, async () => {
    const first = await startBench('--scenario', 'warm-idle');
    const live = connect();
    await vi.waitUntil(() => shown(live, 'rpm') > 1000, { timeout: 10_000 });
    const id = live.session!.id;
    await stopBench(first);
    await vi.waitUntil(() => live.snapshot([]).source.state === 'waiting', { timeout: 10_000 });
    expect(live.snapshot([]).source.sentence.length).toBeGreaterThan(20);
    const lost_us = live.pipeline.now_us;
    await startBench('--scenario', 'warm-idle', '--seed', '2');
    await vi.waitUntil(() => live.snapshot([]).source.state === 'open' && live.pipeline.now_us > lost_us + 2_000_000, {
      timeout: 20_000,
    });
    await vi.waitUntil(() => shown(live, 'rpm') > 1000, { timeout: 10_000 });
    expect(live.session!.id).toBe(id);
    live.commit();
    const recorded = store.load(id);
    if (!recorded.ok) throw new Error(recorded.error.kind);
    const links = recorded.value.events.flatMap((each) => (each.body.kind === 'link' ? [each.body.state] : []));
    expect(links.filter((each) => each === 'opened')).toHaveLength(2);
    expect(links).toContain('closed');
    const times = recorded.value.events.map((each) => each.t_us);
    expect(times.every((t_us, i) => i === 0 || t_us >= times[i - 1]!)).toBe(true);
  });

  test('when garbage comes between lines, then it is counted and no value is wrong', { timeout: 40_000 }, async () => {
    await startBench('--scenario', 'full-throttle', '--garbage-every', '0.5');
    const live = connect();
    await vi.waitUntil(() => live.pipeline.now_us > 6_000_000, { timeout: 20_000 });
    const { faults } = live.intake.counts;
    expect(faults.garbage + faults['no-crc'] + faults['too-long'] + faults['bad-crc']).toBeGreaterThan(3);
    expect(live.snapshot([]).link.lastFault).not.toBeNull();
    expect(shown(live, 'rpm')).toBeGreaterThan(6000);
    expect(shown(live, 'rpm')).toBeLessThan(7000);
  });

  test('when it speaks version 2.0, then the sentence says so and no value is read', { timeout: 30_000 }, async () => {
    await startBench('--scenario', 'full-throttle', '--version', '2.0');
    const live = connect();
    await vi.waitUntil(() => live.snapshot([]).source.sentence.includes('2.0'), { timeout: 10_000 });
    const { source } = live.snapshot([]);
    expect(source.sentence).toContain('speaks line protocol 2.0');
    expect(source.remedy).toContain('version 1');
    expect(live.pipeline.values.channels).toEqual([]);
  });
});
