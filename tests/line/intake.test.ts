import { describe, expect, test } from 'vitest';
import type { JournalInput } from '../../shared-core/journal.ts';
import { BenchLineEncoder } from '../../shared-core/line/encoder.ts';
import { Intake } from '../../shared-core/line/intake.ts';
import type { BenchTable } from '../../shared-core/line/messages.ts';
import { JournalTape, smallTable } from '../pipeline-support.ts';

const s = 1_000_000;

/** A bench that says what it is told to, with its own clock. */
class Talker {
  readonly encoder = new BenchLineEncoder();
  readonly table: BenchTable;
  constructor(boot = '0001') {
    const table = smallTable();
    this.table = { ...table, identity: { ...table.identity, boot } };
  }
  hello(bench_us: number): Uint8Array {
    const { identity, groups, channels, inputs } = this.table;
    this.encoder.identity(identity, bench_us);
    for (const row of groups) this.encoder.group(identity.layout, row, bench_us);
    for (const row of channels) this.encoder.channel(identity.layout, row, bench_us);
    for (const row of inputs) this.encoder.input(identity.layout, row, bench_us);
    return this.encoder.take();
  }
  fast(...benchTimes_us: number[]): Uint8Array {
    for (const bench_us of benchTimes_us) this.encoder.samples(1, bench_us, Int32Array.of(6000, 10_000, 200), 3);
    return this.encoder.take();
  }
}

function eventsOf(tape: JournalTape, kind: JournalInput['kind']) {
  return tape.entries.flatMap((entry) =>
    entry.kind === 'event' && entry.body.kind === kind ? [{ t_us: entry.t_us, ...entry.body }] : [],
  );
}
const linkStates = (tape: JournalTape) =>
  eventsOf(tape, 'link').map((each) => `${each.t_us / s} ${'state' in each ? each.state : ''}`);
const framesAt = (tape: JournalTape) => tape.entries.filter((each) => each.kind === 'frame').map((each) => each.t_us);
const ticksAt = (tape: JournalTape) => tape.entries.filter((each) => each.kind === 'tick').map((each) => each.t_us);

function expectInOrder(tape: JournalTape) {
  tape.entries.forEach((entry, i) => {
    expect(entry.ord).toBe(i);
    expect(Number.isInteger(entry.t_us)).toBe(true);
    expect(entry.t_us).toBeGreaterThanOrEqual(tape.entries[i - 1]?.t_us ?? 0);
  });
}

/** Opens at host time 50 s, hears the table 0.2 s later. */
function opened(bench_us = 7 * s) {
  const tape = new JournalTape();
  const intake = new Intake(tape);
  const talker = new Talker();
  intake.opened(50 * s, 'port');
  intake.bytes(talker.hello(bench_us), 50.2 * s);
  return { tape, intake, talker };
}

