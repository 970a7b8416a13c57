/** The simulated bench against PROTOCOL.md, over bytes in both directions, through the real decoder and encoder. */
import { describe, expect, test } from 'vitest';
import type { StandAction } from '../../simulator/scenarios.ts';
import { SimulatedBench } from '../../simulator/simulated-bench.ts';
import { HostEnd } from './host-end.ts';

function connected(scenario: 'standing' | 'warm-idle' = 'standing', seed = 5): HostEnd {
  const host = new HostEnd(new SimulatedBench({ seed, scenario }));
  host.run(0.2);
  return host;
}

const on = (kind: 'supply' | 'servo' | 'ignition' | 'fan' | 'starter'): StandAction => ({ kind, on: true });

describe('given a host that was there at boot', () => {
  test('then identity and the whole table come first, and every line is good', () => {
    const host = connected();
    expect(host.identities[0]).toMatchObject({ version: '1.0', bench: 'lapwing-bench', groups: 2, inputs: 8 });
    expect(host.table?.groups).toEqual([
      { group: 1, rate_mHz: 100_000, columns: 6 },
      { group: 2, rate_mHz: 10_000, columns: 15 },
    ]);
    expect(host.table?.channels.map((row) => row.key)).toEqual([
      ...['rpm', 'thrust', 'torque', 'throttle', 'servo_pulse', 'starter_amp', 'cht1', 'cht2', 'egt1', 'egt2'],
      ...['fuel_flow', 'fuel_total', 'fuel_level', 'fuel_temp', 'supply_volt', 'gen_volt', 'gen_amp'],
      ...['air_temp', 'air_press', 'air_humid', 'inlet_temp'],
    ]);
    host.run(20);
    expect(host.damaged).toBe(0);
    expect(host.missing).toBe(0);
    // 100 Hz and 10 Hz over 20.2 s, to a line.
    expect(Math.abs(host.sampleLines - 2222)).toBeLessThanOrEqual(2);
  });

  test('then each input comes again within 2 s, and identity too', () => {
    const host = connected();
    host.inputs.length = 0;
    host.identities.length = 0;
    host.run(2);
    expect(new Set(host.inputs.map((each) => each.key)).size).toBe(8);
    expect(host.identities.length).toBeGreaterThan(0);
  });

  test('then all fits a line of 115,200 Bd at full throttle', () => {
    const bench = new SimulatedBench({ seed: 1, scenario: 'full-throttle' });
    bench.advance(60);
    expect(bench.takeBytes().length / 60).toBeLessThan(0.8 * 11_520);
  });
});

test('given a host that joins late and cannot send, when 6 s pass, then it has the table', () => {
  const bench = new SimulatedBench({ seed: 2, scenario: 'warm-idle' });
  bench.advance(7.77);
  bench.takeBytes();
  const host = new HostEnd(bench);
  host.run(6);
  expect(host.table?.channels).toHaveLength(21);
});

test('given a host that joins late, when it asks for identity, then table and inputs are there at once', () => {
  const bench = new SimulatedBench({ seed: 2, scenario: 'warm-idle' });
  bench.advance(3);
  bench.takeBytes();
  const host = new HostEnd(bench);
  expect(host.send({ name: 'IDENTIFY' })).toBe('ok');
  expect(host.table?.inputs).toHaveLength(8);
  expect(host.inputs.map((each) => each.key)).toEqual([
    ...['stop', 'cage', 'ignition', 'starter', 'servo', 'supply', 'fan', 'lease'],
  ]);
});

describe('given no lease', () => {
  test.each([
    { command: { name: 'IGNITION', on: true }, answer: 'NO-LEASE' },
    { command: { name: 'STARTER', on: true }, answer: 'NO-LEASE' },
    { command: { name: 'SUPPLY', on: true }, answer: 'NO-LEASE' },
    { command: { name: 'SERVO', on: true }, answer: 'NO-LEASE' },
    { command: { name: 'THROTTLE', permille: 1 }, answer: 'NO-LEASE' },
    { command: { name: 'THROTTLE', permille: 0 }, answer: 'ok' },
    { command: { name: 'IGNITION', on: false }, answer: 'ok' },
    { command: { name: 'FAN', on: true }, answer: 'ok' },
    { command: { name: 'TARE-THRUST' }, answer: 'ok' },
    { command: { name: 'ZERO-FUEL' }, answer: 'ok' },
  ] as const)('when $command is sent, then $answer', ({ command, answer }) => {
    expect(connected().send(command)).toBe(answer);
  });
});

