/** The host behind a carrier in memory: what a page gets, asks and is told on bad days. */
import { copyFileSync, mkdtempSync, readdirSync, readFileSync, rmSync, truncateSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import { afterEach, beforeEach, describe, expect, test, vi } from 'vitest';
import { type Host, type SourceChoice, startHost } from '../../electron/host/host.ts';
import type { Result } from '../../shared-core/base/result.ts';
import type {
  BridgeError,
  HostMessage,
  Method,
  RendererCarrier,
  RendererMessage,
  Requests,
  Snapshot,
} from '../../shared-core/bridge/contract.ts';
import { createMemoryCarriers } from '../../shared-core/bridge/memory-carrier.ts';

const DATABASE = 'runstand.sqlite';
let folder = '';
let hosts: Host[] = [];

beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'runstand-host-'));
});
afterEach(async () => {
  for (const host of hosts) await host.close();
  hosts = [];
  rmSync(folder, { recursive: true, force: true, maxRetries: 3 });
});

const idle: SourceChoice = { kind: 'simulator', scenario: 'full-throttle', seed: 5, speed: 1 };

function start(source: SourceChoice = idle): Host {
  const host = startHost({ dataFolder: folder, source, door: 'memory', log: () => {} });
  hosts.push(host);
  return host;
}

class TestPage {
  readonly messages: HostMessage[] = [];
  readonly #carrier: RendererCarrier;
  #id = 0;

  constructor(host: Host) {
    const pair = createMemoryCarriers<HostMessage, RendererMessage>();
    this.#carrier = pair.second;
    this.#carrier.onMessage((message) => this.messages.push(message));
    host.connect(pair.first);
  }

  post(message: unknown): void {
    this.#carrier.post(message as Parameters<RendererCarrier['post']>[0]);
  }

  of<T extends HostMessage['type']>(type: T): Extract<HostMessage, { type: T }>[] {
    return this.messages.filter((each) => each.type === type) as Extract<HostMessage, { type: T }>[];
  }

  get snapshot(): Snapshot {
    return this.of('snapshot').at(-1)!.snapshot;
  }

  async ask<M extends Method>(method: M, params: Requests[M]['params']) {
    const id = ++this.#id;
    this.post({ type: 'request', id, method, params });
    return vi.waitUntil(() => this.of('reply').find((each) => each.id === id)?.result, { timeout: 10_000 });
  }

  credit(count: number): void {
    this.post({ type: 'credit', stream: 'live', count });
  }

  close(): void {
    this.#carrier.close();
  }
}

