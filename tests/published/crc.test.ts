import { describe, expect, test } from 'vitest';
import { crc16, crcContinued } from '../../shared-core/line/crc16.ts';
import { bitwiseCrc16, bytesOf, randomFrom } from '../line/line-support.ts';

// Catalogue of parametrised CRC algorithms (G. Cook), https://reveng.sourceforge.io/crc-catalogue/all.htm:
// CRC-16/IBM-3740, width=16 poly=0x1021 init=0xffff refin=false refout=false xorout=0x0000 check=0x29b1 residue=0x0000.
const CHECK = 0x29b1;
const RESIDUE = 0x0000;
// The same catalogue, for the neighbours that are easily taken for it: other initial value, reflected, complemented.
const NEIGHBOURS = { xmodem: 0x31c3, kermit: 0x2189, mcrf4xx: 0x6f91, sdlc: 0x906e };

const check = bytesOf('123456789');

describe('given the nine bytes 123456789', () => {
  test('when the CRC is taken, then it is the check value of the catalogue', () => {
    expect(crc16(check, 0, check.length)).toBe(CHECK);
    expect(Object.values(NEIGHBOURS)).not.toContain(crc16(check, 0, check.length));
  });

  test('when the CRC is appended, most significant byte first, then the residue of the catalogue is left', () => {
    const closed = Uint8Array.from([...check, CHECK >> 8, CHECK & 0xff]);
    expect(crc16(closed, 0, closed.length)).toBe(RESIDUE);
  });

  test('when they stand within other bytes, then only the range counts', () => {
    const within = bytesOf('xx123456789yyyyyyyy');
    expect(crc16(within, 2, 11)).toBe(CHECK);
  });

  test.each([0, 1, 4, 8, 9])('when it is taken in two parts, cut after %i bytes, then nothing changes', (cut) => {
    const first = crcContinued(0xffff, check, 0, cut);
    expect(crcContinued(first, check, cut, check.length)).toBe(CHECK);
  });
});

describe('given no bytes', () => {
  test('when the CRC is taken, then it is the initial value of the catalogue', () => {
    expect(crc16(check, 4, 4)).toBe(0xffff);
  });
});

describe('given random bytes of every length up to 64', () => {
  test('when the CRC is taken by slices, then it is the one taken bit by bit', () => {
    const seed = 3740;
    const random = randomFrom(seed);
    for (let length = 0; length <= 64; length++) {
      const bytes = Uint8Array.from({ length: length + 3 }, () => Math.floor(random() * 256));
      expect(crc16(bytes, 3, length + 3), `seed ${seed}, length ${length}`).toBe(bitwiseCrc16(bytes.subarray(3)));
    }
  });
});

test.each([
  [-1, 3],
  [4, 3],
  [0, 10],
  [Number.NaN, 3],
])('given nine bytes, when the range %d to %d is asked for, then it throws', (from, to) => {
  expect(() => crc16(check, from, to)).toThrow(RangeError);
});
