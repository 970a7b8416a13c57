import { describe, expect, test } from 'vitest';
import { channelsOfTable } from '../../shared-core/channels/channel-list.ts';
import type { BenchTable, ChannelRow } from '../../shared-core/line/messages.ts';

function tableOf(...rows: Partial<ChannelRow>[]): BenchTable {
  const channels = rows.map((row, channel) => ({
    channel,
    group: 1,
    column: channel,
    key: `c${channel}`,
    quantity: 'thrust',
    unit: 'N',
    decimals: 0,
    low: 0,
    high: 1000,
    ...row,
  }));
  const identity = { version: '1.0', bench: 'b', firmware: '1', boot: '0001', layout: '5A10' };
  return {
    identity: { ...identity, groups: 1, channels: channels.length, inputs: 0 },
    groups: [{ group: 1, rate_mHz: 100_000, columns: channels.length }],
    channels,
    inputs: [],
  };
}

function only(row: Partial<ChannelRow>) {
  const [channel] = channelsOfTable(tableOf(row));
  if (channel?.origin.kind !== 'bench') throw new Error('expected one channel of the bench');
  const { factor, offset } = channel.origin;
  return { channel, scaled: (raw: number) => raw * factor + offset };
}

describe('given a raw integer of the bench, when it is scaled, then it is in the core unit', () => {
  test.each([
    // Core unit and scaled integer alone.
    ['shaft-speed', '/min', 0, 6123, 6123, 'rpm'],
    ['thrust', 'N', 2, 31_255, 312.55, 'N'],
    ['torque', 'N.m', 3, -1500, -1.5, 'N·m'],
    ['head-temperature', 'Cel', 1, 1874, 187.4, '°C'],
    ['fuel-total', 'mL', 2, 12_345, 123.45, 'mL'],
    ['throttle-demand', '%', 1, 1000, 100, '%'],
    ['servo-pulse', 'us', 0, 1500, 1500, 'µs'],
    ['starter-current', 'A', 1, 415, 41.5, 'A'],
    // Of shaft revolutions: 1 Hz = 60/min.
    ['shaft-speed', 'Hz', 1, 1050, 6300, 'rpm'],
    // NIST SP 811 (2008), B.8: kilogram-force 9.80665 N (exact), pound-force 4.448 221 615 260 5 N.
    ['thrust', 'kgf', 3, 1000, 9.80665, 'N'],
    ['thrust', '[lbf_av]', 2, 100, 4.4482216152605, 'N'],
    // NIST SP 811 (2008), B.8: t/°C = T/K − 273.15 and t/°C = (t/°F − 32)/1.8.
    ['ambient-temperature', 'K', 2, 27_315, 0, '°C'],
    ['inlet-temperature', 'K', 2, 29_015, 17, '°C'],
    ['exhaust-temperature', '[degF]', 1, 320, 0, '°C'],
    ['exhaust-temperature', '[degF]', 1, 2120, 100, '°C'],
    ['head-temperature', '[degF]', 0, -40, -40, '°C'],
    // 60 min in an hour; NIST SP 811 (2008), B.8: US gallon 3.785 411 784 L (231 in³).
    ['fuel-flow', 'mL/min', 1, 1000, 6, 'L/h'],
    ['fuel-flow', '[gal_us]/h', 3, 1000, 3.785411784, 'L/h'],
    // SI Brochure, 9th ed., tables 7 and 8: prefixes; 1 L = 1 dm³, 1 bar = 100 kPa.
    ['fuel-total', 'L', 3, 1500, 1500, 'mL'],
    ['fuel-level', 'mL', 0, 2500, 2.5, 'L'],
    ['servo-pulse', 'ms', 3, 1500, 1500, 'µs'],
    ['supply-voltage', 'mV', 0, 12_600, 12.6, 'V'],
    ['generator-current', 'mA', 0, 850, 0.85, 'A'],
    ['ambient-pressure', 'Pa', 0, 94_100, 941, 'hPa'],
    ['ambient-pressure', 'kPa', 2, 9410, 941, 'hPa'],
    ['ambient-pressure', 'bar', 4, 9410, 941, 'hPa'],
    ['ambient-pressure', 'hPa', 2, 94_100, 941, 'hPa'],
  ])('%s in %s with %i decimals: %d is %d %s', (quantity, unit, decimals, raw, value, coreUnit) => {
    const { channel, scaled } = only({ quantity, unit, decimals });
    expect(channel).toMatchObject({ quantity, unit: coreUnit });
    expect(scaled(raw)).toBeCloseTo(value, 9);
  });
});

