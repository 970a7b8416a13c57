import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { decodeWire, encodeWire } from '../../shared-core/bridge/wire.ts';

/** Fixed, so that a failure shows the same on every machine; fast-check prints it with the counterexample. */
const seed = 20_261;

/** Any value that a message may hold: JSON, the numbers that JSON lacks, typed arrays, keys of every kind. */
const { value: anyValue } = fc.letrec((tie) => ({
  value: fc.oneof(
    { maxDepth: 5 },
    fc.double(),
    fc.integer(),
    fc.boolean(),
    fc.constant(null),
    fc.string({ unit: 'binary' }),
    fc.float64Array(),
    fc.float32Array(),
    fc.int32Array(),
    fc.int16Array(),
    fc.uint8Array(),
    fc.array(tie('value'), { maxLength: 5 }),
    fc.dictionary(
      fc.oneof(fc.string(), fc.constant('$')).filter((key) => key !== '__proto__'),
      tie('value'),
      { maxKeys: 5, noNullPrototype: true },
    ),
  ),
}));

describe('given any message', () => {
  test('when it is encoded and decoded, then it is the same, bit for bit', () => {
    fc.assert(
      fc.property(anyValue, (message) => {
        expect(decodeWire(encodeWire(message))).toStrictEqual({ ok: true, value: message });
      }),
      { seed, numRuns: 1000 },
    );
  });

  test('when its bytes stand at an odd place in a larger buffer, then they decode all the same', () => {
    const message = { last: Float64Array.of(NaN, 1.5), quality: Uint8Array.of(6, 0) };
    const bytes = encodeWire(message);
    for (let shift = 0; shift < 9; shift += 1) {
      const larger = new Uint8Array(bytes.length + 20);
      larger.set(bytes, shift);
      expect(decodeWire(larger.subarray(shift, shift + bytes.length))).toStrictEqual({ ok: true, value: message });
    }
  });
});

describe('given bytes that the caller gives up', () => {
  test('when decoded in place, then the message is the same, and its arrays lie in the bytes', () => {
    fc.assert(
      fc.property(anyValue, (message) => {
        expect(decodeWire(encodeWire(message), true)).toStrictEqual({ ok: true, value: message });
      }),
      { seed, numRuns: 500 },
    );
    const bytes = encodeWire({ last: Float64Array.of(1.5, 2.5), quality: Uint8Array.of(1, 2, 3) });
    const decoded = decodeWire(bytes, true);
    const { last, quality } = (decoded.ok ? decoded.value : {}) as { last: Float64Array; quality: Uint8Array };
    expect(last.buffer).toBe(bytes.buffer);
    expect(quality.buffer).toBe(bytes.buffer);
    const copied = decodeWire(bytes);
    expect((copied.ok ? (copied.value as { last: Float64Array }) : { last }).last.buffer).not.toBe(bytes.buffer);
  });

  test('when they stand at an odd place, then they decode all the same', () => {
    const message = { last: Float64Array.of(NaN, 1.5), quality: Uint8Array.of(6, 0) };
    const bytes = encodeWire(message);
    for (let shift = 0; shift < 9; shift += 1) {
      const larger = new Uint8Array(bytes.length + 20);
      larger.set(bytes, shift);
      expect(decodeWire(larger.subarray(shift, shift + bytes.length), true)).toStrictEqual({
        ok: true,
        value: message,
      });
    }
  });

  test('when any bytes are changed, then decoding never throws', () => {
    const whole = encodeWire({ type: 'display', last: Float64Array.of(1, 2, 3), quality: Uint8Array.of(1, 2, 3) });
    fc.assert(
      fc.property(
        fc.array(fc.tuple(fc.nat(whole.length - 1), fc.integer({ min: 0, max: 255 })), { minLength: 1, maxLength: 8 }),
        (changes) => {
          const changed = whole.slice();
          for (const [place, byte] of changes) changed[place] = byte;
          expect(typeof decodeWire(changed, true).ok).toBe('boolean');
        },
      ),
      { seed, numRuns: 5000 },
    );
  });
});

