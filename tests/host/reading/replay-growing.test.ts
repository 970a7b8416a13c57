/** The replay of a session that is still being recorded: what comes behind it is part of it. */
import { afterEach, beforeEach, expect, test, vi } from 'vitest';
import { Acquisition } from '../../../electron/host/acquisition.ts';
import { ReadingRoom } from '../../../electron/host/reading/reading-room.ts';
import { SimulatorSource } from '../../../electron/host/simulator-source.ts';
import { MemoryStore } from '../../../electron/host/store/memory-store.ts';
import type { Snapshot } from '../../../shared-core/bridge/contract.ts';
import { lapwing120 } from '../../../shared-core/rig/lapwing.ts';

beforeEach(() => {
  vi.useFakeTimers({ toFake: ['setInterval', 'clearInterval'] });
});
afterEach(() => {
  vi.useRealTimers();
});

test('given a replay that stands at the end of what was recorded, when the session goes on, then so can the replay', async () => {
  const store = new MemoryStore();
  const source = new SimulatorSource({ scenario: 'warm-idle', seed: 3, speed: 1 });
  const clock = { now_us: () => source.now_us(), now_epochMs: () => 1.7e12 + source.now_us() / 1000 };
  const acquisition = new Acquisition({ source, rig: lapwing120, store, clock, log: () => {} });
  acquisition.startUnpaced();
  const recordTo = (time_s: number): void => {
    while (source.bench.time_s < time_s) source.step();
    acquisition.commit();
  };
  recordTo(10);
  const { id } = acquisition.session!;

  let shown: Snapshot | null = null;
  let count = 0;
  const room = new ReadingRoom(store, '', (message) => {
    if (message.type !== 'snapshot') return;
    shown = message.snapshot;
    count += 1;
  });
  const replay = (): Snapshot => shown!;
  await room.ask({ method: 'replay.open', params: { id } });
  const first_us = replay().replay!.duration_us;
  expect(first_us).toBeGreaterThan(8e6);
  expect(replay().replay).toMatchObject({ isGrowing: true });
  await room.ask({ method: 'replay.seek', params: { t_us: 1e12 } });
  expect(replay().now_us).toBe(first_us);

  // Nothing new: nothing is said.
  const before = count;
  vi.advanceTimersByTime(3000);
  expect(count).toBe(before);

  recordTo(20);
  vi.advanceTimersByTime(1000);
  expect(replay().replay!.duration_us).toBeGreaterThan(first_us + 9e6);
  expect(replay().now_us).toBe(first_us);
  await room.ask({ method: 'replay.seek', params: { t_us: 1e12 } });
  expect(replay().now_us).toBe(replay().replay!.duration_us);
  expect(replay().run.state).toBe('running');

  await acquisition.close();
  vi.advanceTimersByTime(1000);
  expect(replay().replay).toMatchObject({ isGrowing: false });
  // An ended session is looked at no more.
  const after = count;
  vi.advanceTimersByTime(60_000);
  expect(count).toBe(after);
  expect(vi.getTimerCount()).toBe(0);
  await room.close();
});
