import { describe, expect, test } from 'vitest';
import {
  type Block,
  BlockDamage,
  type FrameColumns,
  openBlock,
  packBlock,
} from '../../../electron/host/store/block-file.ts';
import { BlockFrames } from '../../../electron/host/store/block-frames.ts';
import { isLongEnough, LONG_BLOCK_FRAMES, LONG_BLOCK_SPAN_US } from '../../../electron/host/store/block-size.ts';
import { FrameRows } from '../../../electron/host/store/content-chain.ts';
import { mulberry32 } from '../../support/journal-samples.ts';

test('given the worked bytes at the head of the block file, when opened, then they are the frame that stands there', () => {
  const hex = `02 01  01 02 01  07 09 04 03
    80 01 0E 00 01 01 00
    80 01 80 89 7A 00 01 01 00
    01 01 E0 12
    01 01 09
    03 63 89 B0`;
  const body = Uint8Array.from(hex.trim().split(/\s+/), (byte) => Number.parseInt(byte, 16));
  const head = { firstOrd: 7, lastOrd: 7, first_us: 1e6, last_us: 1e6, frames: 1, previous: 0, checksum: 0xc0f8f5d0 };
  const frames = new BlockFrames(openBlock({ ...head, body }));
  expect([frames.ord, frames.t_us, frames.group, ...frames.raw()]).toEqual([7, 1e6, 1, 1200, -5]);
  const rows = new FrameRows();
  rows.add(7, 1e6, 1, Int32Array.of(1200, -5), 2);
  expect(rows.chainAfter(0)).toBe(0xc0f8f5d0);
});

describe('given a block of three groups, one of them without columns', () => {
  const random = mulberry32(5);
  const fast = made(1, 3, 400, (i) => i * 3);
  const slow = made(2, 1, 40, (i) => i * 30 + 1);
  const ticks = made(0, 0, 2, (i) => i * 600 + 2);
  const head = { firstOrd: 0, lastOrd: 1197, first_us: 0, last_us: 3.99e6, frames: 442, previous: 9, checksum: 77 };
  const block = packBlock(head, [fast, slow, ticks, { ...fast, group: 4, from: 5, to: 5 }], true);

  test('when opened, then each group has its frames, and a group without frames takes no place', () => {
    const { sections } = openBlock(block);
    expect(sections.map(({ group, columns, frames }) => [group, columns, frames])).toEqual([
      [1, 3, 400],
      [2, 1, 40],
      [0, 0, 2],
    ]);
    expect(sections[0]!.column(1)).toEqual(fast.values[1]);
    expect(sections[1]!.times_us()).toEqual(slow.times_us);
    expect(sections[0]!.part(2, 130, 390)).toEqual(fast.values[2]!.subarray(130, 390));
  });

  test.each([0, 1, 2, 3, 600, 1197, 1198])('when read from ord %i, then all groups come by ord', (fromOrd) => {
    const got: number[] = [];
    for (const each = new BlockFrames(openBlock(block), fromOrd); each.ord < Number.POSITIVE_INFINITY; each.next()) {
      got.push(each.ord);
    }
    const all = [...fast.ords, ...slow.ords, ...ticks.ords].sort((a, b) => a - b);
    expect(got).toEqual(all.filter((ord) => ord >= fromOrd));
  });

  test('when any single bit of its body flips, then opening it throws damage', () => {
    for (let bit = 0; bit < 8 * block.body.length; bit += 7) {
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

  test.each(['firstOrd', 'lastOrd', 'first_us', 'last_us', 'frames', 'previous', 'checksum'] as const)(
    'when %s of its head changes, then opening it throws damage',
    (name) => {
      const changed: Block = { ...block, [name]: block[name] + 1 };
      expect(() => openBlock(changed)).toThrow(BlockDamage);
    },
  );

  function made(group: number, columns: number, n: number, ord: (i: number) => number): FrameColumns {
    const values = Array.from({ length: columns }, () =>
      Int32Array.from({ length: n }, () => Math.floor((random() - 0.5) * 2 ** 14)),
    );
    const ords = Float64Array.from({ length: n }, (_, i) => ord(i));
    const times_us = Float64Array.from({ length: n }, (_, i) => Math.floor(ord(i) / 3) * 10_000);
    return { group, columns, ords, times_us, values, from: 0, to: n };
  }
});

// Sizes from "Cell Payload Overflow Pages", sqlite.org/fileformat2.html: 489 bytes at least in the leaf, 4,092 to an overflow page.
describe('given a long block that grows', () => {
  const beyond = 489 - 52 + 5 * 4092;
  test.each([
    { title: '1 byte short of five overflow pages', bytes: beyond - 1, added: 1300, ends: false },
    { title: 'five overflow pages to the byte', bytes: beyond, added: 1300, ends: true },
    { title: 'five and a quarter of a commit', bytes: beyond + 325, added: 1300, ends: true },
    { title: 'five and more than a quarter of a commit', bytes: beyond + 326, added: 1300, ends: false },
    { title: 'six and half a commit', bytes: beyond + 4092 + 650, added: 1300, ends: true },
    { title: 'six and more than half a commit', bytes: beyond + 4092 + 651, added: 1300, ends: false },
    { title: 'eight and a commit', bytes: beyond + 3 * 4092 + 1300, added: 1300, ends: true },
    { title: 'eight and more than a commit', bytes: beyond + 3 * 4092 + 1301, added: 1300, ends: false },
  ])('when it has $title, then it ends: $ends', ({ bytes, added, ends }) => {
    expect(isLongEnough({ bytes, added, span_us: 15e6, frames: 1500, commits: 15 })).toBe(ends);
  });

  test.each([
    { span_us: LONG_BLOCK_SPAN_US - 1, frames: 10, ends: false },
    { span_us: LONG_BLOCK_SPAN_US, frames: 10, ends: true },
    { span_us: 1, frames: LONG_BLOCK_FRAMES - 1, ends: false },
    { span_us: 1, frames: LONG_BLOCK_FRAMES, ends: true },
  ])('when it spans $span_us µs and has $frames frames, then it ends: $ends', ({ span_us, frames, ends }) => {
    expect(isLongEnough({ bytes: 100, added: 10, span_us, frames, commits: 5 })).toBe(ends);
  });
});
