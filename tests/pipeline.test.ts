import { describe, expect, test } from 'vitest';
import { quality } from '../shared-core/channels/quality.ts';
import type { JournalInput, JournalOutput } from '../shared-core/journal.ts';
import { hostCommandLine } from '../shared-core/line/encoder.ts';
import { Intake } from '../shared-core/line/intake.ts';
import { Pipeline } from '../shared-core/pipeline.ts';
import { lapwing120 } from '../shared-core/rig/lapwing.ts';
import type { ScenarioId } from '../simulator/scenarios.ts';
import { SimulatedBench } from '../simulator/simulated-bench.ts';
import { JournalTape, rule, Stand, smallRig, smallTable } from './pipeline-support.ts';

const s = 1_000_000;

describe('calibration', () => {
  test('given terms for a channel, then its value goes through them, and the others are as sent', () => {
    const rig = smallRig([], {
      calibrations: [{ channel: 'thrust', a0: 1, a1: 2, a2: 0.5, tare: 3, note: 'invented' }],
    });
    const stand = new Stand(rig);
    stand.frame(1, 10_000, { thrust: 10, torque: 4 });
    // 1 + 2·10 + 0.5·10² − 3
    expect(stand.value('thrust')).toBe(68);
    expect(stand.value('torque')).toBe(4);
  });
});

describe('derived channels', () => {
  test('given torque and rpm, then brake power and BMEP with the frame that brings them', () => {
    const stand = new Stand(smallRig([]));
    stand.frame(1, 10_000, { torque: 10, rpm: 6000 });
    // 2π · 10 N·m · 100 /s = 6.283 kW; over 120 cm³ at 100 /s, two-stroke: 5.236 bar.
    expect(stand.value('brake_power')).toBeCloseTo(6.2832, 4);
    expect(stand.value('bmep')).toBeCloseTo(5.236, 3);
    stand.frame(1, 20_000, { torque: 'open' });
    expect(stand.value('brake_power')).toBeNaN();
    expect(stand.quality('brake_power')).toBe(quality.open);
  });
  test('given a steady engine, then fuel by meter and by totaliser agree, and BSFC, CT and CP follow from them', () => {
    const stand = new Stand(smallRig([]));
    // 3.6 L/h are 1 mL/s.
    Object.assign(stand.present, { rpm: 6000, torque: 10, thrust: 250, fuel_flow: 3.6, fuel_temp: 15 });
    for (let i = 1; i <= 200; i++) stand.runTo(i * 100_000, { fuel_total: i * 0.1 });
    expect(stand.value('fuel_density')).toBeCloseTo(745, 6);
    expect(stand.value('fuel_mass_meter')).toBeCloseTo(2.682, 6);
    expect(stand.value('fuel_mass_total')).toBeCloseTo(2.682, 3);
    expect(stand.value('fuel_disagree')).toBeCloseTo(0, 1);
    expect(stand.value('bsfc')).toBeCloseTo((2.682 * 1000) / 6.28319, 2);
    // Air of 20 °C, 1000 hPa, 50 %: 1.1831 kg/m³ as ideal gases, over Z = 0.9996 (CIPM-2007, see tests/published).
    expect(stand.value('air_density')).toBeCloseTo(1.1836, 4);
    const n2D4 = 100 ** 2 * 0.7 ** 4;
    expect(stand.value('prop_ct')).toBeCloseTo(250 / (stand.value('air_density') * n2D4), 6);
    expect(stand.value('prop_cp')).toBeCloseTo(6283.19 / (stand.value('air_density') * 100 ** 3 * 0.7 ** 5), 5);
  });
  test('given the meter reads 20 % high, then the disagreement is in percent of the larger', () => {
    const stand = new Stand(
      smallRig([rule.disagreement('fuel', { channels: ['fuel_mass_meter', 'fuel_mass_total'], floor: 0.5 })]),
    );
    for (let i = 1; i <= 200; i++) stand.runTo(i * 100_000, { fuel_total: i * 0.1, fuel_flow: 4.5 });
    expect(stand.value('fuel_disagree')).toBeCloseTo(20, 0);
    expect(stand.alarmsSaid()).toEqual(['tripped fuel']);
  });
  test('given the totaliser is reset, then there is no rate until it spans enough again, and no alarm', () => {
    const stand = new Stand(
      smallRig([rule.disagreement('fuel', { channels: ['fuel_mass_meter', 'fuel_mass_total'], floor: 0.5 })]),
    );
    for (let i = 1; i <= 200; i++) stand.runTo(i * 100_000, { fuel_total: i * 0.1, fuel_flow: 3.6 });
    stand.runTo(20.3 * s, { fuel_total: 0 });
    expect(stand.quality('fuel_mass_total')).toBe(quality.absent);
    for (let i = 1; i <= 100; i++) stand.runTo((20.3 + i / 10) * s, { fuel_total: i * 0.1 });
    expect(stand.value('fuel_mass_total')).toBeCloseTo(2.682, 2);
    expect(stand.alarmsSaid()).toEqual([]);
  });
  test('given heads that change, then spread, hottest, and the rate of the hottest', () => {
    const stand = new Stand(smallRig([]));
    for (let i = 1; i <= 100; i++) stand.runTo(i * 100_000, { cht1: 100 + i * 0.2, cht2: 90 });
    expect(stand.value('cht_max')).toBe(120);
    expect(stand.value('cht_spread')).toBeCloseTo(30, 9);
    expect(stand.value('cht_rate')).toBeCloseTo(2, 6);
  });
  test('given rpm that rises by 1,000 a second, then its rate is that', () => {
    const stand = new Stand(smallRig([]));
    for (let i = 1; i <= 200; i++) stand.frame(1, i * 10_000, { rpm: 1000 + i * 10 });
    expect(stand.value('rpm_rate')).toBeCloseTo(1000, 6);
  });
  test('given one source ages out, then what rests on it is stale, and keeps the time of its last sample', () => {
    const stand = new Stand(smallRig([]));
    stand.runTo(5 * s, { rpm: 3000, torque: 5 });
    const at = stand.pipeline.values.channels.findIndex((channel) => channel.key === 'brake_power');
    for (let t_us = 5.1 * s; t_us <= 8 * s; t_us += 100_000) stand.tick(Math.round(t_us));
    for (const key of [
      'brake_power',
      'bmep',
      'rpm_rate',
      'cht_max',
      'cht_spread',
      'fuel_density',
      'air_density',
      'prop_ct',
    ]) {
      expect([key, stand.value(key), stand.quality(key)]).toEqual([key, NaN, quality.stale]);
    }
    expect(stand.pipeline.values.updated_us[at]).toBe(5 * s);
  });
  test('given a table without fuel, heads or air, then only what can be had is in the list', () => {
    const stand = new Stand(smallRig([]), {}, smallTable([['cht1', 'head-temperature', 'Cel', 1]]));
    const derived = stand.pipeline.values.channels.filter((channel) => channel.origin.kind === 'derived');
    expect(derived.map((channel) => channel.key)).toEqual(['brake_power', 'bmep', 'rpm_rate', 'cht_max', 'cht_rate']);
    expect(derived.map((channel) => channel.ordinal)).toEqual([4, 5, 6, 7, 8]);
  });
});

