/** The host's share in alarms: refusals, hours, the recorder's health, stamps on their way, back-tests. */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, describe, expect, test, vi } from 'vitest';
import { Acquisition } from '../../electron/host/acquisition.ts';
import { AlarmLatency, percentile } from '../../electron/host/alarm-latency.ts';
import { carriedHours, hoursAtEnd } from '../../electron/host/engine-hours.ts';
import { BacktestClient } from '../../electron/host/reading/backtest-client.ts';
import { BacktestRoom } from '../../electron/host/reading/backtest-room.ts';
import { RecorderNotes } from '../../electron/host/recorder-notes.ts';
import { SimulatorSource } from '../../electron/host/simulator-source.ts';
import { MemoryStore } from '../../electron/host/store/memory-store.ts';
import { openStore } from '../../electron/host/store/open-store.ts';
import type { SessionStore } from '../../electron/host/store/store-contract.ts';
import type { BacktestView } from '../../shared-core/bridge/contract.ts';
import type { JournalEvent, JournalOutput } from '../../shared-core/journal.ts';
import type { LimitRule } from '../../shared-core/limits/rules.ts';
import { lapwing120 } from '../../shared-core/rig/lapwing.ts';
import { type BenchRig, startBenchRig } from './bench-rig.ts';

const rigs: BenchRig[] = [];
afterEach(async () => {
  for (const rig of rigs.splice(0)) await rig.close();
});
function running(): BenchRig {
  const rig = startBenchRig('full-throttle');
  rigs.push(rig);
  rig.until(() => rig.acquisition.pipeline.run.state === 'running', 60);
  return rig;
}
const eventsOf = (rig: BenchRig): readonly JournalEvent[] => {
  rig.acquisition.commit();
  const session = rig.store.load(rig.acquisition.session!.id);
  if (!session.ok) throw new Error(session.error.kind);
  return session.value.events;
};

describe('given an engine at full throttle', () => {
  test('when an abort alarm is shelved, then it is refused with a sentence, and the attempt is recorded', () => {
    const rig = running();
    const answer = rig.acquisition.operator('operator 1', {
      kind: 'shelve',
      alarmId: 'rpm-abort',
      reason: 'too loud',
      for_min: 10,
    });
    expect(answer).toMatchObject({ ok: false, error: { kind: 'refused' } });
    expect(answer.ok ? '' : answer.error.sentence).toContain('never shelved');
    const texts = eventsOf(rig).flatMap(({ body }) => (body.kind === 'host' ? [body.text] : []));
    expect(texts.some((text) => text.startsWith('refused to operator 1: shelve.'))).toBe(true);
    expect(eventsOf(rig).some(({ body }) => body.kind === 'operator')).toBe(false);
  });
  test('when the session begins, then hours and the recorder are noted once, before anything runs', () => {
    const rig = running();
    const facts = eventsOf(rig).filter(({ body }) => body.kind === 'hours' || body.kind === 'recorder');
    expect(facts.map(({ body }) => body.kind)).toEqual(['hours', 'recorder']);
  });
  test('when alarms change, then it is urgent at once, the snapshot carries the way, and the session records it', async () => {
    const urgent = vi.fn();
    const source = new SimulatorSource({ scenario: 'full-throttle', seed: 7, speed: 1 });
    const clock = { now_us: () => source.now_us(), now_epochMs: () => 1.7e12 + source.now_us() / 1000 };
    const store = new MemoryStore();
    const parts = { source, rig: lapwing120, store, clock, log: () => {}, onUrgent: urgent };
    const acquisition = new Acquisition(parts);
    acquisition.startUnpaced();
    while (acquisition.pipeline.run.state !== 'running') source.step();
    urgent.mockClear();
    const before = acquisition.snapshot([]).alarmStamp?.change ?? 0;
    source.bench.inject('cht-open');
    while (!acquisition.pipeline.alarms.some((alarm) => alarm.rule === 'head-sensors')) source.step();
    expect(urgent).toHaveBeenCalledTimes(1);
    const { alarmStamp } = acquisition.snapshot([]);
    expect(alarmStamp?.change).toBe(before + 1);
    expect(alarmStamp!.postedAt_epochMs).toBeGreaterThanOrEqual(alarmStamp!.arrivedAt_epochMs);
    acquisition.alarmsShown(alarmStamp!.change, alarmStamp!.arrivedAt_epochMs + 80);
    expect(acquisition.snapshot([]).latency).toMatchObject({ shown: 1, p50_ms: 80, p99_ms: 80, worst_ms: 80 });
    const { id } = acquisition.session!;
    await acquisition.close();
    const recorded = store.load(id);
    const notes = recorded.ok ? recorded.value.events.filter(({ body }) => body.kind === 'latency') : [];
    expect(notes.map(({ body }) => body)).toEqual([
      { kind: 'latency', shown: 1, p50_ms: 80, p99_ms: 80, worst_ms: 80 },
    ]);
  });
});

