import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { DisplayRing } from '../../renderer/app/display-ring.ts';
import {
  columnsOfView,
  decimateRing,
  extent,
  joinColumns,
  lastValue,
  makeColumns,
  valueAt,
} from '../../renderer/plots/decimate.ts';
import type { DisplayBatch } from '../../shared-core/bridge/contract.ts';
import { quality } from '../../shared-core/channels/quality.ts';

const STEP_US = 50_000;

function ringOf(values: readonly (number | 'open')[], startsAt_us = 0): DisplayRing {
  const ring = new DisplayRing(1, Math.max(1, values.length));
  values.forEach((v, i) => {
    const value = v === 'open' ? NaN : v;
    const batch: DisplayBatch = {
      stream: 'live',
      layoutVersion: 1,
      from_us: startsAt_us + i * STEP_US,
      to_us: startsAt_us + (i + 1) * STEP_US,
      merged: 1,
      min: Float64Array.of(value),
      max: Float64Array.of(value),
      last: Float64Array.of(value),
      quality: Uint8Array.of(v === 'open' ? quality.open : quality.good),
      updated_us: Float64Array.of(0),
      arrivedAt_epochMs: 0,
    };
    ring.push(batch);
  });
  return ring;
}

function drawn(ring: DisplayRing, from_us: number, to_us: number, pixels: number) {
  const columns = makeColumns(pixels);
  decimateRing(ring, 0, from_us, to_us, pixels, columns);
  return columns;
}

describe('given steps in a ring', () => {
  test('when a thousand steps go to ten columns, then the one spike is still there', () => {
    const values = Array.from({ length: 1000 }, (_, i) => (i === 617 ? 7132 : 5000));
    const columns = drawn(ringOf(values), 0, 1000 * STEP_US, 10);
    expect(columns.count).toBe(10);
    expect(extent(columns, 0, Infinity)).toEqual({ low: 5000, high: 7132 });
  });

  test('when any values are decimated, then lowest and highest are those of the steps (seeded)', () => {
    const seed = 20_260_304;
    fc.assert(
      fc.property(
        fc.array(fc.integer({ min: -1000, max: 1000 }), { minLength: 1, maxLength: 300 }),
        fc.integer({ min: 1, max: 400 }),
        (values, pixels) => {
          const columns = drawn(ringOf(values), 0, values.length * STEP_US, pixels);
          const found = extent(columns, -Infinity, Infinity);
          expect(found).toEqual({ low: Math.min(...values), high: Math.max(...values) });
        },
      ),
      { seed },
    );
    console.log(`seed ${seed}`);
  });

  test('when the window moves by less than a column, then columns that stay hold the same extremes', () => {
    const ring = ringOf(Array.from({ length: 400 }, (_, i) => Math.sin(i) * 100));
    const before = drawn(ring, 0, 10e6, 50);
    const after = drawn(ring, 70_000, 10_070_000, 50);
    const at = (columns: typeof before, t_us: number) =>
      Array.from(columns.t_us.subarray(0, columns.count)).indexOf(t_us);
    const t_us = before.t_us[20]!;
    expect(at(after, t_us)).toBeGreaterThan(0);
    expect(after.min[at(after, t_us)]).toBe(before.min[20]);
    expect(after.max[at(after, t_us)]).toBe(before.max[20]);
  });

  test('when a slow channel has no sample in most steps, then its line is whole', () => {
    const values = Array.from({ length: 100 }, (_, i) => (i % 20 === 0 ? 150 : NaN));
    const columns = drawn(ringOf(values), 0, 100 * STEP_US, 100);
    expect(Array.from(columns.min.subarray(0, columns.count))).toEqual([150, 150, 150, 150, 150]);
  });

  test('when the sensor opens and returns, then the line is broken between', () => {
    const columns = drawn(ringOf([10, 11, 'open', 'open', 12]), 0, 5 * STEP_US, 5);
    expect(Array.from(columns.min.subarray(0, columns.count))).toEqual([10, 11, NaN, 12]);
  });

  test('when the sensor is open at the end, then the line ends in a gap and has no last value', () => {
    const columns = drawn(ringOf([10, 11, 'open']), 0, 3 * STEP_US, 3);
    expect(lastValue(columns)).toBeNaN();
  });

  test.each([
    { silence_us: 2_900_000, breaks: 0 },
    { silence_us: 3_100_000, breaks: 1 },
  ])('when the link is silent for $silence_us µs, then there are $breaks gaps', ({ silence_us, breaks }) => {
    const ring = ringOf([1, 2]);
    const at_us = 2 * STEP_US + silence_us;
    ring.push({
      stream: 'live',
      layoutVersion: 1,
      from_us: at_us,
      to_us: at_us + STEP_US,
      merged: 1,
      min: Float64Array.of(3),
      max: Float64Array.of(3),
      last: Float64Array.of(3),
      quality: Uint8Array.of(0),
      updated_us: Float64Array.of(0),
      arrivedAt_epochMs: 0,
    });
    const columns = drawn(ring, 0, at_us + STEP_US, 200);
    expect(Array.from(columns.min.subarray(0, columns.count)).filter(Number.isNaN)).toHaveLength(breaks);
  });

  test.each([
    { from_us: 10, to_us: 10, pixels: 5 },
    { from_us: NaN, to_us: 10, pixels: 5 },
    { from_us: 0, to_us: 10, pixels: 0 },
  ])(
    'when the window is nothing ($from_us to $to_us, $pixels px), then nothing is drawn',
    ({ from_us, to_us, pixels }) => {
      expect(drawn(ringOf([1]), from_us, to_us, pixels).count).toBe(0);
    },
  );
});

describe('given the answer to a view request', () => {
  test('when columns are empty for longer than a gap, then the line is broken, else bridged', () => {
    const n = 10;
    const columns = columnsOfView({
      channel: 'cht1',
      from_us: 0,
      to_us: n * 1e6,
      t_us: Float64Array.from({ length: n }, (_, i) => i * 1e6),
      min: Float64Array.of(1, NaN, 2, NaN, NaN, NaN, NaN, NaN, 3, 4),
      max: Float64Array.of(1, NaN, 2, NaN, NaN, NaN, NaN, NaN, 3, 4),
    });
    expect(Array.from(columns.min.subarray(0, columns.count))).toEqual([1, 2, NaN, 3, 4]);
  });

  test('when the cursor stands in a gap, then there is no value', () => {
    const columns = makeColumns(4);
    columns.t_us.set([1e6, 5e6]);
    columns.min.set([5, 7]);
    columns.max.set([5, 9]);
    columns.count = 2;
    expect(valueAt(columns, 1.2e6, 5e5)).toBe(5);
    expect(valueAt(columns, 3e6, 5e5)).toBeNaN();
    expect(valueAt(columns, 5e6, 5e5)).toBe(8);
  });
});

test('given a recording continued by the ring, when they are joined, then each part comes from its own side of the seam', () => {
  const of = (t_us: number[], value: number) => {
    const columns = makeColumns(t_us.length);
    for (const t of t_us) {
      columns.t_us[columns.count] = t;
      columns.min[columns.count] = value;
      columns.max[columns.count++] = value;
    }
    return columns;
  };
  const joined = joinColumns(of([1, 2, 3, 4], 10), of([2, 3, 4, 5], 20), 3);
  expect(Array.from(joined.t_us.subarray(0, joined.count))).toEqual([1, 2, 3, 4, 5]);
  expect(Array.from(joined.min.subarray(0, joined.count))).toEqual([10, 10, 20, 20, 20]);
});
