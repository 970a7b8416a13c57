import { describe, expect, test } from 'vitest';
import { niceStep, spreadLabels, timeTicks_s, valueRange } from '../../renderer/plots/axis.ts';
import { bandsOf } from '../../renderer/plots/bands.ts';
import type { Channel, Quantity } from '../../shared-core/channels/channel.ts';

describe('given a time axis', () => {
  test('when two minutes are shown with at most five ticks, then they stand at whole half minutes', () => {
    expect(timeTicks_s(631.2, 751.2, 5)).toEqual([660, 690, 720, 750]);
  });
  test('when the window begins before the session, then no tick stands before zero', () => {
    expect(timeTicks_s(-100, 20, 5)).toEqual([0]);
  });
  test('when there is no span, then there are no ticks', () => {
    expect(timeTicks_s(5, 5, 5)).toEqual([]);
    expect(timeTicks_s(NaN, 5, 5)).toEqual([]);
  });
});

describe('given a value axis', () => {
  test('when data never go below zero, then neither does the axis', () => {
    expect(valueRange(null, 0, 0, [], 400).low).toBe(0);
  });
  test('when data are negative, then they are shown', () => {
    expect(valueRange(null, -3, 2, [], 1).low).toBeLessThanOrEqual(-3);
  });
  test('when a limit is near, then it is taken in; when it is far, it is not', () => {
    expect(valueRange(null, 150, 180, [190], 20).high).toBeGreaterThanOrEqual(190);
    expect(valueRange(null, 16, 17, [190], 20).high).toBeLessThan(190);
  });
  test('when data move a little, then the axis stays where it was', () => {
    const before = valueRange(null, 1000, 5000, [], 400);
    expect(valueRange(before, 1500, 4800, [], 400)).toBe(before);
  });
  test('when data shrink to a small part of it, then the axis follows', () => {
    const before = valueRange(null, 0, 6000, [], 400);
    expect(valueRange(before, 1900, 2000, [], 400)).not.toBe(before);
  });
  test('when data leave it, then the axis holds them', () => {
    const before = valueRange(null, 0, 5000, [], 400);
    expect(valueRange(before, 0, 7132, [], 400).high).toBeGreaterThanOrEqual(7132);
  });
  test.each([
    { raw: 1, step: 1 },
    { raw: 1.1, step: 2 },
    { raw: 2, step: 2 },
    { raw: 4.9, step: 5 },
    { raw: 5.1, step: 10 },
    { raw: 0.03, step: 0.05 },
    { raw: 0, step: 1 },
    { raw: NaN, step: 1 },
  ])('when at least $raw is wanted, then the step is $step', ({ raw, step }) => {
    expect(niceStep(raw)).toBeCloseTo(step, 12);
  });
});

describe('given labels at the ends of lines', () => {
  test('when they would cover each other, then they stand apart, in the order of their lines', () => {
    const placed = spreadLabels([50, 48, 52], 15, 0, 100);
    const sorted = [...placed].sort((a, b) => a - b);
    expect(sorted[1]! - sorted[0]!).toBeGreaterThanOrEqual(15);
    expect(sorted[2]! - sorted[1]!).toBeGreaterThanOrEqual(15);
    expect(placed[1]).toBeLessThan(placed[0]!);
    expect(placed[0]).toBeLessThan(placed[2]!);
  });
  test('when they are pushed to the lower edge, then all stay above it', () => {
    for (const y of spreadLabels([98, 99, 100], 15, 0, 100)) expect(y).toBeLessThanOrEqual(100);
  });
});

describe('given the channels of a session', () => {
  const channel = (ordinal: number, key: string, quantity: Quantity, unit: string, isDerived = false): Channel => ({
    ordinal,
    key,
    label: key,
    quantity,
    unit,
    decimals: 1,
    system: 'other',
    low: 0,
    high: 100,
    origin: isDerived
      ? { kind: 'derived', from: [] }
      : { kind: 'bench', group: 0, column: ordinal, factor: 1, offset: 0 },
  });

  test('when bands are made, then a derived line over measured ones is left out, and the shaft comes first', () => {
    const bands = bandsOf(
      [
        channel(0, 'cht1', 'head-temperature', '°C'),
        channel(1, 'rpm', 'shaft-speed', 'rpm'),
        channel(2, 'cht_max', 'head-temperature', '°C', true),
        channel(3, 'brake_power', 'brake-power', 'kW', true),
      ],
      new Map(),
    );
    expect(bands.map((b) => [b.id, b.channels.map((c) => c.key)])).toEqual([
      ['shaft-speed', ['rpm']],
      ['head-temperature', ['cht1']],
      ['brake-power', ['brake_power']],
    ]);
  });

  test('when unknown quantities have different units, then each unit has its own band', () => {
    const bands = bandsOf([channel(0, 'x', 'other', 'lx'), channel(1, 'y', 'other', 'g')], new Map());
    expect(bands.map((b) => b.unit)).toEqual(['lx', 'g']);
  });

  test('when two rules draw the same line, then it is drawn once', () => {
    const limit = { level: 'caution', direction: 'high', value: 190, title: 't' } as const;
    const bands = bandsOf(
      [channel(0, 'cht1', 'head-temperature', '°C'), channel(1, 'cht2', 'head-temperature', '°C')],
      new Map([
        ['cht1', [{ ...limit, channel: 'cht1' }]],
        ['cht2', [{ ...limit, channel: 'cht2' }]],
      ]),
    );
    expect(bands[0]?.limits).toHaveLength(1);
  });
});