describe('points', () => {
  test('given a steady engine, then a captured point has mean and deviation, and is said', () => {
    const stand = new Stand(smallRig([]));
    for (let i = 1; i <= 1000; i++) stand.runTo(i * 10_000, { rpm: 6000 + (i % 2 === 0 ? 10 : -10), cht1: 150 });
    stand.operator({ kind: 'capture-point', name: 'full throttle' });
    const [point] = stand.pipeline.points;
    expect(point).toMatchObject({ name: 'full throttle', to_us: 10 * s });
    expect(point?.means.rpm?.mean).toBeCloseTo(6000, 0);
    expect(point?.means.rpm?.sd).toBeCloseTo(10, 1);
    expect(point?.means.cht1).toEqual({ mean: 150, sd: 0 });
    expect(point?.means.bsfc).toBeNull();
    expect(stand.said.at(-1)?.output).toEqual({ kind: 'point', point });
  });
});

describe('the checklist', () => {
  const rig = smallRig([], {
    checklists: [
      { stage: 'start', title: 'Start', items: [{ id: 'clear', text: 'Arc clear', why: 'invented' }] },
      { stage: 'shut-down', title: 'Shut down', items: [{ id: 'fuel-off', text: 'Fuel off', why: 'invented' }] },
    ],
  });
  test('given it was ticked for one run, then it is to be done anew for the next', () => {
    const stand = new Stand(rig);
    stand.operator({ kind: 'checklist', itemId: 'clear', isDone: true });
    stand.runTo(3 * s, { rpm: 2000 });
    expect([...stand.pipeline.checklistDone]).toEqual(['clear']);
    stand.runTo(5 * s, { rpm: 0 });
    expect([...stand.pipeline.checklistDone]).toEqual([]);
    stand.operator({ kind: 'checklist', itemId: 'fuel-off', isDone: true });
    stand.runTo(8 * s, { rpm: 2000 });
    expect([...stand.pipeline.checklistDone]).toEqual([]);
  });
  test('given an item is unticked, then it is open again', () => {
    const stand = new Stand(rig);
    stand.operator({ kind: 'checklist', itemId: 'clear', isDone: true });
    stand.operator({ kind: 'checklist', itemId: 'clear', isDone: false });
    expect([...stand.pipeline.checklistDone]).toEqual([]);
  });
});

