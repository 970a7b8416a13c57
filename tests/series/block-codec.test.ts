import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { RAW_MAX } from '../../shared-core/channels/quality.ts';
import {
  decodeColumn,
  encodeColumn,
  MAX_BLOCK_SAMPLES,
  samplesInColumn,
} from '../../shared-core/series/block-codec.ts';
import { DamagedBlockError } from '../../shared-core/series/damaged-block.ts';

const LOWEST = -2_147_483_648;
const HIGHEST = 2_147_483_647;
const OPEN = LOWEST + 1;

function hex(text: string): Uint8Array {
  return Uint8Array.from(text.trim().split(/\s+/), (byte) => Number.parseInt(byte, 16));
}

function expectRoundTrip(values: Int32Array): Uint8Array {
  const bytes = encodeColumn(values);
  expect(decodeColumn(bytes)).toEqual(values);
  expect(samplesInColumn(bytes)).toBe(values.length);
  expect(bytes.length).toBeLessThanOrEqual(4 * values.length + 4);
  return bytes;
}

/** Uniform in [0, 1), by a linear congruence with a stated seed. */
function uniform(seed: number): () => number {
  let state = seed;
  return () => {
    state = (Math.imul(state, 1_664_525) + 1_013_904_223) | 0;
    return (state >>> 0) / 2 ** 32;
  };
}

// Worked out by hand from the format at the head of block-codec.ts, bit by bit.
describe('given bytes worked out by hand', () => {
  test.each([
    {
      what: 'the worked example of the format',
      bytes: '30 06 01 03 01 01 E0 12 04 D0',
      is: [1200, 1201, 1201, OPEN, OPEN, 1200],
    },
    { what: 'no samples', bytes: '00 00', is: [] },
    { what: 'raw, little-endian', bytes: '00 02 01 00 00 00 FE FF FF FF', is: [1, -2] },
    { what: 'a constant: 150 = 0x96 0x01, −3 folds to 5', bytes: '01 96 01 05', is: new Array(150).fill(-3) },
    // Residuals 0: `1` (all zero as before), filled up.
    { what: 'a constant that is written as predicted', bytes: '10 03 0E 80', is: [7, 7, 7] },
    // A line 0, 5, 10, 15: residuals 5, 0, 0 fold to 10, 0, 0; code 25 (runs, k = 0) is 0 11001;
    // run 0: 1; 10 − 1 = 9 as nine zeros and a one; run of two to the end: 001. 0110011 0 00000000 1 001 0000.
    { what: 'a line with run lengths', bytes: '11 04 00 66 00 90', is: [0, 5, 10, 15] },
    // Step 5: x = 0, 1, 2, 3; residuals 1, 0, 0 fold to 2, 0, 0; code 1 (Rice, k = 0): 000001 001 1 1.
    { what: 'a line with a step of 5', bytes: '51 04 00 05 04 E0', is: [0, 5, 10, 15] },
    // Predictor 2, mean of two: x = 0, 4, 4. m: 0, then (1024 − 0) >> 1 = 512, so the guesses are 0 and (512 + 128) >> 8 = 2;
    // residuals 4 and 2 fold to 8 and 4; code 3 (Rice, k = 2): 000011 001 00 01 00.
    { what: 'an exponential mean', bytes: '12 03 00 0C 88', is: [0, 4, 4] },
    // Code 31, 32 bits each: residual 1 folds to 2.
    { what: 'a sub-block of 32 bits each', bytes: '10 02 00 7C 00 00 00 08', is: [0, 1] },
    // Escape: Rice k = 0, 20 zeros, then 2 in 32 bits.
    { what: 'an escape', bytes: '10 02 00 04 00 00 00 00 00 00 80', is: [0, 1] },
    // All of it one state: no base, no bits.
    { what: 'two different states and nothing else', bytes: '30 02 02 00 00 01 00 00 02', is: [OPEN, LOWEST + 2] },
  ])('$what', ({ bytes, is }) => {
    expect([...decodeColumn(hex(bytes))]).toEqual(is);
  });

  test('and the encoder writes the worked example just so', () => {
    expect(encodeColumn(Int32Array.of(1200, 1201, 1201, OPEN, OPEN, 1200))).toEqual(
      hex('30 06 01 03 01 01 E0 12 04 D0'),
    );
  });
});

