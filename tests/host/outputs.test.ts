import { afterEach, describe, expect, test } from 'vitest';
import { isSafeCommand } from '../../electron/host/outputs.ts';
import { type BenchRig, startBenchRig } from './bench-rig.ts';

let rig: BenchRig | null = null;
afterEach(async () => {
  await rig?.close();
  rig = null;
});

const lastOf = (bench: BenchRig) => bench.acquisition.outputs.view().commands.at(-1);

describe('given a bench at rest and outputs locked', () => {
  test('when ignition on is asked for, then nothing is sent and the answer says what to do', () => {
    rig = startBenchRig('standing');
    rig.pass(2);
    const done = rig.acquisition.outputs.command('operator 1', { name: 'IGNITION', on: true });
    expect(done).toMatchObject({ ok: false, error: { kind: 'refused' } });
    rig.pass(1);
    expect(rig.inputOf('ignition')).toBe(0);
  });

  test('when ignition off and throttle closed are asked for, then they are sent all the same', () => {
    rig = startBenchRig('full-throttle');
    rig.pass(2);
    expect(rig.valueOf('rpm')).toBeGreaterThan(6000);
    expect(rig.acquisition.outputs.command('operator 1', { name: 'IGNITION', on: false }).ok).toBe(true);
    expect(rig.acquisition.outputs.command('operator 1', { name: 'THROTTLE', permille: 0 }).ok).toBe(true);
    rig.until(() => rig!.valueOf('rpm') < 100, 20);
    expect(rig.inputOf('ignition')).toBe(0);
  });
});

describe('given outputs live', () => {
  test('when ignition on is commanded, then the bench accepts and the lease is held', () => {
    rig = startBenchRig('standing');
    rig.pass(2);
    rig.acquisition.outputs.setLive(true, 'by operator 1');
    rig.acquisition.outputs.command('operator 1', { name: 'SUPPLY', on: true });
    rig.pass(1);
    rig.acquisition.outputs.command('operator 1', { name: 'IGNITION', on: true });
    rig.pass(1);
    expect(lastOf(rig)).toMatchObject({ command: { name: 'IGNITION', on: true }, outcome: 'accepted' });
    expect(rig.inputOf('ignition')).toBe(1);
    expect(rig.inputOf('lease')).toBe(1);
    rig.pass(20);
    expect(rig.inputOf('lease')).toBe(1);
  });

  test('when the bench refuses, then its reason stands beside the command in words', () => {
    rig = startBenchRig('standing');
    rig.pass(2);
    rig.acquisition.outputs.setLive(true, 'by operator 1');
    // Engine supply is off.
    rig.acquisition.outputs.command('operator 1', { name: 'IGNITION', on: true });
    rig.pass(1);
    expect(lastOf(rig)).toMatchObject({ outcome: 'refused', reason: 'the supply that this needs is off' });
  });

  test('when the line is dead, then a command ends as unanswered and outputs lock by themselves', () => {
    rig = startBenchRig('standing');
    rig.pass(2);
    rig.acquisition.outputs.setLive(true, 'by operator 1');
    rig.pass(1);
    rig.source.bench.inject('link-drop', { for_s: 30 });
    rig.acquisition.outputs.command('operator 1', { name: 'FAN', on: true });
    rig.pass(3);
    expect(lastOf(rig)).toMatchObject({ outcome: 'unanswered' });
    expect(rig.acquisition.outputs.isLive).toBe(false);
    // The bench, by its own clock, has made its outputs safe meanwhile.
    expect(rig.source.bench.truth.leaseHost).toBeNull();
  });

  test('when the last page goes, then outputs lock and the bench lets go of ignition and starter', () => {
    rig = startBenchRig('standing');
    rig.pass(2);
    rig.acquisition.outputs.setLive(true, 'by operator 1');
    rig.acquisition.outputs.command('operator 1', { name: 'SUPPLY', on: true });
    rig.pass(0.5);
    rig.acquisition.outputs.command('operator 1', { name: 'IGNITION', on: true });
    rig.pass(0.5);
    expect(rig.source.bench.truth.isIgnitionOn).toBe(true);
    rig.acquisition.outputs.pageGone();
    rig.pass(0.5);
    expect(rig.source.bench.truth.isIgnitionOn).toBe(false);
  });

  test('when nobody commands anything for five minutes at rest, then outputs lock', () => {
    rig = startBenchRig('standing');
    rig.pass(2);
    rig.acquisition.outputs.setLive(true, 'by operator 1');
    rig.pass(299);
    expect(rig.acquisition.outputs.isLive).toBe(true);
    rig.pass(2);
    expect(rig.acquisition.outputs.isLive).toBe(false);
  });
});

describe('given the starter held', () => {
  function ready(): BenchRig {
    const bench = startBenchRig('standing');
    bench.pass(2);
    bench.acquisition.outputs.setLive(true, 'by operator 1');
    bench.acquisition.outputs.command('operator 1', { name: 'SUPPLY', on: true });
    bench.pass(1);
    return bench;
  }

  test('when the page repeats its hold, then the starter stays engaged; when it stops, then it lets go within 800 ms', () => {
    rig = ready();
    for (let i = 0; i < 20; i++) {
      expect(rig.acquisition.outputs.holdStarter('operator 1', true).ok).toBe(true);
      rig.pass(0.15);
    }
    expect(rig.source.bench.truth.isStarterEngaged).toBe(true);
    // 500 ms of the last hold, and one tick of the host.
    rig.pass(0.8);
    expect(rig.source.bench.truth.isStarterEngaged).toBe(false);
  });

  test('when held without end, then it is let go at 8 s and refused until it has rested', () => {
    rig = ready();
    let refused: string | null = null;
    let engaged_s = 0;
    for (let i = 0; i < 100 && refused === null; i++) {
      const held = rig.acquisition.outputs.holdStarter('operator 1', true);
      if (!held.ok) refused = held.error.sentence;
      rig.pass(0.1);
      if (rig.source.bench.truth.isStarterEngaged) engaged_s += 0.1;
    }
    expect(refused).toContain('used up its time');
    expect(engaged_s).toBeGreaterThan(7);
    expect(engaged_s).toBeLessThanOrEqual(8.3);
    rig.pass(60);
    expect(rig.acquisition.outputs.holdStarter('operator 1', true).ok).toBe(false);
    rig.pass(62);
    expect(rig.acquisition.outputs.holdStarter('operator 1', true).ok).toBe(true);
  });
});

test.each([
  { command: { name: 'THROTTLE', permille: 0 }, safe: true },
  { command: { name: 'THROTTLE', permille: 1 }, safe: false },
  { command: { name: 'IGNITION', on: false }, safe: true },
  { command: { name: 'IGNITION', on: true }, safe: false },
  { command: { name: 'STARTER', on: true }, safe: false },
  { command: { name: 'FAN', on: true }, safe: true },
  { command: { name: 'TARE-THRUST' }, safe: true },
] as const)('$command may go out with outputs locked: $safe', ({ command, safe }) => {
  expect(isSafeCommand(command)).toBe(safe);
});
