import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import type { DisplayBatch } from '../../shared-core/bridge/contract.ts';
import { mergeBatches } from '../../shared-core/bridge/merge-batch.ts';

function batch(from_us: number, values: readonly number[], overrides: Partial<DisplayBatch> = {}): DisplayBatch {
  return {
    stream: 'live',
    layoutVersion: 1,
    from_us,
    to_us: from_us + 50_000,
    merged: 1,
    min: Float64Array.from(values),
    max: Float64Array.from(values),
    last: Float64Array.from(values),
    quality: new Uint8Array(values.length),
    updated_us: new Float64Array(values.length).fill(from_us),
    arrivedAt_epochMs: 0,
    ...overrides,
  };
}

describe('given two display batches of one layout', () => {
  test('when merged, then the time span covers both and the count says so', () => {
    const merged = mergeBatches(batch(0, [1]), batch(50_000, [2]));
    expect([merged.from_us, merged.to_us, merged.merged]).toEqual([0, 100_000, 2]);
  });

  test('when the older has the peak and the newer the dip, then neither is lost', () => {
    const merged = mergeBatches(batch(0, [7100]), batch(50_000, [1900]));
    expect([merged.min[0], merged.max[0], merged.last[0]]).toEqual([1900, 7100, 1900]);
  });

  test('when a slow channel has no sample in the newer, then its last value stays', () => {
    const newer = batch(50_000, [Number.NaN], { updated_us: Float64Array.from([0]) });
    const merged = mergeBatches(batch(0, [182]), newer);
    expect([merged.min[0], merged.max[0], merged.last[0]]).toEqual([182, 182, 182]);
  });

  test('when any number of batches is merged, then extremes equal those of all samples', () => {
    fc.assert(
      fc.property(
        fc.array(fc.oneof(fc.double({ noNaN: true }), fc.constant(Number.NaN)), { minLength: 1, maxLength: 20 }),
        (samples) => {
          const merged = samples.map((each, i) => batch(i * 50_000, [each])).reduce((a, b) => mergeBatches(a, b));
          const good = samples.filter((each) => !Number.isNaN(each));
          expect(merged.merged).toBe(samples.length);
          if (good.length === 0) expect(merged.max[0]).toBeNaN();
          else {
            // −0 and 0 are the same height on a screen.
            expect(merged.min[0]! + 0).toBe(Math.min(...good) + 0);
            expect(merged.max[0]! + 0).toBe(Math.max(...good) + 0);
          }
        },
      ),
    );
  });
});

test('given two layouts, when merged, then only the newer is left and the count still tells of both', () => {
  const merged = mergeBatches(batch(0, [1, 2]), batch(50_000, [3], { layoutVersion: 2 }));
  expect([merged.layoutVersion, merged.last.length, merged.merged]).toEqual([2, 1, 2]);
});