describe('session time', () => {
  test('given the first accepted line, then it is mapped by its arrival and the bench clock keeps the distances', () => {
    const { tape, intake, talker } = opened(7 * s);
    intake.bytes(talker.fast(7.01 * s, 7.02 * s), 50.9 * s);
    expect(framesAt(tape)).toEqual([210_000, 220_000]);
    expect(eventsOf(tape, 'clock')).toEqual([
      { t_us: 200_000, kind: 'clock', bench_us: 7 * s, session_us: 200_000, host_epochMs: 50_200 },
    ]);
    expectInOrder(tape);
  });
  test('given the 32 bits wrap between two lines, then session time goes on', () => {
    const wrap_us = 2 ** 32;
    const { tape, intake, talker } = opened(wrap_us - 20_000);
    intake.bytes(talker.fast(wrap_us - 10_000, wrap_us, wrap_us + 10_000), 50.23 * s);
    expect(framesAt(tape)).toEqual([210_000, 220_000, 230_000]);
  });
  test('given silence over more than one turn of the 32 bits, then the host clock tells how many', () => {
    const wrap_us = 2 ** 32;
    const { tape, intake, talker } = opened(s);
    for (let host_us = 50.2 * s; host_us < 50.2 * s + 2.5 * wrap_us; host_us += 200_000) intake.idle(host_us);
    const later_us = s + 2.5 * wrap_us;
    intake.bytes(talker.fast(later_us), 50.2 * s + 2.5 * wrap_us);
    expect(framesAt(tape)).toEqual([200_000 + 2.5 * wrap_us]);
    expect(intake.counts.faults['time-back']).toBe(0);
    expectInOrder(tape);
  });
  test('given a reboot, then time goes on by the host clock from a new mapping', () => {
    const { tape, intake, talker } = opened(7 * s);
    intake.bytes(talker.fast(7.1 * s), 50.3 * s);
    const reborn = new Talker('0002');
    intake.bytes(reborn.hello(1000), 53.3 * s);
    intake.bytes(reborn.fast(11_000), 53.31 * s);
    expect(framesAt(tape)).toEqual([300_000, 3_310_000]);
    expect(eventsOf(tape, 'clock').map((each) => each.t_us)).toEqual([200_000, 3_300_000]);
    expectInOrder(tape);
  });
  test('given the port is closed and opened again, then the gap is as long as the host saw it', () => {
    const { tape, intake, talker } = opened(7 * s);
    intake.bytes(talker.fast(7.1 * s), 50.3 * s);
    intake.closed(50.4 * s, 'unplugged');
    intake.opened(60.3 * s);
    intake.bytes(talker.fast(17.2 * s, 17.21 * s), 60.4 * s);
    expect(framesAt(tape)).toEqual([300_000, 10_400_000, 10_410_000]);
    expect(linkStates(tape)).toEqual(['0 opened', '0.3 closed', '10.3 opened']);
    expectInOrder(tape);
  });
  test('given lines that arrive late in a lump, then they keep their bench times', () => {
    const { tape, intake, talker } = opened(7 * s);
    const late = [7.05, 7.1, 7.15].map((t_s) => Math.round(t_s * s));
    intake.idle(50.25 * s);
    intake.idle(50.3 * s);
    intake.bytes(talker.fast(...late), 50.36 * s);
    expect(framesAt(tape)).toEqual([250_000, 300_000, 350_000]);
    expectInOrder(tape);
  });
  test('given an operator acts while lines come, then at the time of the newest line, and never before it', () => {
    const { tape, intake, talker } = opened(7 * s);
    intake.bytes(talker.fast(7.1 * s), 50.3 * s);
    intake.operator('operator 1', { kind: 'mark', text: 'now' }, 50.33 * s);
    intake.bytes(talker.fast(7.11 * s), 50.34 * s);
    expect(eventsOf(tape, 'operator')).toMatchObject([{ t_us: 300_000, by: 'operator 1' }]);
    expect(framesAt(tape)).toEqual([300_000, 310_000]);
  });
  test('given an operator acts in a silence, then at the time of the host', () => {
    const { tape, intake } = opened(7 * s);
    for (let host_us = 50.25 * s; host_us <= 55.2 * s; host_us += 50_000) intake.idle(host_us);
    intake.operator('operator 1', { kind: 'mark', text: 'still silent' }, 55.2 * s);
    // 0.2 s, 5 s of silence, less the lag of 0.1 s.
    expect(eventsOf(tape, 'operator')).toMatchObject([{ t_us: 5_100_000 }]);
    expectInOrder(tape);
  });
});

