/**
 * Our end of the line against a bench whose author had PROTOCOL.md and nothing
 * else (`tests/support/stranger-bench.ts`): what the one sends, the other must
 * take, and the other way round. Form and damage of single lines are tested
 * elsewhere in this folder.
 */
import { describe, expect, test } from 'vitest';
import type { Channel } from '../../shared-core/channels/channel.ts';
import { channelsOfTable } from '../../shared-core/channels/channel-list.ts';
import { type QualityName, qualityNames, qualityOfRaw } from '../../shared-core/channels/quality.ts';
import { type JournalInput, REPEAT_GROUP } from '../../shared-core/journal.ts';
import { LineDecoder } from '../../shared-core/line/decoder.ts';
import { hostCommandLine, hostLeaseLine } from '../../shared-core/line/encoder.ts';
import { Intake } from '../../shared-core/line/intake.ts';
import type { Answer, BenchCommand, BenchTable } from '../../shared-core/line/messages.ts';
import {
  type StateLetter,
  StrangerBench,
  strangerChannels,
  strangerInputs,
  strangerRates_mHz,
} from '../support/stranger-bench.ts';
import { bytesOf, RecordingSink, textOf, withCrc } from './line-support.ts';

const ms = 1000;
const s = 1_000_000;
const HOST = 'C0DE';

interface Frame {
  readonly t_us: number;
  readonly group: number;
  readonly raw: readonly number[];
}

/** Bench and intake on one clock; bytes arrive every 20 ms, without delay. */
class Link {
  bench: StrangerBench;
  readonly frames: Frame[] = [];
  readonly events: { readonly t_us: number; readonly body: JournalInput }[] = [];
  readonly intake: Intake;
  /** Host time; the bench's is this plus `#benchAhead_us`. */
  now_us = 0;
  #benchAhead_us: number;

  constructor(bench: StrangerBench, benchAhead_us = 0) {
    this.bench = bench;
    this.#benchAhead_us = benchAhead_us;
    this.intake = new Intake({
      frame: (_ord, t_us, group, raw, columns) => this.frames.push({ t_us, group, raw: [...raw.subarray(0, columns)] }),
      tick: () => {},
      event: (_ord, t_us, body) => this.events.push({ t_us, body }),
    });
    this.intake.opened(0);
    this.#take(bench.advance(benchAhead_us));
  }

  run(duration_us: number): void {
    const end_us = this.now_us + duration_us;
    while (this.now_us < end_us) {
      this.now_us += 20 * ms;
      this.#take(this.bench.advance(this.now_us + this.#benchAhead_us));
    }
  }

  /** Power goes and comes back: the new bench begins at 0 after `dark_us`. Its first lines may be lost. */
  reboot(boot: string, dark_us: number, isGreetingLost: boolean): void {
    this.now_us += dark_us;
    this.bench = new StrangerBench({ boot });
    this.#benchAhead_us = -this.now_us;
    const greeting = this.bench.advance(0);
    if (!isGreetingLost) this.#take(greeting);
  }

  toBench(line: Uint8Array): void {
    this.#take(this.bench.receive(line, this.now_us + this.#benchAhead_us));
  }

  command(id: string, command: BenchCommand, host = HOST): Answer | undefined {
    this.toBench(hostCommandLine(host, id, command));
    const answers = this.bodies('answer').map((body) => body.answer);
    return answers.findLast((answer) => answer.host === host && answer.id === id);
  }

  bodies<K extends JournalInput['kind']>(kind: K): Extract<JournalInput, { kind: K }>[] {
    return this.events.map(({ body }) => body).filter((body) => body.kind === kind) as never;
  }

  get table(): BenchTable | undefined {
    return this.bodies('table').at(-1)?.table;
  }

  channel(key: string): Channel {
    const found = channelsOfTable(this.table!).find((channel) => channel.key === key);
    if (found === undefined) throw new Error(`expected channel ${key}`);
    return found;
  }

  raw(key: string): number {
    const { origin } = this.channel(key);
    if (origin.kind !== 'bench') throw new Error(`expected ${key} from the bench`);
    return this.frames.findLast((frame) => frame.group === origin.group)!.raw[origin.column]!;
  }

