import fc from 'fast-check';
import { expect, test } from 'vitest';
import { DamagedBlockError } from '../../shared-core/series/damaged-block.ts';
import { ByteReader, ByteWriter } from '../../shared-core/series/varint.ts';

// LEB128, the example of the DWARF standard (section 7.6): 624485 is E5 8E 26.
test.each([
  { value: 0, bytes: [0] },
  { value: 127, bytes: [127] },
  { value: 128, bytes: [0x80, 1] },
  { value: 624_485, bytes: [0xe5, 0x8e, 0x26] },
])('given $value, then its bytes are $bytes', ({ value, bytes }) => {
  const writer = new ByteWriter(1);
  writer.unsigned(value);
  expect([...writer.take()]).toEqual(bytes);
});

test('given any numbers of the format, then they come back in order', () => {
  const numbers = fc.array(
    fc.tuple(
      fc.integer({ min: 0, max: Number.MAX_SAFE_INTEGER }),
      fc.integer({ min: -(2 ** 52) + 1, max: 2 ** 52 - 1 }),
    ),
  );
  fc.assert(
    fc.property(numbers, (pairs) => {
      const writer = new ByteWriter();
      for (const [unsigned, signed] of pairs) {
        writer.unsigned(unsigned);
        writer.signed(signed);
      }
      const reader = new ByteReader(writer.take());
      for (const [unsigned, signed] of pairs) {
        expect(reader.unsigned()).toBe(unsigned);
        expect(reader.signed()).toBe(signed);
      }
      expect(reader.left).toBe(0);
    }),
  );
});

test('given bytes that end inside a number, or a number too large, then the block is damaged', () => {
  expect(() => new ByteReader(Uint8Array.of(0x80)).unsigned()).toThrow(DamagedBlockError);
  expect(() => new ByteReader(new Uint8Array(0)).byte()).toThrow(DamagedBlockError);
  expect(() => new ByteReader(new Uint8Array(20).fill(0xff)).unsigned()).toThrow(DamagedBlockError);
  expect(() => new ByteReader(Uint8Array.of(255, 255, 255, 255, 255, 255, 255, 127)).unsigned()).toThrow(
    DamagedBlockError,
  );
});