describe('silence', () => {
  test('given nothing is heard, then ticks follow each 100 ms, and at 500 ms the link is silent, once', () => {
    const { tape, intake } = opened(7 * s);
    for (let host_us = 50.25 * s; host_us <= 51.2 * s; host_us += 50_000) intake.idle(host_us);
    expect(ticksAt(tape)).toEqual([2, 3, 4, 5, 6, 7, 8, 9, 10, 11].map((n) => n * 100_000));
    expect(linkStates(tape)).toEqual(['0 opened', '0.6 silent']);
    expect(intake.isSilent).toBe(true);
    expect(intake.silentFor_ms(51.2 * s)).toBeCloseTo(1000);
  });
  test('given a line comes again, then "heard" stands before its samples', () => {
    const { tape, intake, talker } = opened(7 * s);
    for (let host_us = 50.25 * s; host_us <= 51.2 * s; host_us += 50_000) intake.idle(host_us);
    intake.bytes(talker.fast(8.1 * s), 51.3 * s);
    expect(linkStates(tape)).toEqual(['0 opened', '0.6 silent', '1.1 heard']);
    expect(tape.entries.at(-1)).toMatchObject({ kind: 'frame', t_us: 1_300_000 });
    expectInOrder(tape);
  });
  test('given only garbage comes, then the link is silent all the same', () => {
    const { tape, intake } = opened(7 * s);
    for (let host_us = 50.25 * s; host_us <= 51 * s; host_us += 50_000) {
      intake.bytes(Uint8Array.of(0xff, 0x80, 0x0a), host_us);
      intake.idle(host_us);
    }
    expect(linkStates(tape)).toEqual(['0 opened', '0.6 silent']);
    expect(intake.lastFault?.kind).toBe('garbage');
  });
  test('given the host itself stalls for 5 s, then that is not taken for silence of the bench', () => {
    const { tape, intake, talker } = opened(7 * s);
    intake.idle(50.25 * s);
    intake.idle(55.25 * s);
    const lump = Array.from({ length: 500 }, (_, i) => 7 * s + 10_000 * (i + 1));
    intake.bytes(talker.fast(...lump), 55.26 * s);
    expect(linkStates(tape)).toEqual(['0 opened']);
    expect(framesAt(tape).slice(-1)).toEqual([200_000 + 5 * s]);
    expect(new Set(framesAt(tape)).size).toBeGreaterThan(480);
    expectInOrder(tape);
  });
  test.each([1, 5, 20, 50])(
    'given a simulator at %d times real time, then its pace is not taken for silence',
    (speed) => {
      const { tape, intake, talker } = opened(7 * s);
      // Bytes each 20 ms of real time, a look each 50 ms, 7 ms out of step.
      let sent_us = 7 * s;
      for (let real_ms = 1; real_ms <= 2000; real_ms++) {
        const host_us = 50.2 * s + real_ms * 1000 * speed;
        if (real_ms % 20 === 0) {
          const times_us: number[] = [];
          for (sent_us += 10_000; sent_us <= 7 * s + real_ms * 1000 * speed; sent_us += 10_000) times_us.push(sent_us);
          sent_us -= 10_000;
          intake.bytes(talker.fast(...times_us), host_us);
        }
        if (real_ms % 50 === 7) intake.idle(host_us);
      }
      expect(linkStates(tape)).toEqual(['0 opened']);
      expect(ticksAt(tape)).toEqual([]);
      const frames_us = framesAt(tape);
      expect(frames_us).toHaveLength(200 * speed);
      expect(frames_us.every((t_us, i) => t_us === 200_000 + (i + 1) * 10_000)).toBe(true);
      for (let real_ms = 2007; real_ms <= 2407; real_ms += 50) intake.idle(50.2 * s + real_ms * 1000 * speed);
      expect(ticksAt(tape).length).toBeGreaterThan(2);
      expect(linkStates(tape)).toHaveLength(speed === 1 ? 1 : 2);
      expectInOrder(tape);
    },
  );
  test('given a port that never says a word, then it is silent 500 ms after it was opened', () => {
    const tape = new JournalTape();
    const intake = new Intake(tape);
    intake.idle(0);
    expect(tape.entries).toEqual([]);
    intake.opened(1 * s);
    for (let host_us = 1.05 * s; host_us <= 2 * s; host_us += 50_000) intake.idle(host_us);
    expect(linkStates(tape)).toEqual(['0 opened', '0.4 silent']);
  });
  test('given it lasts longer than a minute, then ticks come once a second', () => {
    const { tape, intake } = opened(7 * s);
    for (let host_us = 50.25 * s; host_us <= 170.2 * s; host_us += 50_000) intake.idle(host_us);
    const late = ticksAt(tape).filter((t_us) => t_us > 61 * s);
    expect(late.length).toBeGreaterThan(55);
    expect(late.length).toBeLessThan(62);
  });
  test('given the port is closed, then ticks go on and no silence is declared', () => {
    const { tape, intake } = opened(7 * s);
    intake.closed(50.3 * s);
    for (let host_us = 50.35 * s; host_us <= 52.3 * s; host_us += 50_000) intake.idle(host_us);
    expect(linkStates(tape)).toEqual(['0 opened', '0.2 closed']);
    expect(ticksAt(tape).length).toBeGreaterThan(15);
    intake.closed(52.4 * s);
    expect(linkStates(tape)).toHaveLength(2);
  });
});

