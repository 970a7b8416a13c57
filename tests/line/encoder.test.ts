import { describe, expect, test } from 'vitest';
import { quality, RAW_MAX, rawOfQuality } from '../../shared-core/channels/quality.ts';
import { BenchLineEncoder, hostCommandLine, hostLeaseLine } from '../../shared-core/line/encoder.ts';
import { hex4Text } from '../../shared-core/line/hex.ts';
import type { BenchCommand, TextWeight } from '../../shared-core/line/messages.ts';
import { textOf, withCrc } from './line-support.ts';

const identity = {
  version: '1.0',
  bench: 'lapwing-bench',
  firmware: '0.9.2',
  boot: '0017',
  layout: '5A10',
  groups: 2,
  channels: 4,
  inputs: 2,
};
const thrust = {
  channel: 1,
  group: 1,
  column: 1,
  key: 'thrust',
  quantity: 'thrust',
  unit: 'N',
  decimals: 2,
  low: -5000,
  high: 80_000,
};

/** The lines that a bench writes, without LF. */
function written(write: (encoder: BenchLineEncoder) => void, firstSeq = 0): string[] {
  const encoder = new BenchLineEncoder(firstSeq);
  write(encoder);
  return textOf(encoder.take()).split('\n').slice(0, -1);
}

describe('given the worked examples of PROTOCOL.md, part 13, when a bench writes them, then they come out as printed', () => {
  test.each<[string, number, (encoder: BenchLineEncoder) => void]>([
    ['I 0000 000003E8 1.0 lapwing-bench 0.9.2 0017 5A10 2 4 2~1E59', 0, (to) => to.identity(identity, 1000)],
    [
      'G 0001 00000514 5A10 1 100000 2~174A',
      1,
      (to) => to.group('5A10', { group: 1, rate_mHz: 100_000, columns: 2 }, 1300),
    ],
    ['C 0004 00000898 5A10 1 1 1 thrust thrust N 2 -5000 80000~A46B', 4, (to) => to.channel('5A10', thrust, 2200)],
    [
      'D 0007 00000C1C 5A10 0 stop open closed~0DF2',
      7,
      (to) => to.input('5A10', { input: 0, key: 'stop', word0: 'open', word1: 'closed' }, 3100),
    ],
    ['E 0009 00000E74 0 1~CEF0', 9, (to) => to.event(0, 1, 3700)],
    ['S 000B 00002710 1 6123 31255~1B3B', 11, (to) => to.samples(1, 10_000, Int32Array.of(6123, 31_255), 2)],
    [
      'S 000C 00002710 2 1874 O~32E2',
      12,
      (to) => to.samples(2, 10_000, Int32Array.of(1874, rawOfQuality(quality.open)), 2),
    ],
    ['S 000D 00004E20 1 0 -45~9C82', 13, (to) => to.samples(1, 20_000, Int32Array.of(0, -45, 7), 2)],
    [
      'T 000E 00004E84 W fuel filter changed 3%25 ago~40D4',
      14,
      (to) => to.text('W', 'fuel filter changed 3% ago', 20_100),
    ],
    ['A 0010 00004F4C C0DE 0002 -1204~773F', 16, (to) => to.accepted('C0DE', '0002', ['-1204'], 20_300)],
    [
      'R 0012 00005014 C0DE 0004 FAULT servo driver hot~03F0',
      18,
      (to) => to.refused('C0DE', '0004', 'FAULT', ['servo', 'driver', 'hot'], 20_500),
    ],
  ])('%s', (line, firstSeq, write) => {
    expect(written(write, firstSeq)).toEqual([line]);
  });

  test.each<[string, BenchCommand, string]>([
    ['Q C0DE 0001 IDENTIFY~CE38', { name: 'IDENTIFY' }, '0001'],
    ['Q C0DE 0003 IGNITION 1~7355', { name: 'IGNITION', on: true }, '0003'],
    ['Q C0DE 0004 THROTTLE 350~FA6B', { name: 'THROTTLE', permille: 350 }, '0004'],
    ['Q C0DE 0005 STARTER 1~4494', { name: 'STARTER', on: true }, '0005'],
  ])('%s', (line, command, id) => {
    expect(textOf(hostCommandLine('C0DE', id, command))).toBe(`${line}\n`);
  });

  test.each([
    ['L C0DE 900~B5BB', 900],
    ['L C0DE 0~7234', 0],
  ])('%s', (line, ms) => {
    expect(textOf(hostLeaseLine('C0DE', ms))).toBe(`${line}\n`);
  });
});

describe('given the running number and time', () => {
  test('when lines of any kind are written, then each has the next number, and 0000 follows FFFF', () => {
    const lines = written((to) => {
      to.event(0, 0, 0);
      to.text('N', 'x', 1);
      to.samples(1, 2, Int32Array.of(1), 1);
    }, 0xfffe);
    expect(lines.map((line) => line.slice(2, 6))).toEqual(['FFFE', 'FFFF', '0000']);
  });

  test.each([
    [2 ** 32 - 1, 'FFFFFFFF'],
    [2 ** 32, '00000000'],
    [3 * 2 ** 32 + 255, '000000FF'],
  ])('when the time is %d µs, then it is written as %s', (time_us, digits) => {
    expect(written((to) => to.event(0, 0, time_us))[0]?.slice(7, 15)).toBe(digits);
  });
});

test.each([0, 9, 10, 99, 100, 999_999_999, 1_000_000_000, RAW_MAX, -1, -10, -RAW_MAX])(
  'given the integer %d, when it is written, then as decimal text',
  (value) => {
    expect(written((to) => to.samples(1, 0, Int32Array.of(value), 1))).toEqual([withCrc(`S 0000 00000000 1 ${value}`)]);
  },
);