describe('hours from session to session', () => {
  test('given a session with a run, then the next one begins with its hours; simulated and real are apart', async () => {
    const rig = running();
    rig.pass(60);
    const { store } = rig;
    rig.acquisition.operator('operator 1', { kind: 'fasteners-locked' });
    rig.pass(30);
    await rig.close();
    const session = store.load(store.list().ok ? (store.list() as { value: { id: string }[] }).value[0]!.id : '');
    if (!session.ok) throw new Error(session.error.kind);
    const hours = hoursAtEnd(session.value);
    expect(hours.total_h * 3600).toBeCloseTo(90, -1);
    expect(hours.sinceLocked_h * 3600).toBeCloseTo(30, 0);
    expect(carriedHours(store, lapwing120, 'SIMULATED')).toMatchObject({ total_h: hours.total_h });
    expect(carriedHours(store, lapwing120, 'LIVE')).toMatchObject({ total_h: 0 });
    expect(carriedHours(store, { ...lapwing120, id: 'another' }, 'SIMULATED')).toMatchObject({ total_h: 0 });
  });
});

describe('what of the recorder is noted', () => {
  const good = { state: 'recording', held_s: 0, freeBytes: 100e9 } as const;
  test('given nothing changes, then once; holding, with each further second; room, when it is halved', () => {
    const notes = new RecorderNotes();
    expect(notes.of(good)).toEqual({ kind: 'recorder', ...good });
    expect(notes.of({ ...good, freeBytes: 99.9e9 })).toBeNull();
    expect(notes.of({ ...good, state: 'holding', held_s: 0.5 })).toMatchObject({ state: 'holding', held_s: 0 });
    expect(notes.of({ ...good, state: 'holding', held_s: 0.9 })).toBeNull();
    expect(notes.of({ ...good, state: 'holding', held_s: 1 })).toMatchObject({ held_s: 1 });
    expect(notes.of(good)).toMatchObject({ state: 'recording' });
    expect(notes.of({ ...good, freeBytes: 50e9 })).not.toBeNull();
  });
});

describe('the way of alarms', () => {
  test('given changes before a snapshot went out, then the first of them is stamped', () => {
    let now = 1000;
    const latency = new AlarmLatency(() => now);
    latency.changed(990);
    now = 1005;
    latency.changed(1004);
    expect(latency.posted()).toEqual({
      change: 1,
      arrivedAt_epochMs: 990,
      judgedAt_epochMs: 1000,
      postedAt_epochMs: 1005,
    });
    expect(latency.health.posted_ms).toBe(15);
    expect(latency.posted()?.change).toBe(1);
  });
  test('given what a page cannot know, then it is left out', () => {
    const latency = new AlarmLatency(() => 1000);
    latency.changed(1000);
    latency.shown(7, 1010);
    latency.shown(1, 990);
    latency.shown(1, 1000 + 61_000);
    latency.shown(1, NaN);
    expect(latency.health.shown).toBe(0);
    latency.shown(1, 1040);
    expect(latency.health).toMatchObject({ shown: 1, worst_ms: 40 });
  });
  test('given paintings, then they are recorded once a minute, and at the end', () => {
    let now = 0;
    const latency = new AlarmLatency(() => now);
    latency.changed(0);
    latency.shown(1, 50);
    now = 59_000;
    expect(latency.due()).toBeNull();
    now = 60_000;
    expect(latency.due()).toEqual({ kind: 'latency', shown: 1, p50_ms: 50, p99_ms: 50, worst_ms: 50 });
    now = 200_000;
    expect(latency.due()).toBeNull();
    expect(latency.due(true)).toBeNull();
  });
  test('given a hundred ways, then the nearest rank is taken', () => {
    const ways = Array.from({ length: 100 }, (_, i) => i + 1);
    expect([percentile(ways, 0.5), percentile(ways, 0.99), percentile([], 0.5)]).toEqual([50, 99, NaN]);
  });
});

const tested = lapwing120.rules
  .filter((rule) => rule.id === 'cht1-caution')
  .map((rule): LimitRule => (rule.kind === 'threshold' ? { ...rule, trip: 60, reset: 55 } : rule));

/** A session of the demonstration's engine at full throttle. */
async function recordInto(store: SessionStore): Promise<string> {
  const source = new SimulatorSource({ scenario: 'full-throttle', seed: 7, speed: 1 });
  const clock = { now_us: () => source.now_us(), now_epochMs: () => 1.7e12 + source.now_us() / 1000 };
  const acquisition = new Acquisition({ source, rig: lapwing120, store, clock, log: () => {} });
  acquisition.startUnpaced();
  while (source.bench.time_s < 60) source.step();
  source.bench.inject('cht-open');
  while (source.bench.time_s < 90) source.step();
  const { id } = acquisition.session!;
  await acquisition.close();
  return id;
}

