import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { quality, rawOfQuality } from '../../shared-core/channels/quality.ts';
import { LevelBuilder, MemoryLevels, samplesPerEntry } from '../../shared-core/series/levels.ts';
import {
  edgesByIndex,
  edgesByTime,
  firstAtOrAfter,
  minMaxPerPixel,
  pixelRange,
} from '../../shared-core/series/min-max-per-pixel.ts';

const OPEN = rawOfQuality(quality.open);

/** Min, max, mean and count the plain way. */
function plain(
  values: ArrayLike<number>,
  from: number,
  to: number,
): { min: number; max: number; mean: number; count: number } {
  let min = NaN;
  let max = NaN;
  let sum = 0;
  let count = 0;
  for (let i = from; i < Math.min(to, values.length); i++) {
    const value = values[i]!;
    if (Number.isNaN(value)) continue;
    if (!(value >= min)) min = value;
    if (!(value <= max)) max = value;
    sum += value;
    count++;
  }
  return { min, max, mean: sum / count, count };
}

function build(values: Float64Array, chunk = values.length): MemoryLevels {
  const memory = new MemoryLevels();
  const builder = new LevelBuilder(memory);
  for (let at = 0; at < values.length; at += chunk) builder.pushValues(values.subarray(at, at + chunk));
  builder.flush();
  expect(builder.samples % 32 === 0 || memory.levels.length > 0).toBe(true);
  return memory;
}

function noise(n: number, seed: number): Float64Array {
  let state = seed;
  return Float64Array.from({ length: n }, (_, i) => {
    state = (Math.imul(state, 1_664_525) + 1_013_904_223) | 0;
    // Now and then a failed sensor, and one stretch of 200 without any value.
    return state % 19 === 0 || (i > 500 && i < 700) ? NaN : 0.5 * Math.floor(state / 2 ** 22);
  });
}

describe('given a column', () => {
  test.each([1, 31, 32, 33, 127, 128, 129, 2048, 5000])('of %f samples, every entry of every level is right', (n) => {
    const values = noise(n, n);
    const { levels } = build(values);
    levels.forEach((level, index) => {
      expect(level.samplesPerEntry).toBe(samplesPerEntry(index));
      expect(level.entries).toBe(Math.ceil(n / level.samplesPerEntry));
      for (let entry = 0; entry < level.entries; entry++) {
        const expected = plain(values, entry * level.samplesPerEntry, (entry + 1) * level.samplesPerEntry);
        expect(level.min[entry]).toBe(expected.min);
        expect(level.max[entry]).toBe(expected.max);
        expect(level.count[entry]).toBe(expected.count);
        // Halves add up exactly, in any order.
        expect(level.mean[entry]).toBe(expected.mean);
      }
    });
    // The top level has one entry.
    expect(levels.at(-1)!.entries).toBe(1);
  });

  test('however it is cut into pushes, the levels are the same', () => {
    const values = noise(3000, 5);
    const whole = build(values);
    for (const chunk of [1, 7, 32, 100, 1024]) {
      const cut = build(values, chunk);
      expect(cut.levels.length).toBe(whole.levels.length);
      cut.levels.forEach((level, index) => {
        const other = whole.levels[index]!;
        expect(level.min.subarray(0, level.entries)).toEqual(other.min.subarray(0, other.entries));
        expect(level.max.subarray(0, level.entries)).toEqual(other.max.subarray(0, other.entries));
        expect(level.mean.subarray(0, level.entries)).toEqual(other.mean.subarray(0, other.entries));
      });
    }
  });

  test('of raw integers, states count for nothing', () => {
    const memory = new MemoryLevels();
    const builder = new LevelBuilder(memory);
    const raw = new Int32Array(64).fill(OPEN);
    raw[3] = -7;
    raw[9] = 12;
    builder.pushRaw(raw);
    builder.flush();
    const level = memory.levels[0]!;
    expect([level.min[0], level.max[0], level.mean[0], level.count[0]]).toEqual([-7, 12, 2.5, 2]);
    expect([level.min[1], level.max[1], level.mean[1], level.count[1]]).toEqual([NaN, NaN, NaN, 0]);
    expect(builder.samples).toBe(64);
  });

  test('of nothing, there is no level', () => {
    expect(build(new Float64Array(0)).levels).toEqual([]);
  });
});