describe('given a lease', () => {
  test('when outputs are asked for in the wrong order, then each refusal names what is missing', () => {
    const host = connected();
    host.lease(5000);
    host.bench.act({ kind: 'stop-circuit', closed: false });
    host.run(0.01);
    expect(host.state('stop')).toBe(0);
    expect(host.send({ name: 'IGNITION', on: true })).toBe('STOP-OPEN');
    expect(host.send({ name: 'STARTER', on: true })).toBe('STOP-OPEN');
    host.bench.act({ kind: 'stop-circuit', closed: true });
    expect(host.send({ name: 'IGNITION', on: true })).toBe('SUPPLY-OFF');
    expect(host.send({ name: 'THROTTLE', permille: 300 })).toBe('SUPPLY-OFF');
    expect(host.send({ name: 'SUPPLY', on: true })).toBe('ok');
    host.bench.inject('cage-open');
    expect(host.send({ name: 'STARTER', on: true })).toBe('CAGE-OPEN');
    host.bench.clear('cage-open');
    expect(host.send({ name: 'SERVO', on: true })).toBe('ok');
    expect(host.send({ name: 'THROTTLE', permille: 300 })).toBe('ok');
    host.run(0.5);
    expect(host.value('throttle')).toBe(30);
    expect(host.value('servo_pulse')).toBe(1340);
  });

  test('when another host asks, then LEASED, and its own lease is ignored', () => {
    const host = connected();
    const other = new HostEnd(host.bench, 'BEEF');
    host.lease(5000);
    other.lease(5000);
    expect(other.send({ name: 'SUPPLY', on: true })).toBe('LEASED');
    host.read();
    host.bench.advance(0.01);
    expect(host.bench.truth.leaseHost).toBe('C0DE');
    expect(host.bench.truth.isSupplyOn).toBe(false);
    other.lease(0);
    expect(host.bench.truth.leaseHost).toBe('C0DE');
  });

  test('when it is not renewed, then ignition, starter and throttle are safe at once, and supply, servo and fan stay', () => {
    const host = connected('warm-idle');
    host.lease(900);
    expect(host.send({ name: 'THROTTLE', permille: 500 })).toBe('ok');
    host.run(0.89);
    expect(host.bench.truth.isIgnitionOn).toBe(true);
    expect(host.bench.truth.throttleDemand_permille).toBe(500);
    host.run(0.02);
    const { truth } = host.bench;
    expect(truth).toMatchObject({ isIgnitionOn: false, throttleDemand_permille: 0, leaseHost: null });
    expect(truth).toMatchObject({ isSupplyOn: true, isServoOn: true, isFanOn: true });
    host.run(0.1);
    expect(host.state('lease')).toBe(0);
    expect(host.state('ignition')).toBe(0);
    // A new lease changes nothing by itself.
    host.lease(900);
    host.run(0.1);
    expect(host.bench.truth.isIgnitionOn).toBe(false);
    host.run(6);
    expect(host.value('rpm')).toBe(0);
  });

  test('when it is given back, then outputs are safe without waiting', () => {
    const host = connected('warm-idle');
    host.lease(5000);
    host.run(0.05);
    host.lease(0);
    host.run(0.01);
    expect(host.bench.truth.isIgnitionOn).toBe(false);
  });

  test('when the link drops longer than the lease, then the bench makes itself safe, and the host finds out afterwards', () => {
    const host = connected('warm-idle');
    host.lease(900);
    host.run(0.1);
    host.bench.inject('link-drop', { for_s: 3 });
    host.run(2);
    expect(host.bench.isLinkDown).toBe(true);
    expect(host.bench.truth.isIgnitionOn).toBe(false);
    host.run(1.5);
    expect(host.bench.isLinkDown).toBe(false);
    expect(host.bench.activeFaults).toEqual([]);
    expect(host.missing).toBeGreaterThan(3 * 105);
    expect(host.missing).toBeLessThan(3 * 130);
  });
});

