import { describe, expect, test } from 'vitest';
import {
  BLOCK_FRAMES,
  BLOCK_SPAN_US,
  BlockBuilder,
  BlockDamage,
  openBlock,
} from '../../../electron/host/store/block-file.ts';
import { mulberry32 } from '../../support/journal-samples.ts';

describe('given a builder of two columns', () => {
  test.each([
    { title: 'another column count', t_us: 1, columns: 3, takes: false },
    { title: '1 µs less than the span', t_us: BLOCK_SPAN_US - 1, columns: 2, takes: true },
    { title: 'the span', t_us: BLOCK_SPAN_US, columns: 2, takes: false },
    { title: 'the same time', t_us: 0, columns: 2, takes: true },
  ])('when a frame of $title comes after one at 0, then it is taken: $takes', ({ t_us, columns, takes }) => {
    const builder = new BlockBuilder(1, 2);
    builder.add(0, 0, Int32Array.of(1, 2));
    expect(builder.takes(t_us, columns)).toBe(takes);
  });

  test('when it is full, then it takes no more, and all that it took comes back', () => {
    const builder = new BlockBuilder(4, 2);
    const random = mulberry32(5);
    const first: number[] = [];
    for (let i = 0; i < BLOCK_FRAMES; i++) {
      expect(builder.takes(i, 2)).toBe(true);
      first.push(Math.floor((random() - 0.5) * 2 ** 32));
      builder.add(10 + 3 * i, i, Int32Array.of(first[i]!, i));
    }
    expect(builder.takes(BLOCK_FRAMES, 2)).toBe(false);
    const block = builder.seal(7, 99);
    expect(block).toMatchObject({ number: 7, group: 4, previous: 99, frames: BLOCK_FRAMES, firstOrd: 10, first_us: 0 });
    const frames = openBlock(block);
    expect([...frames.columns[0]!]).toEqual(first);
    expect(frames.ords.at(-1)).toBe(10 + 3 * (BLOCK_FRAMES - 1));
    expect(builder.frames).toBe(0);
  });

  test('when sealed twice, then the second block has only what came after the first', () => {
    const builder = new BlockBuilder(1, 1);
    builder.add(0, 0, Int32Array.of(5));
    builder.add(1, 10, Int32Array.of(6));
    const one = builder.seal(0, 0);
    builder.add(2, 20, Int32Array.of(7));
    const two = builder.seal(1, one.checksum);
    expect([...openBlock(one).columns[0]!]).toEqual([5, 6]);
    expect([...openBlock(two).columns[0]!]).toEqual([7]);
  });
});

describe('given a sealed block', () => {
  const builder = new BlockBuilder(1, 3);
  for (let i = 0; i < 20; i++) builder.add(i, i * 10_000, Int32Array.of(6100 + i, -5, i * i));
  const block = builder.seal(0, 0);

  test('when any single bit of its body flips, then opening it throws damage', () => {
    for (let bit = 0; bit < 8 * block.body.length; bit++) {
      const body = block.body.slice();
      body[bit >> 3]! ^= 1 << (bit & 7);
      expect(() => openBlock({ ...block, body })).toThrow(BlockDamage);
    }
  });

  test('when its body is cut off at any place, then opening it throws damage', () => {
    for (let length = 0; length < block.body.length; length++) {
      expect(() => openBlock({ ...block, body: block.body.subarray(0, length) })).toThrow(BlockDamage);
    }
  });
});
