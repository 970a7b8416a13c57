import { describe, expect, test } from 'vitest';
import { type JournalInput, type JournalSink, REPEAT_GROUP } from '../../shared-core/journal.ts';
import { BenchLineEncoder } from '../../shared-core/line/encoder.ts';
import { Intake } from '../../shared-core/line/intake.ts';
import { Pipeline } from '../../shared-core/pipeline.ts';
import { lapwing120 } from '../../shared-core/rig/lapwing.ts';

const identity = {
  version: '1.0',
  bench: 'b',
  firmware: '1',
  boot: '0001',
  layout: '00AA',
  groups: 1,
  channels: 1,
  inputs: 1,
};

/** A journal on tape, and the pipeline that folds it. */
class Tape implements JournalSink {
  readonly pipeline = new Pipeline(lapwing120);
  readonly events: JournalInput[] = [];
  readonly repeats: number[][] = [];
  frame(ord: number, t_us: number, group: number, raw: Int32Array, columns: number): void {
    if (group === REPEAT_GROUP) this.repeats.push([...raw.subarray(0, columns)]);
    this.pipeline.frame(ord, t_us, group, raw, columns);
  }
  tick(ord: number, t_us: number): void {
    this.pipeline.tick(ord, t_us);
  }
  event(ord: number, t_us: number, body: JournalInput): void {
    this.events.push(body);
    this.pipeline.event(ord, t_us, body);
  }
  kinds(kind: JournalInput['kind']): number {
    return this.events.filter((body) => body.kind === kind).length;
  }
}

function begun() {
  const tape = new Tape();
  const intake = new Intake(tape);
  const bench = new BenchLineEncoder();
  let now_us = 0;
  intake.opened(0);
  const hear = (): void => intake.bytes(bench.take(), now_us);
  bench.identity(identity, 0);
  bench.group('00AA', { group: 1, rate_mHz: 1000, columns: 1 }, 0);
  bench.channel(
    '00AA',
    {
      channel: 0,
      group: 1,
      column: 0,
      key: 'rpm',
      quantity: 'shaft-speed',
      unit: '/min',
      decimals: 0,
      low: 0,
      high: 9000,
    },
    0,
  );
  bench.input('00AA', { input: 0, key: 'stop', word0: 'open', word1: 'closed' }, 0);
  hear();
  const say = (state: 0 | 1 | 'X', at_us: number): void => {
    now_us = at_us;
    bench.event(0, state, at_us);
    hear();
  };
  return { tape, bench, say, hear, at: (t_us: number) => (now_us = t_us) };
}

const stopState = (tape: Tape) => tape.pipeline.inputs.find((each) => each.key === 'stop')?.state;

describe('given a bench that repeats itself', () => {
  test('when an input is said again, then only its first word and its changes are events', () => {
    const { tape, say } = begun();
    say(1, 1_000_000);
    for (let i = 2; i <= 10; i++) say(1, i * 1_000_000);
    say(0, 11_000_000);
    say(0, 12_000_000);
    expect(tape.kinds('input')).toBe(2);
    expect(tape.repeats).toHaveLength(10);
    expect(stopState(tape)).toBe(0);
  });

  test('when repeats keep coming, then the state stays known; when they stop, it is not; one repeat brings it back', () => {
    const { tape, bench, say, hear, at } = begun();
    say(1, 1_000_000);
    say(1, 5_500_000);
    say(1, 10_000_000);
    expect(stopState(tape)).toBe(1);
    for (let t_us = 11_000_000; t_us <= 17_000_000; t_us += 1_000_000) {
      at(t_us);
      bench.samples(1, t_us, Int32Array.of(0), 1);
      hear();
    }
    expect(stopState(tape)).toBe('X');
    say(1, 18_000_000);
    expect(stopState(tape)).toBe(1);
    expect(tape.kinds('input')).toBe(1);
  });

  test('when the identity is said again, then it is no event; with another boot it is', () => {
    const { tape, bench, hear, at } = begun();
    at(2_000_000);
    bench.identity(identity, 2_000_000);
    hear();
    expect(tape.kinds('identity')).toBe(1);
    expect(tape.repeats).toEqual([[-1, 0]]);
    at(4_000_000);
    bench.identity({ ...identity, boot: '0002' }, 4_000_000);
    hear();
    expect(tape.kinds('identity')).toBe(2);
  });
});
