/** CRC-32/ISO-HDLC against the check value of the CRC catalogue. */
import { expect, test } from 'vitest';
import { crc32 } from '../../shared-core/series/crc32.ts';
import published from './data/crc-32.json' with { type: 'json' };

const bytes = new TextEncoder().encode(published.check_input);

test('given 123456789, then the CRC is the check value of the catalogue', () => {
  expect(crc32(bytes)).toBe(Number(published.rows[0]!.check));
});

test('given the same bytes in two parts, then the CRC goes on from the first', () => {
  for (let cut = 0; cut <= bytes.length; cut++) {
    expect(crc32(bytes.subarray(cut), crc32(bytes.subarray(0, cut)))).toBe(Number(published.rows[0]!.check));
  }
});

test('given no bytes, then the CRC is 0', () => {
  expect(crc32(new Uint8Array(0))).toBe(0);
});