describe('given a host on the simulator', () => {
  test('when a page connects, then it gets hello, the layout before the snapshot, and no batch without a credit', async () => {
    const page = new TestPage(start());
    await vi.waitUntil(() => page.of('snapshot').some((each) => each.snapshot.layoutVersion > 0), { timeout: 5000 });
    expect(page.messages[0]).toMatchObject({ type: 'hello', contract: 1 });
    expect(page.messages[0]).toHaveProperty('notice', expect.stringContaining('not the emergency stop'));
    for (const [i, message] of page.messages.entries()) {
      if (message.type !== 'snapshot') continue;
      const before = page.messages.slice(0, i).filter((each) => each.type === 'layout');
      expect(before.at(-1)?.layout.layoutVersion).toBe(message.snapshot.layoutVersion);
    }
    expect(page.of('display')).toEqual([]);
    expect(page.snapshot).toMatchObject({ provenance: 'SIMULATED', recorder: { state: 'recording' }, troubles: [] });
  });

  test('when credits come late, then the steps between are merged into one batch and counted', async () => {
    const page = new TestPage(start());
    await vi.waitUntil(() => page.of('snapshot').length > 4, { timeout: 5000 });
    page.credit(1);
    await vi.waitUntil(() => page.of('display').length === 1, { timeout: 5000 });
    const batch = page.of('display')[0]!.batch;
    expect(batch.merged).toBeGreaterThan(4);
    expect(batch.to_us - batch.from_us).toBeGreaterThan(200_000);
    await vi.waitUntil(() => page.of('snapshot').length > 7, { timeout: 5000 });
    expect(page.of('display')).toHaveLength(1);
  });

  test.each([
    { name: 'a method that does not exist', message: { type: 'request', id: 9, method: 'bench.explode', params: {} } },
    {
      name: 'a parameter out of range',
      message: { type: 'request', id: 9, method: 'sim.speed', params: { speed: -1 } },
    },
    {
      name: 'a throttle of 200 %',
      message: {
        type: 'request',
        id: 9,
        method: 'outputs.command',
        params: { by: 'operator 1', command: { name: 'THROTTLE', permille: 2000 } },
      },
    },
  ])('when a page sends $name, then it is refused in words and nothing is done', async ({ message }) => {
    const page = new TestPage(start());
    page.post(message);
    const reply = await vi.waitUntil(() => page.of('reply')[0], { timeout: 5000 });
    expect(reply).toMatchObject({ id: 9, result: { ok: false, error: { kind: 'invalid' } } });
    expect(page.snapshot.outputs.commands.filter((each) => each.command.name === 'THROTTLE')).toEqual([]);
  });

  test('when a page is loaded again, then outputs stay live; when nobody comes back, then they lock', async () => {
    const host = start();
    const page = new TestPage(host);
    await vi.waitUntil(() => page.of('snapshot').some((each) => each.snapshot.layoutVersion > 0), { timeout: 5000 });
    await page.ask('outputs.live', { by: 'operator 1', live: true });
    await vi.waitUntil(() => page.snapshot.outputs.live, { timeout: 5000 });
    page.close();
    await new Promise((done) => setTimeout(done, 300));
    const again = new TestPage(host);
    await vi.waitUntil(() => again.of('snapshot').length > 3, { timeout: 5000 });
    expect(again.snapshot.outputs.live).toBe(true);
    again.close();
    await new Promise((done) => setTimeout(done, 3600));
    const late = new TestPage(host);
    await vi.waitUntil(() => late.of('snapshot').length > 1, { timeout: 5000 });
    expect(late.snapshot.outputs.live).toBe(false);
  });

  test('when a session is exported, listed and viewed, then the answers hold the recording', async () => {
    const page = new TestPage(start());
    const session = await vi.waitUntil(() => page.of('snapshot').length > 0 && page.snapshot.session, {
      timeout: 5000,
    });
    await vi.waitUntil(() => page.snapshot.now_us > 2_500_000, { timeout: 10_000 });
    const list = await page.ask('sessions.list', {});
    expect(list).toMatchObject({ ok: true, value: [{ id: session!.id, isOpen: true, provenance: 'SIMULATED' }] });
    const view = await page.ask('view', {
      session: session!.id,
      channels: ['rpm', 'brake_power'],
      from_us: 0,
      to_us: 2_000_000,
      pixels: 20,
    });
    if (!view.ok) throw new Error(JSON.stringify(view.error));
    const [rpm, power] = view.value as Requests['view']['value'];
    expect(rpm!.max.filter((each) => each > 6000).length).toBeGreaterThan(10);
    expect(power!.max.filter((each) => each > 5).length).toBeGreaterThan(10);
    const file = await page.ask('export.csv', { id: session!.id });
    expect(file).toMatchObject({ ok: true });
    const gone = await page.ask('export.report', { id: 'no-such-session' });
    expect(gone).toMatchObject({ ok: false, error: { kind: 'not-found' } });
  });
});