  /** Core unit. */
  value(key: string): number {
    const { origin } = this.channel(key);
    return origin.kind === 'bench' ? this.raw(key) * origin.factor + origin.offset : NaN;
  }

  /** As the intake last reported it. */
  level(key: string): string {
    const input = strangerInputs.findIndex(([name]) => name === key);
    return String(this.bodies('input').findLast((body) => body.input === input)?.state);
  }

  get faults(): Record<string, number> {
    return Object.fromEntries(Object.entries(this.intake.counts.faults).filter(([, count]) => count > 0));
  }

  #take(bytes: Uint8Array): void {
    for (let at = 0; at < bytes.length; at += 97) this.intake.bytes(bytes.subarray(at, at + 97), this.now_us);
  }
}

function linkedUp(): Link {
  const link = new Link(new StrangerBench({ boot: '00A7' }));
  link.run(2 * s);
  return link;
}

describe('given a bench written from the document alone', () => {
  test('when it has said all its rows, last first, then our table is its table', () => {
    const { table } = linkedUp();
    expect(table?.identity).toMatchObject({
      version: '1.0',
      bench: 'far-field.bench',
      firmware: 'r7/b-[2]',
      boot: '00A7',
    });
    expect(table?.groups.map(({ group, rate_mHz }) => [group, rate_mHz])).toEqual([...strangerRates_mHz].sort());
    expect(table?.channels.map(({ channel, ...row }) => ({ ...row, channel }))).toEqual(
      strangerChannels.map(({ first: _first, ...row }, channel) => ({ ...row, channel })),
    );
    expect(table?.inputs.map(({ key, word0, word1 }) => [key, word0, word1])).toEqual(strangerInputs);
  });

  test('when it sends samples and inputs before its table is complete, then that and nothing else is counted', () => {
    const link = new Link(new StrangerBench({ boot: '00A7' }));
    link.run(400 * ms);
    expect(link.table).toBeUndefined();
    // Nine inputs at power-up, 40 per second of group 7 and 6.25 per second of group 3.
    expect(link.faults).toEqual({ 'before-table': 9 + 16 + 2 });
    link.run(1600 * ms);
    const { counts } = link.intake;
    const before = { ...link.faults };
    link.run(60 * s);
    expect(link.faults).toEqual(before);
    expect(counts.missing).toBe(0);
    expect(Object.keys(before)).toEqual(['before-table']);
  });

  test('when a host joins late in the middle of a line, then it learns all within 5 s and counts no damage', () => {
    const bench = new StrangerBench({ boot: '00A7' });
    bench.advance(61.2345 * s);
    const decoder = new LineDecoder();
    const sink = new RecordingSink();
    const chunk = bench.advance(66.6 * s);
    for (const byte of chunk.subarray(11)) decoder.push(Uint8Array.of(byte), sink);
    expect(decoder.table?.channels).toHaveLength(strangerChannels.length);
    const { faults, missing } = decoder.counts;
    expect({ ...faults, 'before-table': 0, missing }).toEqual(
      Object.fromEntries([...Object.keys(faults), 'missing'].map((k) => [k, 0])),
    );
  });

  // Factors: kilogram-force 9.80665 N and [degF] = (°C · 1.8) + 32, NIST SP 811 (2008), appendix B; the rest is SI.
  test.each([
    { key: 'pull', label: 'Thrust', value: 31.8712 * 9.80665, unit: 'N' },
    { key: 'n_prop', label: 'Rpm', value: 0, unit: 'rpm' },
    { key: 'moment', label: 'Torque', value: -0.000_001, unit: 'N·m' },
    { key: 'flow', label: 'Fuel flow', value: 4.275, unit: 'L/h' },
    { key: 'head_rear', label: 'CHT 1', value: 185.5, unit: '°C' },
    { key: 'head_left', label: 'CHT 2', value: 178.22, unit: '°C' },
    { key: 'head_front', label: 'CHT 3', value: 181, unit: '°C' },
    { key: 'baro', label: 'Air pressure', value: 941.17, unit: 'hPa' },
    { key: 'oat', label: 'Air temperature', value: -20.05, unit: '°C' },
    { key: 'burnt', label: 'Fuel total', value: 1234.567, unit: 'mL' },
    { key: 'exhaust_a', label: 'EGT', value: 590, unit: '°C' },
    { key: 'mains', label: 'Supply voltage', value: 12.417, unit: 'V' },
    { key: 'crank_amp', label: 'Starter current', value: -0.035, unit: 'A' },
    { key: 'travel', label: 'Throttle demand', value: 0, unit: '%' },
    { key: 'case_vac', label: 'Case vac', value: -12.5, unit: 'mm[Hg]' },
  ])('when $key is read, then it is $label, $value $unit', ({ key, label, value, unit }) => {
    const link = linkedUp();
    expect(link.channel(key)).toMatchObject({ label, unit });
    expect(link.value(key)).toBeCloseTo(value, 9);
  });

  test('when its range is shown, then low and high are in the core unit too', () => {
    const link = linkedUp();
    expect(link.channel('head_left').low).toBeCloseTo(200 - 273.15, 9);
    expect(link.channel('head_left').high).toBeCloseTo(900 - 273.15, 9);
    expect(link.channel('n_prop').high).toBeCloseTo(12_000, 9);
    expect(link.channel('case_vac')).toMatchObject({ low: -760, high: 760, quantity: 'other', system: 'other' });
  });

  test.each([
    ['O', 'open'],
    ['S', 'short'],
    ['V', 'over'],
    ['U', 'under'],
    ['X', 'stale'],
  ] as const)(
    'when a reading is %s, then its quality is %s and its neighbours are good',
    (letter: StateLetter, name: QualityName) => {
      const link = linkedUp();
      link.bench.setReading('head_left', letter);
      link.bench.setReading('moment', letter);
      link.run(200 * ms);
      expect(qualityNames[qualityOfRaw(link.raw('head_left'))]).toBe(name);
      expect(qualityNames[qualityOfRaw(link.raw('moment'))]).toBe(name);
      expect(link.value('head_front')).toBe(181);
      expect(link.value('pull')).toBeCloseTo(31.8712 * 9.80665, 9);
    },
  );

  test.each([
    { reading: 400_000, quality: 'over' },
    { reading: 40, quality: 'good' },
    { reading: -10, quality: 'good' },
    { reading: -10.001, quality: 'under' },
  ])('when the load cell stands at $reading kgf, then it is $quality', ({ reading, quality }) => {
    const link = linkedUp();
    link.bench.setReading('pull', reading);
    link.run(200 * ms);
    expect(qualityNames[qualityOfRaw(link.raw('pull'))]).toBe(quality);
  });

  test('when inputs change, then each change comes at once and at its own time', () => {
    const link = linkedUp();
    const from = link.events.length;
    link.bench.setLevel('cage', '0');
    link.run(20 * ms);
    link.bench.setLevel('fuel_door', 'X');
    link.run(20 * ms);
    const seen = link.events.slice(from).filter(({ body }) => body.kind === 'input');
    expect(seen.map(({ t_us, body }) => [t_us, body])).toEqual([
      [2 * s, { kind: 'input', input: 7, state: 0 }],
      [2 * s + 20 * ms, { kind: 'input', input: 2, state: 'X' }],
    ]);
  });

  test('when it says something with spaces, a percent sign and letters beyond ASCII, then the text is the same', () => {
    const link = linkedUp();
    const texts = ['jet  changed: 3 % richer ', ' 28 × 10 at −4 °C ~ ok', '~'];
    for (const text of texts) link.bench.say('W', text);
    link.run(20 * ms);
    expect(link.bodies('text')).toEqual(texts.map((text) => ({ kind: 'text', weight: 'W', text })));
  });

  test('when running number and bench time wrap, then session time runs on and nothing is missing', () => {
    const ahead_us = 2 ** 32 - 3 * s;
    const link = new Link(new StrangerBench({ boot: '00A7', start_us: ahead_us, seq: 0xff00 }), ahead_us);
    link.run(10 * s);
    const times = link.frames.filter(({ group }) => group === 7).map(({ t_us }) => t_us);
    expect(times.length).toBeGreaterThan(8 * 40);
    const steps = times.slice(1).map((t_us, i) => t_us - times[i]!);
    expect(new Set(steps)).toEqual(new Set([25 * ms]));
    expect(link.intake.counts.missing).toBe(0);
    expect(Object.keys(link.faults)).toEqual(['before-table']);
  });

  // At 40 min the new 0 lies less than half a turn of the 32 bits ahead of the old time, at 2 min behind it.
  test.each([
    { age_min: 2, isGreetingLost: false },
    { age_min: 40, isGreetingLost: false },
    { age_min: 2, isGreetingLost: true },
    { age_min: 40, isGreetingLost: true },
  ])(
    'when it reboots after $age_min min (first lines lost: $isGreetingLost), then time goes on by the host’s clock',
    ({ age_min, isGreetingLost }) => {
      const age_us = age_min * 60 * s;
      const link = new Link(new StrangerBench({ boot: '00A7', start_us: age_us }), age_us);
      link.run(3 * s);
      link.reboot('00A8', 1500 * ms, isGreetingLost);
      link.run(6 * s);
      expect(link.bodies('identity').map((body) => body.identity.boot)).toContain('00A8');
      expect(link.bodies('table')).toHaveLength(2);
      expect(Math.abs(link.frames.at(-1)!.t_us - link.now_us)).toBeLessThanOrEqual(25 * ms);
    },
  );

  test('when it reboots and nothing is lost, then nothing is counted as missing or back in time', () => {
    const link = linkedUp();
    link.reboot('00A8', 1500 * ms, false);
    link.run(3 * s);
    expect(link.intake.counts.missing).toBe(0);
    expect(Object.keys(link.faults)).toEqual(['before-table']);
  });
});

