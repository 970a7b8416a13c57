import { afterEach, describe, expect, test } from 'vitest';
import { isSafeCommand } from '../../electron/host/command-post.ts';
import { lapwing120 } from '../../shared-core/rig/lapwing.ts';
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

describe('given outputs live and an abort advisory that comes up', () => {
  function live(scenario: 'standing' | 'full-throttle'): BenchRig {
    const bench = startBenchRig(scenario);
    bench.pass(3);
    bench.acquisition.outputs.setLive(true, 'by operator 1');
    bench.pass(0.5);
    return bench;
  }
  const raise = (bench: BenchRig) =>
    bench.acquisition.operator('operator 1', { kind: 'raise-advisory', cause: 'fire' });

  test('when the engine stands, then outputs lock, and cannot go live until the advisory is closed', () => {
    rig = live('standing');
    raise(rig);
    rig.pass(0.1);
    const { outputs, pipeline } = rig.acquisition;
    expect(outputs.view()).toMatchObject({ live: false, kept: false, why: 'advisory running: Fire' });
    expect(rig.source.bench.truth.leaseHost).toBeNull();
    expect(outputs.setLive(true, 'by operator 1')).toMatchObject({ ok: false, error: { kind: 'refused' } });
    rig.acquisition.operator('operator 1', { kind: 'advisory-close', advisoryId: pipeline.advisories[0]!.id });
    expect(outputs.setLive(true, 'by operator 1').ok).toBe(true);
  });

  test('when the engine runs, then outputs are locked but the lease is kept: nothing opens, safe acts work, a stop gives it back', () => {
    rig = live('full-throttle');
    raise(rig);
    rig.pass(0.1);
    const { outputs } = rig.acquisition;
    expect(outputs.view()).toMatchObject({ live: false, kept: true });
    for (const command of [
      { name: 'THROTTLE', permille: 500 },
      { name: 'IGNITION', on: true },
      { name: 'SUPPLY', on: true },
    ] as const) {
      expect(outputs.command('operator 1', command), command.name).toMatchObject({ ok: false });
    }
    expect(outputs.holdStarter('operator 1', true, 1).ok).toBe(false);
    // A cut at full heat is what the plan warns of: it runs on, at idle once the throttle is closed.
    outputs.command('operator 1', { name: 'THROTTLE', permille: 0 });
    rig.pass(5);
    expect(rig.source.bench.truth.isRunning).toBe(true);
    expect(rig.source.bench.truth.throttleDemand_permille).toBe(0);
    outputs.command('operator 1', { name: 'IGNITION', on: false });
    rig.until(() => !outputs.isKept, 30);
    rig.pass(0.1);
    expect(outputs.view().why).toBe('the engine has stopped');
    expect(rig.source.bench.truth.leaseHost).toBeNull();
  });

  test.each([
    {
      title: 'the link is lost',
      does: (b: BenchRig) => b.source.bench.inject('link-drop', { for_s: 30 }),
      why: 'link lost',
    },
    {
      title: 'nobody watches',
      does: (b: BenchRig) => b.acquisition.outputs.pageGone('the page is hidden'),
      why: 'the page is hidden',
    },
    {
      title: 'an operator locks',
      does: (b: BenchRig) => b.acquisition.outputs.setLive(false, 'by operator 2'),
      why: 'by operator 2',
    },
  ])('when the lease is kept and $title, then it is given back and the bench cuts the ignition', ({ does, why }) => {
    rig = live('full-throttle');
    raise(rig);
    rig.pass(0.1);
    expect(rig.acquisition.outputs.isKept).toBe(true);
    does(rig);
    rig.pass(2);
    expect(rig.acquisition.outputs.view()).toMatchObject({ live: false, kept: false, why });
    expect(rig.source.bench.truth.isIgnitionOn).toBe(false);
  });
});

describe('given a line that loses what is said to the bench', () => {
  test('when ignition on is lost and ignition off follows, then the first is not said again', () => {
    rig = startBenchRig('standing');
    rig.pass(2);
    const { outputs } = rig.acquisition;
    outputs.setLive(true, 'by operator 1');
    outputs.command('operator 1', { name: 'SUPPLY', on: true });
    rig.pass(0.5);
    rig.source.bench.inject('link-drop', { for_s: 0.1 });
    outputs.command('operator 1', { name: 'IGNITION', on: true });
    rig.pass(0.2);
    outputs.command('operator 1', { name: 'IGNITION', on: false });
    for (let i = 0; i < 100; i++) {
      rig.pass(0.02);
      expect(rig.source.bench.truth.isIgnitionOn).toBe(false);
    }
    const [lost, off] = outputs.view().commands.slice(-2);
    expect(off).toMatchObject({ outcome: 'accepted' });
    expect(lost).toMatchObject({
      outcome: 'unanswered',
      reason: expect.stringContaining('a later command took its place'),
    });
  });

  test('when a hold is lost and let go, then it does not crank later; the same press is not taken up again', () => {
    rig = startBenchRig('standing');
    rig.pass(2);
    const { outputs } = rig.acquisition;
    outputs.setLive(true, 'by operator 1');
    outputs.command('operator 1', { name: 'SUPPLY', on: true });
    rig.pass(0.5);
    rig.overrideLists();
    rig.source.bench.inject('link-drop', { for_s: 0.1 });
    expect(outputs.holdStarter('operator 1', true, 1).ok).toBe(true);
    rig.pass(0.08);
    outputs.holdStarter('operator 1', false, 1);
    for (let i = 0; i < 100; i++) {
      rig.pass(0.02);
      expect(rig.source.bench.truth.isStarterEngaged).toBe(false);
    }
    expect(outputs.holdStarter('operator 1', true, 1)).toMatchObject({ ok: false });
    expect(outputs.holdStarter('operator 1', true, 2)).toMatchObject({ ok: true });
  });

  test('when the bench reboots while live, then outputs lock and what was on stays off', () => {
    rig = startBenchRig('standing');
    rig.pass(2);
    const { outputs } = rig.acquisition;
    outputs.setLive(true, 'by operator 1');
    outputs.command('operator 1', { name: 'SUPPLY', on: true });
    rig.pass(0.5);
    outputs.command('operator 1', { name: 'IGNITION', on: true });
    rig.pass(0.5);
    expect(rig.source.bench.truth.isIgnitionOn).toBe(true);
    rig.source.bench.inject('reboot');
    for (let i = 0; i < 250; i++) {
      rig.pass(0.02);
      expect(rig.source.bench.truth.isIgnitionOn).toBe(false);
    }
    expect(outputs.isLive).toBe(false);
  });
});

