/** Upper-case hex digits, read from bytes and written as text (PROTOCOL.md, parts 2 and 3). */

const digits = '0123456789ABCDEF';

/** Value of an upper-case hex digit by its byte, −1 for any other byte. */
const hexValues = new Int8Array(256).fill(-1);
for (let value = 0; value < 16; value++) hexValues[digits.charCodeAt(value)] = value;

/** Four upper-case hex digits as 0 to 0xFFFF; negative if one of the bytes is none. */
export function hex4(bytes: Uint8Array, at: number): number {
  return (
    (hexValues[bytes[at]!]! << 12) |
    (hexValues[bytes[at + 1]!]! << 8) |
    (hexValues[bytes[at + 2]!]! << 4) |
    hexValues[bytes[at + 3]!]!
  );
}

/**
 * 0 to 0xFFFF as four upper-case hex digits: the form of `host`, `id`, `boot` and `layout`.
 * @throws RangeError for any other number
 */
export function hex4Text(value: number): string {
  if (!Number.isInteger(value) || value < 0 || value > 0xffff) {
    throw new RangeError(`expected an integer from 0 to 65535, got ${value}`);
  }
  return value.toString(16).toUpperCase().padStart(4, '0');
}
