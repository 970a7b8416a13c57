/** Levels by time: every step is what a scan of its samples gives. */
import { describe, expect, test } from 'vitest';
import { quality, RAW_MAX, rawOfQuality } from '../../shared-core/channels/quality.ts';
import { packChunk, unpackChunk } from '../../shared-core/series/level-chunk.ts';
import { orderedAbove, orderedBelow, valueOfOrdered } from '../../shared-core/series/ordered-float.ts';
import {
  baseOfRate_us,
  CHUNK_STEPS,
  emptyChunk,
  type LevelChunk,
  stepOfLevel_us,
  TimeLevelBuilder,
} from '../../shared-core/series/time-levels.ts';
import { mulberry32 } from '../support/journal-samples.ts';

const seed = 20_261_126;

describe(`given two columns at 100 Hz with jitter, states and a gap of ten minutes (seed ${seed})`, () => {
  const random = mulberry32(seed);
  const n = 120_000;
  const times_us = new Float64Array(n);
  const columns = [new Int32Array(n), new Int32Array(n)];
  for (let i = 0; i < n; i++) {
    times_us[i] = 10_000 * i + Math.floor(3000 * random()) + (i > 70_000 ? 600e6 : 0);
    columns[0]![i] = Math.round(5000 + 2000 * Math.sin(i / 5000) + 60 * (random() - 0.5));
    columns[1]![i] =
      i < 40_000 ? rawOfQuality(quality.open) : random() < 0.01 ? 2 ** 31 - 648 : -RAW_MAX + Math.floor(9 * random());
  }
  const base_us = baseOfRate_us(100_000);
  const chunks = new Map<string, LevelChunk>();
  const builder = new TimeLevelBuilder(2, base_us, (level, chunk, column, values) => {
    const key = `${level} ${chunk} ${column}`;
    expect(chunks.has(key)).toBe(false);
    chunks.set(key, unpackChunk(packChunk(values)));
  });
  for (let from = 0; from < n; ) {
    const to = Math.min(n, from + 1 + Math.floor(300 * random()));
    builder.push(
      times_us.subarray(from, to),
      columns.map((column) => column.subarray(from, to)),
      to - from,
    );
    from = to;
  }
  builder.flush();

  test.each([0, 1, 2, 3, 4])('when all is handed out, then each step of level %i is a scan of its samples', (level) => {
    const step_us = stepOfLevel_us(base_us, level);
    let checked = 0;
    for (let from = 0; from < n; ) {
      const step = Math.floor(times_us[from]! / step_us);
      let to = from;
      while (to < n && Math.floor(times_us[to]! / step_us) === step) to++;
      columns.forEach((column, c) => {
        const good = [...column.subarray(from, to)].filter((value) => value >= -RAW_MAX);
        const chunk = chunks.get(`${level} ${Math.floor(step / CHUNK_STEPS)} ${c}`);
        const at = step % CHUNK_STEPS;
        expect(chunk?.count[at] ?? 0).toBe(good.length);
        if (good.length === 0) return;
        expect([chunk!.min[at], chunk!.max[at]]).toEqual([Math.min(...good), Math.max(...good)]);
        const mean = good.reduce((sum, value) => sum + value, 0) / good.length;
        expect(Math.abs(chunk!.mean[at]! - mean)).toBeLessThanOrEqual(0.5 + 1e-3);
        checked++;
      });
      from = to;
    }
    expect(checked).toBeGreaterThan(5);
  });

  test('when a stretch has no sample, then no chunk of it is handed out', () => {
    expect([...chunks.keys()].some((key) => key.startsWith('0 6 '))).toBe(false);
    expect(chunks.has('0 0 1')).toBe(false);
  });
});

test('given times that go back, when pushed, then no sample is lost', () => {
  let count = 0;
  const builder = new TimeLevelBuilder(1, 1000, (level, _chunk, _column, values) => {
    if (level === 0) count += values.count.reduce((sum, each) => sum + each, 0);
  });
  builder.push(Float64Array.of(5500, 900, 300_000, 10), [Int32Array.of(1, 2, 3, 4)], 4);
  builder.flush();
  expect(count).toBe(4);
});

test('given the worked bytes at the head of the chunk file, when unpacked, then they are the two steps', () => {
  const hex = '01 02 04 01 02 80 01 03 01 02 18 05 10 02 04 09 00 10 02 04 09 00';
  const chunk = unpackChunk(Uint8Array.from(hex.split(' '), (byte) => Number.parseInt(byte, 16)));
  const first = (values: Int32Array) => [...values.subarray(0, 2)];
  expect([chunk.min, chunk.max, chunk.mean, chunk.count].map(first)).toEqual([
    [10, 9],
    [14, 15],
    [12, 12],
    [64, 64],
  ]);
  expect(chunk.count.subarray(2).every((count) => count === 0)).toBe(true);
});

test('given a chunk without samples, when packed, then it throws', () => {
  expect(() => packChunk(emptyChunk())).toThrow(RangeError);
});

describe(`given real values as ordered whole numbers (seed ${seed})`, () => {
  const random = mulberry32(seed);
  const values = [0, -0, 1, -1, 1e-30, -1e-30, 3e38, -3e38, Math.PI, 0.1, -0.1];
  for (let i = 0; i < 2000; i++) values.push((random() - 0.5) * 10 ** (20 * random() - 8));

  test('when rounded, then outward, and by at most 2⁻¹⁶ of the value', () => {
    for (const value of values) {
      const below = valueOfOrdered(orderedBelow(value));
      const above = valueOfOrdered(orderedAbove(value));
      expect(below).toBeLessThanOrEqual(value);
      expect(above).toBeGreaterThanOrEqual(value);
      expect(above - below).toBeLessThanOrEqual(Math.abs(value) * 2 ** -15 + 1e-38);
    }
  });

  test('when compared, then they rise with the values', () => {
    const sorted = [...values].sort((a, b) => a - b);
    for (let i = 1; i < sorted.length; i++) {
      expect(orderedBelow(sorted[i]!)).toBeGreaterThanOrEqual(orderedBelow(sorted[i - 1]!));
    }
  });
});