describe('alarms by the operator', () => {
  test('given a latched abort, then acknowledge and reset go through the journal, and marks keep their time', () => {
    const stand = new Stand(smallRig([rule.threshold('hot', { level: 'abort', latch: true })]));
    stand.runTo(s, { cht1: 230 });
    stand.runTo(2 * s, { cht1: 100 });
    stand.operator({ kind: 'acknowledge', alarmId: 'hot' });
    expect(stand.pipeline.alarms).toMatchObject([{ state: 'latched', acknowledgedAt_us: 2 * s }]);
    stand.operator({ kind: 'reset-alarms' });
    expect(stand.pipeline.alarms).toEqual([]);
    expect(stand.alarmsSaid()).toEqual(['tripped hot', 'returned hot', 'acknowledged hot', 'cleared hot']);
    stand.operator({ kind: 'mark', text: 'fan checked' });
    expect(stand.pipeline.marks).toEqual([{ t_us: 2 * s, text: 'fan checked', by: 'operator 1' }]);
  });
});

/** All that a fold shows: outputs with their times, and the bits of every value after every frame. */
class Witness {
  readonly said: string[] = [];
  readonly pipeline: Pipeline;
  frames = 0;
  hash = 0x811c9dc5;

  constructor() {
    this.pipeline = new Pipeline(lapwing120, {
      onValues: (t_us, view) => {
        this.frames++;
        const { value, quality: state } = view.values;
        this.#mix(t_us);
        for (const word of new Uint32Array(value.buffer, value.byteOffset, value.length * 2)) this.#mix(word);
        for (const code of state) this.#mix(code);
      },
      onOutput: (t_us: number, output: JournalOutput) => this.said.push(JSON.stringify([t_us, output])),
    });
  }
  /** FNV-1a over 32-bit words. */
  #mix(word: number): void {
    this.hash = Math.imul(this.hash ^ (word | 0), 0x01000193) >>> 0;
  }
  shown(): unknown {
    const { pipeline } = this;
    return structuredClone({
      hash: this.hash,
      frames: this.frames,
      said: this.said,
      run: pipeline.run,
      starter: pipeline.starter,
      alarms: pipeline.alarms,
      advisories: pipeline.advisories,
      marks: pipeline.marks,
      points: pipeline.points,
      inputs: pipeline.inputs,
      value: pipeline.values.value,
      quality: pipeline.values.quality,
      updated_us: pipeline.values.updated_us,
      now_us: pipeline.now_us,
    });
  }
}

/** Seeded chunk sizes. */
function sizes(seed: number): () => number {
  let state = seed;
  return () => {
    state = (Math.imul(state, 1_664_525) + 1_013_904_223) >>> 0;
    return 1 + (state % 700);
  };
}

/** A session with an operator who answers, the host looking every 50 ms. */
function live(scenario: ScenarioId, seconds: number, seed: number) {
  const bench = new SimulatedBench({ seed, scenario });
  const witness = new Witness();
  const tape = new JournalTape(witness.pipeline);
  const intake = new Intake(tape);
  const nextSize = sizes(seed);
  intake.opened(0, scenario);
  bench.write(hostCommandLine('C0DE', '0001', { name: 'IDENTIFY' }));
  for (let step = 1; step <= seconds * 20; step++) {
    const now_us = step * 50_000;
    bench.advance(0.05);
    const bytes = bench.takeBytes();
    for (let at = 0; at < bytes.length; ) {
      const end = Math.min(bytes.length, at + nextSize());
      intake.bytes(bytes.subarray(at, end), now_us);
      at = end;
    }
    intake.idle(now_us);
    if (step % 400 === 0) answer(witness.pipeline, intake, now_us);
  }
  intake.closed(seconds * s, 'end');
  return { witness, tape, intake };
}