describe.each(['in memory', 'in a worker'] as const)('a back-test %s', (where) => {
  async function withRoom(act: (room: Pick<BacktestRoom, 'ask'>, session: string) => Promise<void>): Promise<void> {
    const folder = mkdtempSync(join(tmpdir(), 'runstand-backtest-'));
    try {
      if (where === 'in memory') {
        const store = new MemoryStore();
        const session = await recordInto(store);
        const room = new BacktestRoom(store);
        await act(room, session);
        await room.close();
        return;
      }
      const opened = openStore(folder);
      if (!opened.ok) throw new Error(opened.error.kind);
      const session = await recordInto(opened.value);
      const client = new BacktestClient(folder);
      await act(client, session);
      await client.close();
      opened.value.close();
    } finally {
      rmSync(folder, { recursive: true, force: true, maxRetries: 3 });
    }
  }
  const start = async (room: Pick<BacktestRoom, 'ask'>, sessions: string[], rules: LimitRule[] = tested) => {
    const answer = await room.ask({ method: 'backtest.start', params: { sessions, rules } });
    return answer.ok ? (answer.value as { id: string }).id : answer.error.kind;
  };
  const view = async (room: Pick<BacktestRoom, 'ask'>, id: string) => {
    const answer = await room.ask({ method: 'backtest.result', params: { id } });
    return answer.ok ? (answer.value as BacktestView) : null;
  };

  test('when it is done, then every session has its result, and one that is not there is said to be left out', () =>
    withRoom(async (room, session) => {
      const id = await start(room, [session, 'no-such-session', session]);
      await vi.waitUntil(async () => (await view(room, id))?.state !== 'running', { timeout: 20_000 });
      const done = await view(room, id);
      expect(done).toMatchObject({ state: 'done', progress: 1, session: null });
      expect(done?.sentence).toContain('no-such-session');
      expect(done?.results).toHaveLength(1);
      expect(done?.results[0]).toMatchObject({ session, rules: [{ ruleId: 'cht1-caution', isJudged: true }] });
      expect(done?.results[0]?.rules[0]?.count).toBeGreaterThan(0);
    }));
  test('when it is cancelled, then it has stopped when the answer comes', () =>
    withRoom(async (room, session) => {
      const id = await start(room, [session]);
      expect(await room.ask({ method: 'backtest.cancel', params: { id } })).toMatchObject({ ok: true });
      expect(await view(room, id)).toMatchObject({ state: 'cancelled', results: [] });
    }));
  test('when another is started, then the first is cancelled and forgotten', () =>
    withRoom(async (room, session) => {
      const first = await start(room, [session]);
      const second = await start(room, [session]);
      expect(second).not.toBe(first);
      expect(await view(room, first)).toBeNull();
      await vi.waitUntil(async () => (await view(room, second))?.state === 'done', { timeout: 20_000 });
    }));
  test('when its rules contradict themselves, then it is refused', () =>
    withRoom(async (room, session) => {
      const [rule] = tested;
      expect(await start(room, [session], [{ ...rule!, reset: 70 } as LimitRule])).toBe('invalid');
      expect(await start(room, [session], [rule!, rule!])).toBe('invalid');
    }));
});

test('given the outputs of a real session, then a rule tried as it was trips when it did', async () => {
  const store = new MemoryStore();
  const id = await recordInto(store);
  const session = store.load(id);
  if (!session.ok) throw new Error(session.error.kind);
  const was = session.value.events.flatMap(({ t_us, side, body }) =>
    side === 'out' && body.kind === 'alarm' && body.change === 'tripped'
      ? [{ t_us, rule: (body as Extract<JournalOutput, { kind: 'alarm' }>).rule }]
      : [],
  );
  const room = new BacktestRoom(store);
  const rules = [...lapwing120.rules];
  const answer = await room.ask({ method: 'backtest.start', params: { sessions: [id], rules } });
  if (!answer.ok) throw new Error(answer.error.sentence);
  const params = answer.value as { id: string };
  const found = await vi.waitUntil(async () => {
    const result = await room.ask({ method: 'backtest.result', params });
    const now = result.ok ? (result.value as BacktestView) : null;
    return now?.state === 'done' ? now : null;
  });
  expect(was.some((each) => each.rule === 'head-sensors')).toBe(true);
  for (const rule of found.results[0]!.rules) {
    expect(rule.trips.map((trip) => trip.t_us)).toEqual(
      was.filter((each) => each.rule === rule.ruleId).map((each) => each.t_us),
    );
  }
});