describe('given a bad day', () => {
  test('when the file is no database, then it is untouched, the session goes on in memory, and every snapshot says so', async () => {
    writeFileSync(join(folder, DATABASE), 'shopping list\n'.repeat(1000));
    const page = new TestPage(start());
    await vi.waitUntil(() => page.of('snapshot').length > 2, { timeout: 5000 });
    expect(page.snapshot.troubles).toMatchObject([
      { id: 'database', sentence: expect.stringContaining('not a database') },
    ]);
    expect(page.snapshot.troubles[0]!.sentence).toContain('memory only');
    expect(readFileSync(join(folder, DATABASE), 'utf8')).toContain('shopping list');
    const list = await page.ask('sessions.list', {});
    expect(list).toMatchObject({ ok: true, value: [{ isOpen: true }] });
  });

  test('when the database is of a newer version, then it is left alone and the sentence says which', async () => {
    await startAndStop();
    const db = new Database(join(folder, DATABASE));
    db.pragma('user_version = 99');
    db.close();
    const before = readFileSync(join(folder, DATABASE));
    const page = new TestPage(start());
    await vi.waitUntil(() => page.of('snapshot').length > 0, { timeout: 5000 });
    expect(page.snapshot.troubles[0]!.sentence).toContain('99');
    expect(readFileSync(join(folder, DATABASE)).equals(before)).toBe(true);
  });

  test('when the database is damaged, then it is set aside by name, kept whole, and a fresh one records', async () => {
    await startAndStop();
    const path = join(folder, DATABASE);
    truncateSync(path, Math.floor(readFileSync(path).length / 2 / 4096) * 4096 + 1000);
    copyFileSync(path, join(folder, 'copy-for-the-test'));
    const page = new TestPage(start());
    await vi.waitUntil(() => page.of('snapshot').length > 2, { timeout: 5000 });
    const aside = readdirSync(folder).find((name) => name.includes('set-aside') && name.endsWith('.sqlite'));
    expect(aside).toBeDefined();
    expect(page.snapshot.troubles[0]!.sentence).toContain(aside!);
    expect(readFileSync(join(folder, aside!)).equals(readFileSync(join(folder, 'copy-for-the-test')))).toBe(true);
    expect(page.snapshot.recorder.state).toBe('recording');
  });

  test('when the rig sheet is damaged, then the place is named and the limits are said to be the demo rig’s', async () => {
    writeFileSync(join(folder, 'rig-sheet.json'), '{"format":"runstand-rig","formatVersion":1}');
    const page = new TestPage(start());
    await vi.waitUntil(() => page.of('snapshot').length > 0, { timeout: 5000 });
    expect(page.snapshot.troubles[0]).toMatchObject({
      id: 'rig-sheet',
      remedy: expect.stringContaining('Do not start'),
    });
  });

  test('when the port does not exist, then its state says so with a remedy, and the host goes on trying', async () => {
    const page = new TestPage(start({ kind: 'port', path: join(folder, 'no-such-port'), baud: 115_200 }));
    await vi.waitUntil(() => page.of('snapshot').length > 0 && page.snapshot.source.state === 'waiting', {
      timeout: 5000,
    });
    expect(page.snapshot.source.sentence).toContain('no-such-port');
    expect(page.snapshot.source.remedy.length).toBeGreaterThan(10);
    const before = page.snapshot.source.attempts;
    await vi.waitUntil(() => page.snapshot.source.attempts > before, { timeout: 8000 });
    expect(page.snapshot.provenance).toBe('LIVE');
  });
});

/** A host that recorded a little and ended in order. */
async function startAndStop(): Promise<void> {
  const host = start();
  const page = new TestPage(host);
  await vi.waitUntil(() => page.of('snapshot').length > 8, { timeout: 10_000 });
  await host.close();
  hosts = [];
}

describe('given a rig sheet of another engine', () => {
  test('when the simulator is started after it was saved, then that engine runs, and a lesson runs on the demo rig', async () => {
    const page = new TestPage(start({ kind: 'none' }));
    const { rig } = unwrapped(await page.ask('rig.get', {})) as Requests['rig.get']['value'];
    const engine = { ...rig.engine, cylinders: 1, displacement_cm3: 60 };
    const propeller = { ...rig.propeller, diameter_m: 0.58, pitch_m: 0.25 };
    const sheet = { ...rig, id: 'single-60', name: 'Single 60', engine, propeller };
    unwrapped(await page.ask('rig.save', { sheet, by: 'engineer 1', change: 'another engine' }));

    unwrapped(await page.ask('source.use', { kind: 'simulator', scenario: 'full-throttle', seed: 5, speed: 1 }));
    const keys = (): string[] =>
      page
        .of('layout')
        .at(-1)
        ?.layout.channels.map((each) => each.key) ?? [];
    page.credit(40);
    await vi.waitUntil(() => keys().includes('cht1'), { timeout: 10_000 });
    expect(keys()).not.toContain('cht2');
    expect(page.of('layout').at(-1)?.layout.rig.name).toBe('Single 60');

    unwrapped(await page.ask('train.start', { lesson: 'overspeed', mode: 'guided', trainee: 'trainee 1' }));
    await vi.waitUntil(() => keys().includes('cht2'), { timeout: 10_000 });
    expect(page.of('layout').at(-1)?.layout.rig.id).toBe('lapwing-120');
  });
});

function unwrapped<T>(result: Result<T, BridgeError>): T {
  if (!result.ok) throw new Error(`${result.error.sentence} ${result.error.remedy}`);
  return result.value;
}