describe('what is noted', () => {
  test('given lines go missing, then the counts are noted within a second, and not again without news', () => {
    const { tape, intake, talker } = opened(7 * s);
    talker.fast(7.01 * s);
    intake.bytes(talker.fast(7.02 * s), 50.3 * s);
    for (let host_us = 50.35 * s; host_us <= 53 * s; host_us += 50_000) {
      intake.bytes(talker.fast(host_us - 43.2 * s), host_us);
      intake.idle(host_us);
    }
    const counts = eventsOf(tape, 'counts');
    expect(counts.length).toBeLessThanOrEqual(2);
    expect(counts.at(-1)).toMatchObject({ counts: { missing: 1 } });
    expect(intake.counts.missing).toBe(1);
  });
  test('given the port closes, then the last counts are noted before it', () => {
    const { tape, intake, talker } = opened(7 * s);
    intake.bytes(talker.fast(7.1 * s), 50.3 * s);
    intake.closed(50.4 * s);
    expect(tape.entries.slice(-2).map((each) => (each.kind === 'event' ? each.body.kind : each.kind))).toEqual([
      'counts',
      'link',
    ]);
  });
  test('given an hour of lines, then the clocks are noted about every minute', () => {
    const { tape, intake, talker } = opened(0);
    for (let i = 1; i <= 3600; i++) intake.bytes(talker.fast(i * s), (50.2 + i) * s);
    expect(eventsOf(tape, 'clock')).toHaveLength(61);
  });
  test('given the host does things, then each stands in the journal, and the listener hears of it', () => {
    const heard: string[] = [];
    const tape = new JournalTape();
    const intake = new Intake(tape, { onInput: (_t_us, body) => heard.push(body.kind), epochMsOfHost: () => 1234 });
    intake.opened(0);
    intake.bytes(new Talker().hello(0), 100);
    intake.command('0001', { name: 'FAN', on: true }, 'operator 1', 200);
    intake.commandUnanswered('0001', 300);
    intake.outputs(true, 'asked', 400);
    intake.host('disk full', 500);
    expect(heard).toEqual([
      'link',
      'clock',
      'identity',
      'table',
      'counts',
      'command',
      'command-unanswered',
      'outputs',
      'host',
    ]);
    expect(eventsOf(tape, 'clock')).toMatchObject([{ host_epochMs: 1234 }]);
    expectInOrder(tape);
  });
});

describe('rates of the link', () => {
  test('given 100 lines a second and each tenth missing, then rates and loss are those', () => {
    const { intake, talker } = opened(0);
    let bytes = 0;
    for (let i = 1; i <= 3000; i++) {
      const line = talker.fast(i * 10_000);
      if (i % 10 === 0) continue;
      bytes = line.length;
      intake.bytes(line, 50.2 * s + i * 10_000);
    }
    const rates = intake.rates(80.2 * s);
    expect(rates.linesPerSecond).toBeCloseTo(90, 0);
    expect(rates.bytesPerSecond).toBeCloseTo(90 * bytes, -2);
    expect(rates.loss_percent).toBeCloseTo(10, 0);
    expect(intake.rates(200 * s)).toMatchObject({ linesPerSecond: 0, loss_percent: 0 });
  });
  test.each([-80, 0, 150])(
    'given a bench clock %d ppm fast and reads late by up to 40 ms, then the drift is found within 15 ppm',
    (drift_ppm) => {
      const { intake, talker } = opened(0);
      let random = 12345;
      expect(intake.rates(50.2 * s).drift_ppm).toBeNaN();
      for (let i = 1; i <= 12_000; i++) {
        random = (Math.imul(random, 1_103_515_245) + 12_345) & 0x7fffffff;
        const host_us = i * 50_000;
        const late_us = (random % 1000) * 40;
        intake.bytes(talker.fast(Math.round(host_us * (1 + drift_ppm * 1e-6))), 50.2 * s + host_us + late_us);
      }
      expect(Math.abs(intake.rates(660 * s).drift_ppm - drift_ppm)).toBeLessThan(15);
    },
  );
});