describe('given supply on and a lease', () => {
  function ready(): HostEnd {
    const host = connected();
    host.lease(5000);
    host.send({ name: 'SUPPLY', on: true });
    return host;
  }

  test('when the starter is commanded once, then it lets go after 250 ms', () => {
    const host = ready();
    expect(host.send({ name: 'STARTER', on: true })).toBe('ok');
    host.run(0.24);
    expect(host.bench.truth.isStarterEngaged).toBe(true);
    host.run(0.02);
    expect(host.bench.truth.isStarterEngaged).toBe(false);
    const [engaged, released] = host.inputs.filter((each) => each.key === 'starter').slice(-2);
    expect([engaged?.state, released?.state]).toEqual([1, 0]);
  });

  test('when the command is renewed every 150 ms, then it holds, and 0 lets go at once', () => {
    const host = ready();
    for (let i = 0; i < 20; i++) {
      host.send({ name: 'STARTER', on: true });
      host.run(0.15);
      expect(host.bench.truth.isStarterEngaged).toBe(true);
    }
    expect(host.value('rpm')).toBeGreaterThan(200);
    host.send({ name: 'STARTER', on: false });
    host.run(0.01);
    expect(host.bench.truth.isStarterEngaged).toBe(false);
  });

  test('when the same id comes again, then the same answer, and it is not executed again', () => {
    const host = ready();
    expect(host.sendAs('0077', { name: 'STARTER', on: true })).toBe('ok');
    host.run(0.2);
    expect(host.sendAs('0077', { name: 'STARTER', on: true })).toBe('ok');
    host.run(0.06);
    expect(host.bench.truth.isStarterEngaged).toBe(false);
    expect(host.answers.filter((each) => each.id === '0077')).toHaveLength(2);
  });

  test('when 16 other commands came between, then it is still remembered at 15 and new again at 16', () => {
    const host = ready();
    host.sendAs('0100', { name: 'FAN', on: true });
    for (let i = 1; i <= 15; i++)
      host.sendAs((0x100 + i).toString(16).padStart(4, '0').toUpperCase(), { name: 'FAN', on: false });
    host.sendAs('0100', { name: 'FAN', on: true });
    expect(host.bench.truth.isFanOn).toBe(false);
    host.sendAs('0110', { name: 'FAN', on: false });
    host.sendAs('0100', { name: 'FAN', on: true });
    expect(host.bench.truth.isFanOn).toBe(true);
  });

  test('when a host starts the engine through the line alone, then it runs', () => {
    const host = ready();
    host.send({ name: 'FAN', on: true });
    host.send({ name: 'SERVO', on: true });
    expect(host.send({ name: 'IGNITION', on: true })).toBe('ok');
    let turns = 0;
    while (host.bench.truth.engineSpeed_rpm < 1200 && turns++ < 60) {
      host.lease(900);
      host.send({ name: 'STARTER', on: true });
      host.run(0.13);
    }
    expect(turns * 0.13).toBeLessThan(8);
    for (let i = 0; i < 50; i++) {
      host.lease(900);
      host.run(0.2);
    }
    expect(host.value('rpm')).toBeGreaterThan(1700);
    expect(host.value('fuel_total')).toBeGreaterThan(1);
  });
});

describe('given tares and totaliser', () => {
  test('when the shaft is at rest, then a tare brings the reading to zero and tells what it was', () => {
    const host = connected();
    host.run(2);
    const before = host.value('thrust');
    expect(host.send({ name: 'TARE-THRUST' })).toBe('ok');
    expect(host.send({ name: 'TARE-TORQUE' })).toBe('ok');
    host.run(1);
    expect(Math.abs(host.value('thrust'))).toBeLessThan(0.5);
    expect(Math.abs(host.value('torque'))).toBeLessThan(0.05);
    const answer = host.answers[0];
    expect(answer?.kind).toBe('accepted');
    if (answer?.kind === 'accepted') expect(Number(answer.fields[0]) / 100).toBeCloseTo(before, 0);
  });

  test('when the shaft turns, then tares are refused MOVING, and the totaliser can be reset', () => {
    const host = connected('warm-idle');
    host.run(20);
    expect(host.send({ name: 'TARE-THRUST' })).toBe('MOVING');
    expect(host.send({ name: 'TARE-TORQUE' })).toBe('MOVING');
    expect(host.send({ name: 'ZERO-FUEL' })).toBe('MOVING');
    expect(host.value('fuel_total')).toBeGreaterThan(0.5);
    expect(host.send({ name: 'RESET-FUEL' })).toBe('ok');
    host.run(0.2);
    expect(host.value('fuel_total')).toBeLessThan(0.1);
  });

  test('when the flow has just stopped, then zeroing is refused UNSETTLED, and later accepted', () => {
    const host = connected('warm-idle');
    host.bench.act({ kind: 'throttle', percent: 60 });
    host.run(10);
    host.bench.act({ kind: 'ignition', on: false });
    host.run(6);
    expect(host.value('rpm')).toBe(0);
    expect(host.send({ name: 'ZERO-FUEL' })).toBe('UNSETTLED');
    host.run(60);
    expect(host.send({ name: 'ZERO-FUEL' })).toBe('ok');
    host.run(5);
    expect(Math.abs(host.value('fuel_flow'))).toBeLessThan(0.02);
  });
});

