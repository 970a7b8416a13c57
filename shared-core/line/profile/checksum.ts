/**
 * Checksums that foreign benches put at the end of a line, as hex digits of
 * either case, most significant first.
 *
 * Source of the parameters: Catalogue of parametrised CRC algorithms (G. Cook);
 * its check values are in tests/published/data/checksums.json. `xor8` is that
 * of NMEA 0183, `sum8` the plain sum of the bytes modulo 256.
 */
import type { ChecksumKind } from './line-profile.ts';

interface Crc {
  readonly width: 8 | 16 | 32;
  /** As printed in the catalogue, most significant bit first. */
  readonly polynomial: number;
  readonly initial: number;
  readonly isReflected: boolean;
  readonly finalXor: number;
}

const crcs: Readonly<Record<Exclude<ChecksumKind, 'xor8' | 'sum8'>, Crc>> = {
  // CRC-8/SMBUS, CRC-16/IBM-3740, /XMODEM, /MODBUS, /ARC, CRC-32/ISO-HDLC.
  crc8: { width: 8, polynomial: 0x07, initial: 0, isReflected: false, finalXor: 0 },
  'crc16-ccitt': { width: 16, polynomial: 0x1021, initial: 0xffff, isReflected: false, finalXor: 0 },
  'crc16-xmodem': { width: 16, polynomial: 0x1021, initial: 0, isReflected: false, finalXor: 0 },
  'crc16-modbus': { width: 16, polynomial: 0x8005, initial: 0xffff, isReflected: true, finalXor: 0 },
  'crc16-arc': { width: 16, polynomial: 0x8005, initial: 0, isReflected: true, finalXor: 0 },
  crc32: { width: 32, polynomial: 0x04c11db7, initial: 0xffffffff, isReflected: true, finalXor: 0xffffffff },
};

/** Hex digits that the checksum has. */
export function checksumDigits(kind: ChecksumKind): 2 | 4 | 8 {
  if (kind === 'xor8' || kind === 'sum8') return 2;
  return ({ 8: 2, 16: 4, 32: 8 } as const)[crcs[kind].width];
}

/** @param text of characters below 256: one byte each */
export function checksumOf(kind: ChecksumKind, text: string): number {
  if (kind === 'xor8' || kind === 'sum8') {
    let value = 0;
    for (let i = 0; i < text.length; i++) {
      const byte = text.charCodeAt(i);
      value = kind === 'xor8' ? value ^ byte : (value + byte) & 0xff;
    }
    return value;
  }
  return crcOf(crcs[kind], text);
}

/** Bit by bit: lines are short and come some hundred a second at most. */
function crcOf({ width, polynomial, initial, isReflected, finalXor }: Crc, text: string): number {
  const top = 2 ** (width - 1);
  const step = isReflected ? reflected(polynomial, width) : polynomial;
  let crc = isReflected ? reflected(initial, width) : initial;
  for (let i = 0; i < text.length; i++) {
    const byte = text.charCodeAt(i);
    crc = isReflected ? (crc ^ byte) >>> 0 : (crc ^ (byte * 2 ** (width - 8))) >>> 0;
    for (let bit = 0; bit < 8; bit++) {
      if (isReflected) crc = crc & 1 ? ((crc >>> 1) ^ step) >>> 0 : crc >>> 1;
      else crc = (((crc & top) !== 0 ? (crc << 1) ^ step : crc << 1) >>> 0) % (top * 2);
    }
  }
  return (crc ^ finalXor) >>> 0;
}

function reflected(value: number, width: number): number {
  let result = 0;
  for (let bit = 0; bit < width; bit++) if ((value / 2 ** bit) & 1) result += 2 ** (width - 1 - bit);
  return result;
}