describe('given the starter held', () => {
  function ready(): BenchRig {
    const bench = startBenchRig('standing');
    bench.pass(2);
    bench.acquisition.outputs.setLive(true, 'by operator 1');
    bench.acquisition.outputs.command('operator 1', { name: 'SUPPLY', on: true });
    bench.pass(1);
    bench.overrideLists();
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

  test.each([
    { title: 'stutters for 0.9 s', silent_s: 0.9, goesOn: true },
    { title: 'is silent for 1.6 s', silent_s: 1.6, goesOn: false },
  ])(
    'when the page $title, then the starter lets go; the same press goes on after: $goesOn',
    ({ silent_s, goesOn }) => {
      rig = ready();
      const { outputs } = rig.acquisition;
      expect(outputs.holdStarter('operator 1', true, 7).ok).toBe(true);
      rig.pass(0.1);
      expect(rig.source.bench.truth.isStarterEngaged).toBe(true);
      rig.pass(silent_s - 0.1);
      expect(rig.source.bench.truth.isStarterEngaged).toBe(false);
      expect(outputs.holdStarter('operator 1', true, 7).ok).toBe(goesOn);
      rig.pass(0.1);
      expect(rig.source.bench.truth.isStarterEngaged).toBe(goesOn);
    },
  );

  test('when the page stutters and outputs are locked and live again meanwhile, then the press is over', () => {
    rig = ready();
    const { outputs } = rig.acquisition;
    outputs.holdStarter('operator 1', true, 7);
    rig.pass(0.7);
    outputs.setLive(false, 'by operator 2');
    outputs.setLive(true, 'by operator 2');
    rig.pass(0.1);
    expect(outputs.holdStarter('operator 1', true, 7).ok).toBe(false);
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

describe('given the list before the start', () => {
  const hold = (bench: BenchRig) => bench.acquisition.outputs.holdStarter('operator 1', true);
  const items = lapwing120.checklists.find((each) => each.stage === 'before-start')!.items;
  function live(): BenchRig {
    const bench = startBenchRig('standing');
    bench.pass(2);
    bench.acquisition.outputs.setLive(true, 'by operator 1');
    bench.acquisition.outputs.command('operator 1', { name: 'SUPPLY', on: true });
    bench.pass(1);
    return bench;
  }
  const tick = (bench: BenchRig, itemId: string, isDone: boolean) =>
    bench.acquisition.operator('operator 1', { kind: 'checklist', itemId, isDone });

  test('when items are open, then nothing is sent, and it is said how many and what to do', () => {
    rig = live();
    expect(hold(rig)).toMatchObject({
      ok: false,
      error: {
        sentence: `The starter stays off: ${items.length} items before the start are open.`,
        remedy: 'Tick them in Run, or record there why they are left open.',
      },
    });
    for (const { id } of items.slice(1)) tick(rig, id, true);
    expect(hold(rig)).toMatchObject({
      error: { sentence: 'The starter stays off: one item before the start is open.' },
    });
    rig.pass(1);
    expect(rig.source.bench.truth.isStarterEngaged).toBe(false);
    expect(rig.acquisition.outputs.view().commands.some((each) => each.command.name === 'STARTER')).toBe(false);
  });

  test('when all are ticked, then it cranks; one unticked meanwhile does not break the hold, but the next press', () => {
    rig = live();
    for (const { id } of items) tick(rig, id, true);
    expect(hold(rig).ok).toBe(true);
    rig.pass(0.2);
    tick(rig, items[0]!.id, false);
    expect(hold(rig).ok).toBe(true);
    rig.pass(0.2);
    expect(rig.source.bench.truth.isStarterEngaged).toBe(true);
    rig.acquisition.outputs.holdStarter('operator 1', false);
    rig.pass(0.5);
    expect(hold(rig).ok).toBe(false);
  });

  test('when it is left open with a reason, then it cranks, and the recording has the reason', () => {
    rig = live();
    rig.overrideLists();
    expect(hold(rig).ok).toBe(true);
    rig.pass(0.3);
    expect(rig.source.bench.truth.isStarterEngaged).toBe(true);
    expect(rig.acquisition.pipeline.startLists).toEqual({ open: items.length, isOverridden: true });
  });
});
