import { afterEach, describe, expect, test } from 'vitest';
import { compareReplay } from '../../electron/host/cli/compare-replay.ts';
import { analyse } from '../../electron/host/export/report-file.ts';
import { type BenchRig, startBenchRig } from './bench-rig.ts';

let rig: BenchRig | null = null;
afterEach(async () => {
  await rig?.close();
  rig = null;
});

describe('given a session on the simulator', () => {
  test('when it has run two seconds, then every channel of the table has a good value and the line is clean', () => {
    rig = startBenchRig('full-throttle');
    rig.pass(2);
    const snapshot = rig.acquisition.snapshot([]);
    expect(snapshot.provenance).toBe('SIMULATED');
    expect(snapshot.identity?.version).toBe('1.0');
    expect(snapshot.link.counts.missing).toBe(0);
    const { channels, quality } = rig.acquisition.pipeline.values;
    const bench = channels.filter((each) => each.origin.kind === 'bench');
    expect(bench.length).toBeGreaterThanOrEqual(21);
    for (const channel of bench) expect([channel.key, quality[channel.ordinal]]).toEqual([channel.key, 0]);
  });

  test('when an overspeed trips, then first-out and advisory are there, and the answered advisory closes', () => {
    rig = startBenchRig('overspeed');
    const bench = rig;
    rig.until(() => bench.acquisition.pipeline.advisories.length > 0, 60);
    const alarm = bench.acquisition.pipeline.alarms.find((each) => each.isFirstOut);
    expect(alarm).toMatchObject({ title: 'Overspeed', level: 'abort' });
    const opened = bench.acquisition.pipeline.advisories[0]!;
    expect(opened.imperative).toBe('Cut the ignition now');
    bench.acquisition.outputs.command('operator 1', { name: 'IGNITION', on: false });
    bench.acquisition.outputs.command('operator 1', { name: 'THROTTLE', permille: 0 });
    // Proved by channels, one after the other.
    bench.until(() => bench.acquisition.pipeline.advisories[0]!.steps[2]!.state === 'done-by-channel', 20);
    const states = bench.acquisition.pipeline.advisories[0]!.steps.map((each) => each.state);
    expect(states).toEqual(['done-by-channel', 'done-by-channel', 'done-by-channel', 'current', 'waiting']);
    for (const stepId of ['clear', 'inspect']) {
      bench.acquisition.operator('operator 1', { kind: 'advisory-step', advisoryId: opened.id, stepId });
    }
    expect(bench.acquisition.pipeline.advisories[0]!.completedAt_us).not.toBeNull();
    bench.acquisition.operator('operator 1', { kind: 'advisory-close', advisoryId: opened.id });
    expect(bench.acquisition.pipeline.advisories.filter((each) => each.closedAt_us === null)).toEqual([]);
  });

  test.each(['overspeed', 'over-temperature', 'sensor-open', 'link-drop', 'noisy-line'] as const)(
    'when %s is replayed from the recording, then outputs are those recorded, to the last bit',
    async (scenario) => {
      rig = startBenchRig(scenario, 11);
      rig.pass(45);
      rig.acquisition.operator('operator 1', { kind: 'mark', text: 'half way' });
      rig.acquisition.operator('operator 1', { kind: 'acknowledge-all' });
      rig.pass(45);
      const id = rig.acquisition.session!.id;
      const live = rig.acquisition.pipeline.values.value.slice();
      const { store } = rig;
      await rig.close();
      rig = null;
      const recorded = store.load(id);
      const replayed = analyse(store, id);
      if (!recorded.ok || !replayed.ok) throw new Error('expected the session to load');
      const { analysis } = replayed.value;
      expect(recorded.value.events.some((each) => each.side === 'out')).toBe(true);
      expect(compareReplay(recorded.value.events, analysis.outputs)).toEqual([]);
      expect(analysis.marks).toHaveLength(1);
      expect(live.length).toBeGreaterThan(21);
    },
  );
});

describe('given a line that drops for eight seconds with the engine running', () => {
  test('when it is back, then the gap and the alarm are in the session and values go on', async () => {
    rig = startBenchRig('link-drop');
    rig.pass(40);
    const links = rig.store.load(rig.acquisition.session!.id);
    if (!links.ok) throw new Error('expected the session');
    rig.acquisition.commit();
    const again = rig.store.load(rig.acquisition.session!.id);
    if (!again.ok) throw new Error('expected the session');
    const bodies = again.value.events.map((each) => each.body);
    expect(bodies.some((each) => each.kind === 'link' && each.state === 'silent')).toBe(true);
    expect(bodies.some((each) => each.kind === 'link' && each.state === 'heard')).toBe(true);
    expect(bodies.some((each) => each.kind === 'alarm' && each.rule === 'link' && each.change === 'tripped')).toBe(
      true,
    );
    expect(bodies.some((each) => each.kind === 'advisory' && each.cause === 'link-lost')).toBe(true);
    // 8 s at 100 and 10 lines a second and more: exactly what the running number says.
    expect(rig.acquisition.intake.counts.missing).toBeGreaterThan(800);
    expect(rig.valueOf('rpm')).toBeGreaterThan(3000);
  });
});