test('given many lines, when they are taken once, then all are there, and nothing is left', () => {
  const encoder = new BenchLineEncoder();
  for (let i = 0; i < 3000; i++) encoder.samples(1, i, Int32Array.of(i, -i), 2);
  const lines = textOf(encoder.take().slice(-200)).split('\n');
  expect(lines.at(-2)).toBe(withCrc('S 0BB7 00000BB7 1 2999 -2999'));
  expect(encoder.length).toBe(0);
  expect(encoder.take()).toHaveLength(0);
  expect(encoder.nextSeq).toBe(3000);
});

describe('given an argument that the protocol does not allow, when it is written, then it throws and the line is as never begun', () => {
  test.each<[string, (to: BenchLineEncoder) => void]>([
    ['version', (to) => to.identity({ ...identity, version: '1' }, 0)],
    ['bench name with a space', (to) => to.identity({ ...identity, bench: 'two words' }, 0)],
    ['firmware of 25 characters', (to) => to.identity({ ...identity, firmware: 'x'.repeat(25) }, 0)],
    ['boot of 3 digits', (to) => to.identity({ ...identity, boot: '017' }, 0)],
    ['10 groups', (to) => to.identity({ ...identity, groups: 10 }, 0)],
    ['half a channel', (to) => to.identity({ ...identity, channels: 1.5 }, 0)],
    ['group 0', (to) => to.group('5A10', { group: 0, rate_mHz: 1, columns: 1 }, 0)],
    ['65 columns', (to) => to.group('5A10', { group: 1, rate_mHz: 1, columns: 65 }, 0)],
    ['layout', (to) => to.group('5A1', { group: 1, rate_mHz: 1, columns: 1 }, 0)],
    ['key in capitals', (to) => to.channel('5A10', { ...thrust, key: 'Thrust' }, 0)],
    ['7 decimals', (to) => to.channel('5A10', { ...thrust, decimals: 7 }, 0)],
    ['low that is not below high', (to) => to.channel('5A10', { ...thrust, low: 80_000 }, 0)],
    ['low NaN', (to) => to.channel('5A10', { ...thrust, low: Number.NaN }, 0)],
    ['high past the range of numbers', (to) => to.channel('5A10', { ...thrust, high: RAW_MAX + 1 }, 0)],
    ['unit with °', (to) => to.channel('5A10', { ...thrust, unit: '°C' }, 0)],
    ['input −1', (to) => to.input('5A10', { input: -1, key: 'stop', word0: 'a', word1: 'b' }, 0)],
    ['state 2', (to) => to.event(0, 2 as 1, 0)],
    ['value past the range of numbers', (to) => to.samples(1, 0, Int32Array.of(1, RAW_MAX + 1), 2)],
    ['state "absent"', (to) => to.samples(1, 0, Int32Array.of(1, rawOfQuality(quality.absent)), 2)],
    ['state "good"', (to) => to.samples(1, 0, Int32Array.of(1, rawOfQuality(quality.good)), 2)],
    ['more columns than values', (to) => to.samples(1, 0, Int32Array.of(1), 2)],
    ['no column', (to) => to.samples(1, 0, Int32Array.of(1), 0)],
    ['a sample line of more than 512 bytes', (to) => to.samples(1, 0, new Int32Array(64).fill(-RAW_MAX), 64)],
    ['empty text', (to) => to.text('N', '', 0)],
    ['weight', (to) => to.text('X' as TextWeight, 'x', 0)],
    ['a text that is too long once encoded', (to) => to.text('N', 'µ'.repeat(90), 0)],
    ['host in words', (to) => to.accepted('host', '0001', [], 0)],
    ['a field with a space', (to) => to.accepted('C0DE', '0001', ['a b'], 0)],
    ['a field with ~', (to) => to.accepted('C0DE', '0001', ['a~b'], 0)],
    ['an empty field', (to) => to.refused('C0DE', '0001', 'FAULT', [''], 0)],
    ['an empty reason', (to) => to.refused('C0DE', '0001', '', [], 0)],
    ['time −1', (to) => to.event(0, 0, -1)],
    ['time NaN', (to) => to.event(0, 0, Number.NaN)],
    ['half a microsecond', (to) => to.event(0, 0, 0.5)],
  ])('%s', (_, write) => {
    const encoder = new BenchLineEncoder();
    expect(() => write(encoder)).toThrow(RangeError);
    encoder.event(0, 1, 5);
    expect(textOf(encoder.take())).toBe(`${withCrc('E 0000 00000005 0 1')}\n`);
  });

  test.each<[string, () => unknown]>([
    ['first running number', () => new BenchLineEncoder(65_536)],
    ['throttle of 1001 per mille', () => hostCommandLine('C0DE', '0001', { name: 'THROTTLE', permille: 1001 })],
    ['throttle NaN', () => hostCommandLine('C0DE', '0001', { name: 'THROTTLE', permille: Number.NaN })],
    ['id', () => hostCommandLine('C0DE', '1', { name: 'FAN', on: true })],
    ['lease of 299 ms', () => hostLeaseLine('C0DE', 299)],
    ['lease of 5001 ms', () => hostLeaseLine('C0DE', 5001)],
    ['lease NaN', () => hostLeaseLine('C0DE', Number.NaN)],
    ['hex of 65,536', () => hex4Text(65_536)],
    ['hex of −1', () => hex4Text(-1)],
  ])('%s', (_, write) => {
    expect(write).toThrow(RangeError);
  });
});