describe('given a channel that we cannot convert', () => {
  test('when its quantity is unknown, then it is "other", with key and unit of the bench', () => {
    const { channel, scaled } = only({ key: 'oil_press', quantity: 'oil-pressure', unit: 'bar', decimals: 2 });
    expect(channel).toMatchObject({ label: 'Oil press', quantity: 'other', unit: 'bar', decimals: 2, system: 'other' });
    expect(scaled(412)).toBeCloseTo(4.12, 12);
  });

  test.each(['brake-power', 'pressure', 'other', 'constructor'])(
    'when a bench sends the quantity %s, which is not its to send, then the same',
    (quantity) => {
      expect(only({ quantity, unit: 'kW' }).channel).toMatchObject({ quantity: 'other', unit: 'kW' });
    },
  );

  test.each([
    ['torque', '[ft_i].[lbf_av]', 'Torque', 'shaft'],
    ['head-temperature', 'cel', 'CHT', 'heads'],
    ['thrust', 'constructor', 'Thrust', 'shaft'],
  ])('when %s comes in %s, then it is "other" in that unit, under its usual name', (quantity, unit, label, system) => {
    const { channel, scaled } = only({ quantity, unit, decimals: 1 });
    expect(channel).toMatchObject({ label, system, quantity: 'other', unit, decimals: 1 });
    expect(scaled(10)).toBe(1);
  });
});

test('given several channels of one quantity, then they are numbered in the order of the table, and single ones are not', () => {
  const head = { quantity: 'head-temperature', unit: 'Cel' };
  const exhaust = { quantity: 'exhaust-temperature', unit: 'Cel' };
  const channels = channelsOfTable(
    tableOf(head, exhaust, { quantity: 'shaft-speed', unit: '/min' }, head, exhaust, head, {
      quantity: 'fuel-flow',
      unit: 'L/h',
    }),
  );
  expect(channels.map((channel) => channel.label)).toEqual([
    'CHT 1',
    'EGT 1',
    'Rpm',
    'CHT 2',
    'EGT 2',
    'CHT 3',
    'Fuel flow',
  ]);
  expect(channels.map((channel) => channel.ordinal)).toEqual([0, 1, 2, 3, 4, 5, 6]);
});

test('given the range of the sensor, then it is told in the core unit, with the place on the line', () => {
  const { channel } = only({ group: 2, column: 5, unit: 'kgf', decimals: 2, low: -500, high: 10_000 });
  expect(channel.low).toBeCloseTo(-49.03325, 9);
  expect(channel.high).toBeCloseTo(980.665, 9);
  expect(channel.origin).toMatchObject({ kind: 'bench', group: 2, column: 5 });
});

test.each([
  ['thrust', 'N', 2, 2],
  ['thrust', 'N', 3, 3],
  ['thrust', 'N', 6, 6],
  ['shaft-speed', 'Hz', 1, 0],
  ['thrust', 'kgf', 2, 2],
  ['fuel-level', 'mL', 0, 3],
  ['ambient-pressure', 'bar', 4, 1],
])(
  'given %s in %s with %i decimals, then %i decimals of the core unit lose no step',
  (quantity, unit, decimals, shown) => {
    expect(only({ quantity, unit, decimals }).channel.decimals).toBe(shown);
  },
);