describe('given columns at the edges', () => {
  test.each([
    { what: 'none', values: [] },
    { what: 'one', values: [0] },
    { what: 'one state', values: [OPEN] },
    { what: 'lowest and highest in turn', values: [LOWEST, HIGHEST, LOWEST, HIGHEST] },
    { what: 'highest numbers', values: [RAW_MAX, -RAW_MAX, RAW_MAX, -RAW_MAX, 0] },
    { what: 'either side of the states', values: [-RAW_MAX, -RAW_MAX - 1, -RAW_MAX + 1, LOWEST] },
    { what: 'all states', values: [OPEN, OPEN, LOWEST + 5, LOWEST + 5, LOWEST + 6] },
    { what: 'states at both ends', values: [OPEN, 1, 2, 3, OPEN] },
    { what: 'every other a state', values: [OPEN, 1, OPEN, 2, OPEN, 3, LOWEST + 2, 4] },
    { what: 'a step of 2³¹ − 1', values: [0, HIGHEST, 0, HIGHEST, HIGHEST] },
    { what: 'a range of exactly 2³¹', values: [-1_073_741_824, 1_073_741_824, 0] },
    { what: 'a range of 2³¹ − 1', values: [-1_073_741_824, 1_073_741_823, 0] },
  ])('$what', ({ values }) => {
    expectRoundTrip(Int32Array.from(values));
  });

  test.each([1, 2, 127, 128, 129, 130, 256, 257, 1000])('%f samples of noise, around the size of a sub-block', (n) => {
    const random = uniform(n);
    for (const size of [1, 3, 40, 5000, 1e6, 3e7, 4e9]) {
      expectRoundTrip(Int32Array.from({ length: n }, () => (random() - 0.5) * size));
    }
  });

  test.each([2 ** 21 - 1, 2 ** 21, 2 ** 21 + 1])('swings of ±%f, where exponential means stop being tried', (most) => {
    expectRoundTrip(Int32Array.from({ length: 400 }, (_, i) => [0, most, -most, most - 1][i % 4]!));
  });

  test('rare spikes in a quiet signal, so that codes escape', () => {
    for (const spike of [20, 21, 1000, 1e6, 1e9, HIGHEST, -RAW_MAX]) {
      const values = new Int32Array(500).map((_, i) => (i % 97 === 50 ? spike : i & 1));
      expectRoundTrip(values);
    }
  });

  test('a constant takes at most ten bytes, however long', () => {
    expect(expectRoundTrip(new Int32Array(MAX_BLOCK_SAMPLES).fill(-RAW_MAX)).length).toBeLessThanOrEqual(10);
    expect(expectRoundTrip(new Int32Array(5000).fill(OPEN)).length).toBeLessThanOrEqual(10);
  });

  test('a sensor that fails for a while costs its run and no more', () => {
    const values = new Int32Array(1000).map((_, i) => 1800 + (i % 3));
    const whole = encodeColumn(values).length;
    values.fill(OPEN, 300, 420);
    expect(expectRoundTrip(values).length).toBeLessThan(whole + 12);
  });

  test('random bits take what raw takes, and nothing above it', () => {
    const random = uniform(99);
    const values = Int32Array.from({ length: 3000 }, () => (random() * 2 ** 32) | 0);
    expect(expectRoundTrip(values).length).toBeLessThanOrEqual(4 * 3000 + 4);
  });

  test('only the first n are taken, and `into` is filled from its start', () => {
    const bytes = encodeColumn(Int32Array.of(1, 2, 3, 4, 5), 3);
    const into = new Int32Array(8).fill(9);
    expect([...decodeColumn(bytes, into)]).toEqual([1, 2, 3]);
    expect([...into]).toEqual([1, 2, 3, 9, 9, 9, 9, 9]);
    expect(() => decodeColumn(bytes, new Int32Array(2))).toThrow(RangeError);
  });

  test('n out of range throws', () => {
    for (const n of [-1, 1.5, 3, NaN]) expect(() => encodeColumn(new Int32Array(2), n)).toThrow(RangeError);
  });
});

