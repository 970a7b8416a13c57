/** Checksums of foreign lines against the CRC catalogue and published NMEA 0183 sentences. */
import { describe, expect, test } from 'vitest';
import { checksumDigits, checksumOf } from '../../shared-core/line/profile/checksum.ts';
import { checksumKinds } from '../../shared-core/line/profile/line-profile.ts';
import published from './data/checksums.json' with { type: 'json' };

const names = {
  crc8: 'CRC-8/SMBUS (plain CRC-8)',
  'crc16-ccitt': 'CRC-16/IBM-3740 (CCITT-FALSE)',
  'crc16-xmodem': 'CRC-16/XMODEM',
  'crc16-modbus': 'CRC-16/MODBUS',
  'crc16-arc': 'CRC-16/ARC',
  crc32: 'CRC-32/ISO-HDLC',
} as const;

test.each(Object.entries(names))('%s is %s of the catalogue', (kind, name) => {
  const row = published.crc.rows.find((each) => each.name === name)!;
  expect(checksumOf(kind as keyof typeof names, '123456789')).toBe(Number(row.check));
  expect(checksumDigits(kind as keyof typeof names) * 4).toBe(row.width);
});

describe('given published sentences', () => {
  test.each(published.nmea_0183.rows)('$sentence: $valid', ({ sentence, valid }) => {
    const [, body, hex] = /^\$(.*)\*(..)$/.exec(sentence)!;
    expect(checksumOf('xor8', body!) === Number.parseInt(hex!, 16)).toBe(valid);
  });
});

test('the plain sum is that of the bytes, modulo 256', () => {
  // 0x31 + … + 0x39 = 477.
  expect(checksumOf('sum8', '123456789')).toBe(477 % 256);
  expect(checksumKinds.filter((kind) => !(kind in names))).toEqual(['xor8', 'sum8']);
});