describe('given a window of pixels', () => {
  const values = noise(10_000, 11);
  const memory = build(values);
  const raw = Int32Array.from(values, (value) => (Number.isNaN(value) ? OPEN : 2 * value));

  test('then each pixel has exactly the extremes of its samples', () => {
    const windows = fc.record({
      from: fc.integer({ min: 0, max: 9999 }),
      span: fc.integer({ min: 1, max: 10_000 }),
      pixels: fc.integer({ min: 1, max: 300 }),
    });
    fc.assert(
      fc.property(windows, ({ from, span, pixels }) => {
        const edges = edgesByIndex(from, Math.min(10_000, from + span), pixels);
        const out = pixelRange(pixels);
        const outRaw = pixelRange(pixels);
        minMaxPerPixel(values, values.length, memory.levels, edges, out);
        minMaxPerPixel(raw, raw.length, [], edges, outRaw);
        for (let pixel = 0; pixel < pixels; pixel++) {
          const expected = plain(values, edges[pixel]!, edges[pixel + 1]!);
          expect(out.min[pixel]).toBe(expected.min);
          expect(out.max[pixel]).toBe(expected.max);
          expect(outRaw.min[pixel]).toBe(2 * expected.min);
          expect(outRaw.max[pixel]).toBe(2 * expected.max);
        }
      }),
      { numRuns: 200 },
    );
  });

  test('without the samples, then no extreme is lost and none is further off than one entry', () => {
    const edges = edgesByIndex(123, 9001, 40);
    const out = pixelRange(40);
    minMaxPerPixel(null, values.length, memory.levels, edges, out);
    for (let pixel = 0; pixel < 40; pixel++) {
      const from = Math.floor(edges[pixel]! / 32) * 32;
      const to = Math.ceil(edges[pixel + 1]! / 32) * 32;
      expect(out.min[pixel]).toBe(plain(values, from, to).min);
      expect(out.max[pixel]).toBe(plain(values, from, to).max);
    }
  });

  test('while recording goes on, entries not yet closed are read from the samples', () => {
    const open = new MemoryLevels();
    new LevelBuilder(open).pushValues(values, 1000);
    const out = pixelRange(1);
    minMaxPerPixel(values, 1000, open.levels, edgesByIndex(0, 1000, 1), out);
    expect(out.min[0]).toBe(plain(values, 0, 1000).min);
    expect(out.max[0]).toBe(plain(values, 0, 1000).max);
  });

  test('when it reaches past the column, then the rest is empty', () => {
    const out = pixelRange(2);
    minMaxPerPixel(values, values.length, memory.levels, Float64Array.of(9990, 10_000, 20_000), out);
    expect(out.max[0]).toBe(plain(values, 9990, 10_000).max);
    expect(out.max[1]).toBeNaN();
  });

  test('when there is room for fewer pixels than asked for, then it throws', () => {
    expect(() => minMaxPerPixel(values, 10, [], edgesByIndex(0, 10, 3), pixelRange(2))).toThrow(RangeError);
  });
});

describe('given times with a gap', () => {
  const times = Float64Array.of(0, 10, 20, 30, 1000, 1010);

  test('then pixels of equal time find their samples, and those in the gap none', () => {
    expect([...edgesByTime(times, 6, 0, 1020, 4)]).toEqual([0, 4, 4, 4, 6]);
    expect([...edgesByTime(times, 6, 10, 40, 3)]).toEqual([1, 2, 3, 4]);
  });

  test.each([
    { time_us: -1, index: 0 },
    { time_us: 0, index: 0 },
    { time_us: 0.5, index: 1 },
    { time_us: 1010, index: 5 },
    { time_us: 1010.5, index: 6 },
  ])('then the first at or after $time_us is $index', ({ time_us, index }) => {
    expect(firstAtOrAfter(times, 0, 6, time_us)).toBe(index);
  });
});