describe('given random columns', () => {
  const anything = fc.integer({ min: LOWEST, max: HIGHEST });
  const nearZero = fc.integer({ min: -3, max: 3 });
  const state = fc.integer({ min: 0, max: 8 }).map((code) => LOWEST + code);
  const extreme = fc.constantFrom(LOWEST, HIGHEST, RAW_MAX, -RAW_MAX, -RAW_MAX - 1, 0, 1, -1);

  test('then every column comes back exactly, within the bound on its size', () => {
    const value = fc.oneof({ weight: 6, arbitrary: nearZero }, { weight: 2, arbitrary: state }, anything, extreme);
    fc.assert(
      fc.property(fc.array(value, { maxLength: 600 }), (values) => {
        expectRoundTrip(Int32Array.from(values));
      }),
      { numRuns: 400 },
    );
  });

  test('then walks, lines and multiples come back exactly', () => {
    const shape = fc.record({
      steps: fc.array(fc.oneof(nearZero, fc.integer({ min: -500, max: 500 })), { minLength: 1, maxLength: 700 }),
      base: anything,
      factor: fc.constantFrom(1, 2, 10, 100, 65_536),
      isWalk: fc.boolean(),
    });
    fc.assert(
      fc.property(shape, ({ steps, base, factor, isWalk }) => {
        let at = base;
        expectRoundTrip(
          Int32Array.from(steps, (step) => {
            at = isWalk ? at + factor * step : base + factor * step;
            return at;
          }),
        );
      }),
      { numRuns: 300 },
    );
  });
});

describe('given bytes that no encoder wrote', () => {
  /** Decoding either gives an array no longer than a block, or says that the block is damaged. */
  function expectContained(bytes: Uint8Array): void {
    try {
      expect(decodeColumn(bytes).length).toBeLessThanOrEqual(MAX_BLOCK_SAMPLES);
    } catch (error) {
      expect(error).toBeInstanceOf(DamagedBlockError);
    }
  }

  test.each([
    { what: 'nothing', bytes: '' },
    { what: 'a kind that is not known', bytes: '02 01 00' },
    { what: 'a kind with its top bit set', bytes: '90 03 0E 80' },
    { what: 'a predictor that is not known', bytes: '16 03 0E 80' },
    { what: 'more samples than a block may have', bytes: '01 81 80 40 00' },
    { what: 'an endless number', bytes: '01 FF FF FF FF FF FF FF FF FF FF' },
    { what: 'raw cut short', bytes: '00 02 01 00 00 00 FE FF FF' },
    { what: 'raw with bytes after it', bytes: '00 01 01 00 00 00 00' },
    { what: 'a constant with bytes after it', bytes: '01 03 05 00' },
    { what: 'a constant out of range', bytes: '01 03 80 80 80 80 20' },
    { what: 'an empty predicted block', bytes: '10 00 00' },
    { what: 'residuals cut short', bytes: '10 03 0E' },
    { what: 'residuals with a byte after them', bytes: '10 03 0E 80 00' },
    { what: 'a step of 0', bytes: '51 04 00 00 04 E0' },
    { what: 'runs past the end', bytes: '30 02 01 00 05 01 00' },
    { what: 'a run of numbers', bytes: '30 03 01 00 00 90 80 80 80 10 00 80' },
    { what: 'more runs than there are bytes', bytes: '30 05 7F 00 00 01' },
    // Runs, k = 0: a run of 5 where two are left: 0 11001 000001.
    { what: 'a run of zeros past its sub-block', bytes: '10 03 00 64 10' },
  ])('$what is damaged', ({ bytes }) => {
    expect(() => decodeColumn(bytes === '' ? new Uint8Array(0) : hex(bytes))).toThrow(DamagedBlockError);
  });

  test('then any bytes at all are decoded or refused, quickly', () => {
    fc.assert(
      fc.property(fc.uint8Array({ maxLength: 200 }), (bytes) => expectContained(bytes)),
      { numRuns: 2000 },
    );
  });

  test('then blocks with bytes changed or cut off are decoded or refused', () => {
    const random = uniform(4);
    const values = Int32Array.from({ length: 700 }, (_, i) => (i % 50 === 7 ? OPEN : 3000 + 40 * (random() - 0.5)));
    const whole = encodeColumn(values);
    for (let cut = 0; cut < whole.length; cut++) {
      expect(() => decodeColumn(whole.subarray(0, cut))).toThrow(DamagedBlockError);
    }
    const change = fc.array(fc.tuple(fc.nat({ max: whole.length - 1 }), fc.nat({ max: 255 })), {
      minLength: 1,
      maxLength: 4,
    });
    fc.assert(
      fc.property(change, (changes) => {
        const bytes = whole.slice();
        for (const [at, value] of changes) bytes[at] = value;
        expectContained(bytes);
      }),
      { numRuns: 2000 },
    );
  });

  test('then a damaged block leaves no trace in the next', () => {
    const values = Int32Array.from({ length: 300 }, (_, i) => (i * i) % 911);
    const bytes = encodeColumn(values);
    expectContained(bytes.subarray(0, bytes.length - 9));
    expect(decodeColumn(bytes)).toEqual(values);
  });
});