function answer(pipeline: Pipeline, intake: Intake, now_us: number): void {
  intake.operator('operator 1', { kind: 'capture-point', name: `at ${now_us}` }, now_us);
  intake.operator('operator 1', { kind: 'acknowledge-all' }, now_us);
  for (const advisory of pipeline.advisories) {
    const current = advisory.steps.find((each) => each.state === 'current');
    if (current === undefined)
      intake.operator('operator 1', { kind: 'advisory-close', advisoryId: advisory.id }, now_us);
    else
      intake.operator(
        'operator 1',
        { kind: 'advisory-step', advisoryId: advisory.id, stepId: current.step.id },
        now_us,
      );
  }
  intake.operator('operator 1', { kind: 'reset-alarms' }, now_us);
}

describe.each([
  { scenario: 'overspeed', seconds: 60, expects: 'opened' },
  { scenario: 'link-drop', seconds: 60, expects: 'link-lost' },
  { scenario: 'noisy-line', seconds: 60, expects: 'running' },
  { scenario: 'sensor-open', seconds: 60, expects: 'CHT sensor lost' },
] as const)('given a session of scenario $scenario', ({ scenario, seconds, expects }) => {
  test('when its journal is folded again, then every output and every bit is the same', () => {
    const { witness, tape } = live(scenario, seconds, 7);
    expect(witness.said.join('\n')).toContain(expects);
    expect(witness.frames).toBeGreaterThan(3000);
    const replay = new Witness();
    tape.playTo(replay.pipeline);
    expect(replay.shown()).toEqual(witness.shown());
  });
});

describe('how reads split the bytes', () => {
  test('given the same bytes in other chunks at the same times, then the journal is the same but for the noting of counts', () => {
    const bench = new SimulatedBench({ seed: 11, scenario: 'demonstration' });
    const lumps: Uint8Array[] = [];
    for (let i = 0; i < 600; i++) {
      bench.advance(0.05);
      lumps.push(bench.takeBytes());
    }
    const journal = (size: () => number) => {
      const tape = new JournalTape();
      const intake = new Intake(tape);
      intake.opened(0);
      lumps.forEach((bytes, i) => {
        for (let at = 0; at < bytes.length; ) {
          const end = Math.min(bytes.length, at + size());
          intake.bytes(bytes.subarray(at, end), (i + 1) * 50_000);
          at = end;
        }
        intake.idle((i + 1) * 50_000);
      });
      return tape.entries
        .filter((entry) => entry.kind !== 'event' || entry.body.kind !== 'counts')
        .map(({ ord: _ord, ...rest }) => rest);
    };
    const whole = journal(() => Number.POSITIVE_INFINITY);
    expect(whole.length).toBeGreaterThan(3000);
    expect(journal(() => 1)).toEqual(whole);
    expect(journal(sizes(3))).toEqual(whole);
  });
});

describe('inputs of the journal that judge nothing', () => {
  test.each<JournalInput>([
    { kind: 'host', text: 'recorder holds' },
    { kind: 'outputs', live: true, why: 'asked' },
    { kind: 'command', id: '0001', command: { name: 'FAN', on: true }, by: 'operator 1' },
    { kind: 'command-unanswered', id: '0001' },
    { kind: 'clock', bench_us: 0, session_us: 0, host_epochMs: 0 },
    { kind: 'wrong-version', version: '2.0' },
    { kind: 'text', weight: 'W', text: 'filter' },
  ])('given $kind, then nothing is said and no value changes', (body) => {
    const stand = new Stand(smallRig([rule.threshold('hot'), rule.link('link')]));
    stand.runTo(s, { cht1: 150 });
    const before = stand.pipeline.values.value.slice();
    stand.event(body);
    expect(stand.said).toEqual([]);
    expect(stand.pipeline.values.value).toEqual(before);
    expect(stand.pipeline.identity === null).toBe(body.kind === 'wrong-version');
  });
});
