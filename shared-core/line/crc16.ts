/**
 * CRC-16/IBM-3740 (PROTOCOL.md, part 2): width 16, polynomial 0x1021, initial
 * value 0xFFFF, not reflected, no final XOR; check value 0x29B1.
 *
 * The tables serve steps of several bytes at a time ("slicing"): row k holds
 * the effect of a byte that is followed by k zero bytes. `sample-line.ts` uses
 * them directly, woven into its reading of the numbers.
 * Source: Catalogue of parametrised CRC algorithms (G. Cook), entry
 * CRC-16/IBM-3740.
 */

export const CRC_INIT = 0xffff;
const POLYNOMIAL = 0x1021;
const SLICES = 8;

/** 8 rows of 256: `slices[k * 256 + b]` is byte b followed by k zero bytes. */
export const crcSlices: Uint16Array = slicesOf(POLYNOMIAL);

/**
 * CRC of `bytes[from … to−1]`, 0 to 0xFFFF; an empty range gives 0xFFFF.
 * @throws RangeError if the range is not inside `bytes`
 */
export function crc16(bytes: Uint8Array, from: number, to: number): number {
  if (!(from >= 0 && from <= to && to <= bytes.length)) {
    throw new RangeError(`expected a range within ${bytes.length} bytes, got ${from} to ${to}`);
  }
  return crcContinued(CRC_INIT, bytes, from, to);
}

/** The CRC after `bytes[from … to−1]`, where it was `crc` before them. The range is the caller's promise. */
export function crcContinued(crc: number, bytes: Uint8Array, from: number, to: number): number {
  let p = from;
  for (; p + 8 <= to; p += 8) {
    crc =
      crcSlices[0x700 | (bytes[p]! ^ (crc >>> 8))]! ^
      crcSlices[0x600 | (bytes[p + 1]! ^ (crc & 0xff))]! ^
      crcSlices[0x500 | bytes[p + 2]!]! ^
      crcSlices[0x400 | bytes[p + 3]!]! ^
      crcSlices[0x300 | bytes[p + 4]!]! ^
      crcSlices[0x200 | bytes[p + 5]!]! ^
      crcSlices[0x100 | bytes[p + 6]!]! ^
      crcSlices[bytes[p + 7]!]!;
  }
  for (; p < to; p++) crc = ((crc << 8) & 0xffff) ^ crcSlices[bytes[p]! ^ (crc >>> 8)]!;
  return crc;
}

function slicesOf(polynomial: number): Uint16Array {
  const slices = new Uint16Array(SLICES * 256);
  for (let byte = 0; byte < 256; byte++) {
    let crc = byte << 8;
    for (let bit = 0; bit < 8; bit++) crc = crc & 0x8000 ? ((crc << 1) ^ polynomial) & 0xffff : crc << 1;
    slices[byte] = crc;
  }
  for (let at = 256; at < slices.length; at++) {
    const before = slices[at - 256]!;
    slices[at] = ((before << 8) & 0xffff) ^ slices[before >>> 8]!;
  }
  return slices;
}
