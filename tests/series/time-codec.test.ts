import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { DamagedBlockError } from '../../shared-core/series/damaged-block.ts';
import { decodeTimes, encodeTimes } from '../../shared-core/series/time-codec.ts';

const MOST = 2 ** 52 - 1;

describe('given sample times', () => {
  test('when they are evenly spaced, then a block of any length takes at most 16 bytes', () => {
    const times = Float64Array.from({ length: 1000 }, (_, i) => 360_000e6 + i * 10_000);
    const bytes = encodeTimes(times);
    expect(bytes.length).toBeLessThanOrEqual(16);
    expect(decodeTimes(bytes)).toEqual(times);
  });

  test('when the period is no whole number of microseconds, then they still take under two bits each', () => {
    const times = Float64Array.from({ length: 3000 }, (_, i) => Math.round((i * 1e6) / 300));
    const bytes = encodeTimes(times);
    expect(bytes.length * 8).toBeLessThan(2 * 3000);
    expect(decodeTimes(bytes)).toEqual(times);
  });

  test.each([
    { what: 'none', times: [] },
    { what: 'one', times: [MOST] },
    { what: 'as far apart as can be', times: [-MOST, MOST, 0] },
    // Once found by the random test below: the period itself was out of range.
    { what: 'a period larger than any time', times: [397_825_660_420_567, -4_105_773_966_949_930] },
    { what: 'a gap of an hour', times: [0, 10_000, 20_000, 3600e6, 3600e6 + 10_000] },
    { what: 'going back', times: [100, 50, 0, -50] },
    { what: 'all the same', times: [7, 7, 7, 7] },
  ])('$what', ({ times }) => {
    const column = Float64Array.from(times);
    expect(decodeTimes(encodeTimes(column))).toEqual(column);
  });

  test('when any whole microseconds come, then they come back exactly', () => {
    const time = fc.oneof(fc.integer({ min: -MOST, max: MOST }), fc.integer({ min: 0, max: 1e7 }));
    fc.assert(
      fc.property(fc.array(time, { maxLength: 200 }), (times) => {
        // −0 is no time of its own: it comes back as 0.
        const column = Float64Array.from(times, (each) => each + 0);
        expect(decodeTimes(encodeTimes(column))).toEqual(column);
      }),
      { numRuns: 300 },
    );
  });

  test('when they are not whole microseconds within range, then it throws', () => {
    for (const bad of [0.5, NaN, Infinity, 2 ** 52]) {
      expect(() => encodeTimes(Float64Array.of(0, bad))).toThrow(RangeError);
    }
    expect(() => encodeTimes(new Float64Array(2), 3)).toThrow(RangeError);
    expect(() => decodeTimes(encodeTimes(new Float64Array(2)), new Float64Array(1))).toThrow(RangeError);
  });
});

describe('given bytes that no encoder wrote', () => {
  test('then they are decoded or refused', () => {
    const whole = encodeTimes(Float64Array.from({ length: 300 }, (_, i) => i * 10_000 + ((i * 7919) % 13)));
    for (let cut = 0; cut < whole.length; cut++) {
      expect(() => decodeTimes(whole.subarray(0, cut))).toThrow(DamagedBlockError);
    }
    const changes = fc.array(fc.tuple(fc.nat({ max: whole.length - 1 }), fc.nat({ max: 255 })), {
      minLength: 1,
      maxLength: 3,
    });
    fc.assert(
      fc.property(changes, fc.uint8Array({ maxLength: 60 }), (places, other) => {
        const bytes = whole.slice();
        for (const [at, value] of places) bytes[at] = value;
        for (const each of [bytes, other, Uint8Array.of(0x80, ...other), Uint8Array.of(0x81, ...other)]) {
          try {
            for (const time of decodeTimes(each)) expect(Math.abs(time)).toBeLessThanOrEqual(MOST);
          } catch (error) {
            expect(error).toBeInstanceOf(DamagedBlockError);
          }
        }
      }),
      { numRuns: 1000 },
    );
  });
});