describe('given the bytes of a message', () => {
  const whole = encodeWire({
    type: 'display',
    drift: NaN,
    last: Float64Array.of(1, 2, 3),
    quality: Uint8Array.of(1, 2, 3),
  });

  test('when they are cut short anywhere, then they are refused or hold no less than was sent', () => {
    for (let length = 0; length < whole.length; length += 1) {
      const decoded = decodeWire(whole.subarray(0, length));
      // Only the padding behind the last array carries nothing.
      if (length < whole.length - 5) expect(decoded.ok, `${length} bytes`).toBe(false);
    }
  });

  test('when any bytes are changed, then decoding never throws', () => {
    fc.assert(
      fc.property(
        fc.array(fc.tuple(fc.nat(whole.length - 1), fc.integer({ min: 0, max: 255 })), { minLength: 1, maxLength: 8 }),
        (changes) => {
          const changed = whole.slice();
          for (const [place, byte] of changes) changed[place] = byte;
          expect(typeof decodeWire(changed).ok).toBe('boolean');
        },
      ),
      { seed, numRuns: 5000 },
    );
  });

  test('when the bytes are anything at all, then decoding never throws', () => {
    fc.assert(
      fc.property(fc.uint8Array({ maxLength: 200 }), (bytes) => {
        expect(decodeWire(bytes).ok).toBe(false);
      }),
      { seed, numRuns: 2000 },
    );
  });
});

test.each([
  { what: 'an unknown array type', header: '{"$":["BigInt64Array",0,1]}' },
  { what: 'an array named for something inherited', header: '{"$":["constructor",0,1]}' },
  { what: 'an array behind the end', header: '{"$":["Float64Array",0,2]}' },
  { what: 'an array before the tail', header: '{"$":["Float64Array",-8,1]}' },
  { what: 'an array off its alignment', header: '{"$":["Uint8Array",4,1]}' },
  { what: 'a length that is no number', header: '{"$":["Uint8Array",0,"1"]}' },
  { what: 'an unknown tag', header: '{"$":"nan"}' },
  { what: 'a tag among other keys', header: '{"$":"NaN","x":1}' },
  { what: 'a prototype', header: '{"__proto__":{"ok":true}}' },
  { what: 'a prototype under a tag', header: '{"$":{"__proto__":1,"$":2}}' },
  { what: 'a nest without end', header: `${'['.repeat(100_000)}${']'.repeat(100_000)}` },
  { what: 'no JSON', header: '{"a":' },
])('given a header with $what, then it is refused in words', ({ header }) => {
  const decoded = decodeWire(framed(header, new Uint8Array(8)));
  expect(decoded.ok).toBe(false);
  expect(decoded).toHaveProperty('error', expect.stringMatching(/\w/));
});

test('given undefined fields, then they are left out, and in arrays they become null', () => {
  expect(decodeWire(encodeWire({ a: undefined, b: [undefined, 1] }))).toStrictEqual({
    ok: true,
    value: { b: [null, 1] },
  });
});

test.each([
  { what: 'a function', value: () => 1 },
  { what: 'a bigint', value: 1n },
  { what: 'a Map', value: new Map() },
  { what: 'a Set', value: new Set() },
  { what: 'a Date', value: new Date(0) },
  { what: 'a DataView', value: new DataView(new ArrayBuffer(8)) },
])('given $what in a message, when it is encoded, then that throws', ({ value }) => {
  expect(() => encodeWire({ value })).toThrow(TypeError);
});

test('given a message that holds itself, when it is encoded, then that throws', () => {
  const cycle: Record<string, unknown> = {};
  cycle.self = cycle;
  expect(() => encodeWire(cycle)).toThrow(/cycle/);
});

/** By hand, after the layout in the file's header, so that encoder and decoder are not only each other's mirror. */
test('given the layout as documented, when bytes are written by hand, then they decode, and the encoder writes the same', () => {
  const header = '{"last":{"$":["Float64Array",0,1]},"unit":"\\u00b0C"}';
  const tail = new Uint8Array(8);
  new DataView(tail.buffer).setFloat64(0, 21.5, true);
  const bytes = framed(header, tail);
  const message = { last: Float64Array.of(21.5), unit: '°C' };
  expect(decodeWire(bytes)).toStrictEqual({ ok: true, value: message });
  expect(encodeWire(message)).toStrictEqual(bytes);
});

function framed(header: string, tail: Uint8Array): Uint8Array {
  const start = Math.ceil((8 + header.length) / 8) * 8;
  const bytes = new Uint8Array(start + tail.length);
  bytes.set(new TextEncoder().encode('RSW1'), 0);
  new DataView(bytes.buffer).setUint32(4, header.length, true);
  bytes.set(new TextEncoder().encode(header), 8);
  bytes.set(tail, start);
  return bytes;
}