test.each([
  { line: 'Q C0DE 0001 LIGHTS 1~', reason: 'UNKNOWN' },
  { line: 'Q C0DE 0001 FAN 2~', reason: 'ARGUMENT' },
  { line: 'Q C0DE 0001 FAN~', reason: 'ARGUMENT' },
  { line: 'Q C0DE 0001 FAN 1 1~', reason: 'ARGUMENT' },
  { line: 'Q C0DE 0001 THROTTLE 1001~', reason: 'ARGUMENT' },
  { line: 'Q C0DE 0001 THROTTLE -1~', reason: 'ARGUMENT' },
  { line: 'Q C0DE 0001 THROTTLE 007~', reason: 'ARGUMENT' },
  { line: 'Q C0DE 0001 IDENTIFY now~', reason: 'ARGUMENT' },
])('when "$line" comes, then it is refused $reason', ({ line, reason }) => {
  const host = connected();
  host.bench.write(framed(line));
  host.read();
  expect(host.answers).toMatchObject([{ kind: 'refused', host: 'C0DE', id: '0001', reason }]);
});

test('when a damaged line comes, then there is no answer', () => {
  const host = connected();
  const bytes = framed('Q C0DE 0001 FAN 1~');
  bytes[15] = bytes[15]! ^ 1;
  host.bench.write(bytes);
  host.read();
  expect(host.answers).toEqual([]);
  expect(host.bench.truth.isFanOn).toBe(false);
});

test('given commands byte by byte, when the last has come, then they are answered', () => {
  const host = connected();
  for (const byte of framed('Q C0DE 0001 FAN 1~')) host.bench.write(Uint8Array.of(byte));
  host.read();
  expect(host.bench.truth.isFanOn).toBe(true);
});

describe('given the person at the stand', () => {
  test('when a host takes the lease, then the person stands back for good, and local controls do nothing while it is held', () => {
    const host = new HostEnd(new SimulatedBench({ seed: 1, scenario: 'demonstration' }));
    host.run(4);
    expect(host.bench.truth.isFanOn).toBe(true);
    host.lease(1000);
    host.run(0.5);
    expect(host.bench.handsOn).toBe(false);
    expect(host.bench.act(on('supply'))).toBe(false);
    host.run(60);
    expect(host.bench.truth.isSupplyOn).toBe(false);
    expect(host.bench.truth.engineSpeed_rpm).toBe(0);
  });

  test('when no host ever takes it, then nobody has to: the engine runs', () => {
    const host = new HostEnd(new SimulatedBench({ seed: 1, scenario: 'demonstration' }));
    host.run(30);
    expect(host.bench.handsOn).toBe(true);
    expect(host.value('rpm')).toBeGreaterThan(1500);
  });
});

/** Puts the CRC behind a body, bit by bit as PROTOCOL.md prints it: not by our own encoder. */
function framed(bodyAndTilde: string): Uint8Array {
  let crc = 0xffff;
  for (const letter of bodyAndTilde.slice(0, -1)) {
    crc ^= letter.charCodeAt(0) << 8;
    for (let bit = 0; bit < 8; bit++) crc = crc & 0x8000 ? ((crc << 1) ^ 0x1021) & 0xffff : (crc << 1) & 0xffff;
  }
  const text = `${bodyAndTilde}${crc.toString(16).toUpperCase().padStart(4, '0')}\n`;
  return Uint8Array.from(text, (letter) => letter.charCodeAt(0));
}
