/** Reading a part of a long block gives what reading the whole gives. */
import { describe, expect, test } from 'vitest';
import { quality, RAW_MAX, rawOfQuality } from '../../shared-core/channels/quality.ts';
import { decodeColumn, decodeColumnRange, encodeColumn } from '../../shared-core/series/block-codec.ts';
import { mulberry32 } from '../support/journal-samples.ts';

const seed = 20_261_125;
const random = mulberry32(seed);

const shapes: readonly { title: string; values: Int32Array }[] = [
  { title: 'noise on a slow swing', values: made(1600, (i) => 5000 + 300 * Math.sin(i / 200) + 60 * (random() - 0.5)) },
  { title: 'a ramp', values: made(1600, (i) => 37 * i) },
  { title: 'wide noise', values: made(1025, () => (random() - 0.5) * 2 * RAW_MAX) },
  { title: 'mostly at rest', values: made(3000, (i) => (i % 400 === 0 ? 1 : 0)) },
  { title: 'steps of 25', values: made(1500, () => 25 * Math.round(40 * random())) },
  { title: 'one value', values: made(700, () => -3) },
  { title: 'states in it', values: made(900, (i) => (i % 7 === 0 ? rawOfQuality(quality.open) : 900 + 9 * random())) },
  { title: 'a shape that changes', values: made(2000, (i) => (i < 900 ? 4 : 1e6 * random())) },
  ...[256, 257, 258, 384, 385, 386].map((n) => ({ title: `${n} samples`, values: made(n, () => 99 * random()) })),
];

describe.each(shapes)('given a block of $title, written to be sought in', ({ values }) => {
  const bytes = encodeColumn(values, values.length, true);

  test('when read whole, then it is what was written', () => {
    expect(decodeColumn(bytes)).toEqual(values);
  });

  test(`when any part is read, then it is that part (seed ${seed})`, () => {
    const n = values.length;
    const parts = [
      [0, 0],
      [0, 1],
      [1, 2],
      [0, n],
      [n - 1, n],
      [n, n],
      [127, 130],
      [128, 129],
      [129, 257],
      [129, 258],
    ];
    for (let i = 0; i < 300; i++) {
      const from = Math.floor(random() * n);
      parts.push([from, from + Math.floor(random() * (n - from + 1))]);
    }
    for (const [from, to] of parts) {
      if (to! <= n) expect(decodeColumnRange(bytes, from!, to!)).toEqual(values.subarray(from, to));
    }
  });
});

test('given noise of a known size, when written to be sought in, then it is at most 6 % longer', () => {
  const values = made(1600, () => 60 * (random() + random() + random() - 1.5));
  const plain = encodeColumn(values).length;
  const sought = encodeColumn(values, values.length, true).length;
  expect(sought).toBeGreaterThan(plain);
  expect(sought / plain).toBeLessThan(1.06);
});

test('given a part that the block does not have, when asked for, then it throws', () => {
  const bytes = encodeColumn(
    made(300, () => 5 * random()),
    300,
    true,
  );
  expect(() => decodeColumnRange(bytes, 0, 301)).toThrow(RangeError);
  expect(() => decodeColumnRange(bytes, -1, 3)).toThrow(RangeError);
});

function made(n: number, value: (i: number) => number): Int32Array {
  return Int32Array.from({ length: n }, (_, i) => Math.round(value(i)));
}