describe('given our commands at a bench written from the document alone', () => {
  const accepted = (id: string) => ({ kind: 'accepted', host: HOST, id, fields: [] });
  const refused = (id: string, reason: string) => ({ kind: 'refused', host: HOST, id, reason });

  test('when it is asked to identify, then it answers and tells table and inputs again', () => {
    const link = linkedUp();
    // What was known before comes as repeats: the identity as −1, then each input.
    const repeats = () => link.frames.filter((frame) => frame.group === REPEAT_GROUP).map((frame) => frame.raw[0]!);
    const before = repeats().length;
    expect(link.command('0001', { name: 'IDENTIFY' })).toEqual(accepted('0001'));
    const said = repeats().slice(before);
    expect(said.filter((input) => input === -1)).toHaveLength(1);
    expect(said.filter((input) => input >= 0).toSorted((a, b) => a - b)).toEqual(strangerInputs.map((_, i) => i));
  });

  test('when each zero is asked for with the shaft at rest, then it is taken, and refused while it turns', () => {
    const link = linkedUp();
    const names = ['TARE-THRUST', 'TARE-TORQUE', 'ZERO-FUEL', 'RESET-FUEL'] as const;
    link.bench.setReading('n_prop', 31.666);
    names.slice(0, 3).forEach((name, i) => {
      expect(link.command(`000${i}`, { name })).toMatchObject(refused(`000${i}`, 'MOVING'));
    });
    link.bench.setReading('n_prop', 0);
    names.forEach((name, i) => {
      expect(link.command(`001${i}`, { name })).toEqual(accepted(`001${i}`));
    });
    link.run(200 * ms);
    expect(['pull', 'moment', 'flow', 'burnt'].map((key) => link.value(key))).toEqual([0, 0, 0, 0]);
    link.bench.setReading('pull', 'O');
    expect(link.command('0020', { name: 'TARE-THRUST' })).toEqual({
      ...refused('0020', 'FAULT'),
      words: ['no', 'reading', 'of', 'pull'],
    });
  });

  const driving: readonly BenchCommand[] = [
    { name: 'SERVO', on: true },
    { name: 'SUPPLY', on: true },
    { name: 'IGNITION', on: true },
    { name: 'STARTER', on: true },
    { name: 'THROTTLE', permille: 1 },
  ];

  test('when no host holds the lease, then what drives is refused, what makes safe and the fan are not', () => {
    const link = linkedUp();
    driving.forEach((command, i) => {
      expect(link.command(`000${i}`, command)).toMatchObject(refused(`000${i}`, 'NO-LEASE'));
    });
    const safe: readonly BenchCommand[] = [
      ...(['SERVO', 'SUPPLY', 'IGNITION', 'STARTER'] as const).map((name) => ({ name, on: false })),
      { name: 'THROTTLE', permille: 0 },
      { name: 'FAN', on: true },
    ];
    safe.forEach((command, i) => {
      expect(link.command(`001${i}`, command)).toEqual(accepted(`001${i}`));
    });
    expect(link.level('fan')).toBe('1');
  });

  test('when another host holds the lease, then what drives is refused as leased and our lease is ignored', () => {
    const link = linkedUp();
    link.toBench(hostLeaseLine('BEEF', 900));
    link.toBench(hostLeaseLine(HOST, 5000));
    link.toBench(hostLeaseLine(HOST, 0));
    driving.forEach((command, i) => {
      expect(link.command(`000${i}`, command)).toMatchObject(refused(`000${i}`, 'LEASED'));
    });
    link.run(900 * ms);
    expect(link.level('lease')).toBe('0');
  });

  test('when we hold the lease, then all outputs obey and say so', () => {
    const link = linkedUp();
    link.toBench(hostLeaseLine(HOST, 900));
    driving.slice(0, 4).forEach((command, i) => {
      expect(link.command(`000${i}`, command)).toEqual(accepted(`000${i}`));
    });
    expect(link.command('0005', { name: 'THROTTLE', permille: 1000 })).toEqual(accepted('0005'));
    link.run(200 * ms);
    expect(['lease', 'servo', 'supply', 'ignition', 'starter'].map((key) => link.level(key))).toEqual([
      '1',
      '1',
      '1',
      '1',
      '1',
    ]);
    expect(link.value('travel')).toBe(100);
  });

  test.each([
    { key: 'stop', command: { name: 'STARTER', on: true }, reason: 'STOP-OPEN' },
    { key: 'cage', command: { name: 'STARTER', on: true }, reason: 'CAGE-OPEN' },
    { key: 'supply', command: { name: 'IGNITION', on: true }, reason: 'SUPPLY-OFF' },
    { key: 'servo', command: { name: 'THROTTLE', permille: 500 }, reason: 'SUPPLY-OFF' },
  ] as const)('when $key is open or off, then $command.name is refused $reason', ({ key, command, reason }) => {
    const link = linkedUp();
    link.toBench(hostLeaseLine(HOST, 900));
    link.bench.setLevel(key, '0');
    expect(link.command('0001', command)).toEqual({ ...refused('0001', reason), words: [] });
  });

  // Our encoder throws on these; another host may still send them.
  test.each([
    ['Q C0DE 0001 THROTTLE 1001', 'ARGUMENT'],
    ['Q C0DE 0001 THROTTLE', 'ARGUMENT'],
    ['Q C0DE 0001 FAN on', 'ARGUMENT'],
    ['Q C0DE 0001 IDENTIFY 1', 'ARGUMENT'],
    ['Q C0DE 0001 PURGE', 'UNKNOWN'],
  ])('when the command is %s, then it is refused %s', (body, reason) => {
    const link = linkedUp();
    link.toBench(bytesOf(`${withCrc(body)}\r\n`));
    expect(link.bodies('answer')).toEqual([{ kind: 'answer', answer: { ...refused('0001', reason), words: [] } }]);
  });

  test.each([
    ['a damaged CRC', 'Q C0DE 0001 FAN 1~0000\n'],
    ['no id', `${withCrc('Q C0DE FAN 1')}\n`],
    ['a lease of 299 ms', `${withCrc('L C0DE 299')}\n`],
    ['a lease of 5001 ms', `${withCrc('L C0DE 5001')}\n`],
  ])('when a line has %s, then it is dropped without an answer', (_what, line) => {
    const link = linkedUp();
    link.toBench(bytesOf(line));
    expect(link.bodies('answer')).toEqual([]);
    expect(link.level('lease')).toBe('0');
    expect(link.bench.executed).toEqual([]);
  });

  test('when a command comes again, then the same answer comes and nothing is done again, for 16 commands', () => {
    const link = linkedUp();
    link.toBench(hostLeaseLine(HOST, 5000));
    link.command('0000', { name: 'SERVO', on: true });
    for (let permille = 1; permille <= 15; permille++) {
      link.command(`00${permille.toString(16).padStart(2, '0').toUpperCase()}`, { name: 'THROTTLE', permille });
    }
    expect(link.bench.executed).toHaveLength(16);
    expect(link.command('0001', { name: 'THROTTLE', permille: 1 })).toEqual(accepted('0001'));
    expect(link.bench.executed).toHaveLength(16);
    expect(link.bench.throttle_perMille).toBe(15);
    // The 17th pushes out the first: the bench no longer knows it.
    link.command('0010', { name: 'THROTTLE', permille: 16 });
    expect(link.command('0000', { name: 'SERVO', on: true })).toEqual(accepted('0000'));
    expect(link.bench.executed).toHaveLength(18);
  });

  test('when a refusal comes again, then it stays a refusal though the lease is held by now', () => {
    const link = linkedUp();
    link.command('0001', { name: 'SERVO', on: true });
    link.toBench(hostLeaseLine(HOST, 900));
    expect(link.command('0001', { name: 'SERVO', on: true })).toMatchObject(refused('0001', 'NO-LEASE'));
    expect(link.command('0002', { name: 'SERVO', on: true })).toEqual(accepted('0002'));
  });

  test.each([
    { how: 'lapses', end: (link: Link) => link.run(900 * ms) },
    { how: 'is given back', end: (link: Link) => link.toBench(hostLeaseLine(HOST, 0)) },
  ])('when the lease $how, then starter, ignition and throttle go safe, the supplies stay', ({ end }) => {
    const link = linkedUp();
    link.toBench(hostLeaseLine(HOST, 900));
    [...driving.slice(0, 3), { name: 'THROTTLE', permille: 350 } as const].forEach((command, i) => {
      link.command(`000${i}`, command);
    });
    link.command('0010', { name: 'STARTER', on: true });
    end(link);
    expect(Object.fromEntries(strangerInputs.map(([key]) => [key, link.level(key)]))).toMatchObject({
      lease: '0',
      ignition: '0',
      starter: '0',
      servo: '1',
      supply: '1',
    });
    expect(link.bench.throttle_perMille).toBe(0);
    link.toBench(hostLeaseLine(HOST, 900));
    link.run(200 * ms);
    expect([link.level('lease'), link.level('ignition'), link.value('travel')]).toEqual(['1', '0', 0]);
  });

  test('when the lease is renewed every 200 ms, then it is held; 900 ms after the last renewal it has gone', () => {
    const link = linkedUp();
    for (let i = 0; i < 20; i++) {
      link.toBench(hostLeaseLine(HOST, 900));
      link.run(200 * ms);
    }
    link.run(680 * ms);
    expect(link.level('lease')).toBe('1');
    link.run(20 * ms);
    expect(link.level('lease')).toBe('0');
  });

  test('when the starter is held by new commands it stays in; 250 ms after the last it is out, repeats or not', () => {
    const link = linkedUp();
    link.toBench(hostLeaseLine(HOST, 5000));
    for (const id of ['0001', '0002', '0003']) {
      link.command(id, { name: 'STARTER', on: true });
      link.run(140 * ms);
    }
    // The same id again holds nothing.
    link.command('0003', { name: 'STARTER', on: true });
    link.run(100 * ms);
    expect(link.level('starter')).toBe('1');
    link.run(20 * ms);
    expect(link.level('starter')).toBe('0');
    const out = link.events.findLast(({ body }) => body.kind === 'input' && body.input === 1 && body.state === 0);
    expect(out?.t_us).toBe(2 * s + 280 * ms + 250 * ms);
  });

  test('when the starter is let go by command, then it is out at once', () => {
    const link = linkedUp();
    link.toBench(hostLeaseLine(HOST, 900));
    link.command('0001', { name: 'STARTER', on: true });
    link.command('0002', { name: 'STARTER', on: false });
    expect(link.level('starter')).toBe('0');
  });

  test('when our lines come byte by byte behind a piece of a line and an empty one, then each is obeyed', () => {
    const link = linkedUp();
    const line = textOf(hostCommandLine(HOST, '0001', { name: 'FAN', on: true }));
    for (const byte of bytesOf(`0001 FAN 0~1234\n\n${line}`)) link.toBench(Uint8Array.of(byte));
    expect(link.bench.executed).toEqual(['FAN 1']);
  });
});
