/** Which predictor is found for a block, though not all of a long block is judged. */
import { describe, expect, test } from 'vitest';
import { bestPredictor, NARROW, PREDICTORS, residuals } from '../../shared-core/series/predict.ts';
import { riceCapacity } from '../../shared-core/series/rice.ts';
import { encodeRice } from '../../shared-core/series/rice-encoder.ts';
import { mulberry32 } from '../support/journal-samples.ts';

const N = 2000;

function bitsBy(predictor: number, x: Int32Array): number {
  const folded = new Int32Array(x.length);
  residuals(predictor, x, x.length, folded);
  return encodeRice(folded, x.length - 1, new Uint32Array(riceCapacity(x.length)));
}

const random = mulberry32(20_261_125);
const noise = (size: number): number => Math.round(size * (random() + random() + random() - 1.5));
const shapes: readonly (readonly [string, (i: number) => number])[] = [
  ['a level with noise', () => noise(20)],
  ['a level with much noise', () => noise(4000)],
  ['a slow swing with noise', (i) => Math.round(3000 * Math.sin(i / 300)) + noise(12)],
  ['a fast swing', (i) => Math.round(3000 * Math.sin(i / 6))],
  ['a ramp', (i) => 7 * i],
  [
    'a walk',
    (() => {
      let at = 0;
      return () => (at += noise(9));
    })(),
  ],
];

describe('given a long block', () => {
  test.each(shapes)('when it is %s, then the predictor found is within 1 %% of the best', (_, shape) => {
    const x = Int32Array.from({ length: N }, (_, i) => shape(i));
    const base = x[0]!;
    let most = 0;
    for (let i = 0; i < N; i++) {
      x[i] = x[i]! - base;
      most = Math.max(most, Math.abs(x[i]!));
    }
    expect(most).toBeLessThan(NARROW);
    const bits = Array.from({ length: PREDICTORS }, (_, predictor) => bitsBy(predictor, x));
    const found = bestPredictor(x, N, most);
    expect(bits[found], `sizes by predictor: ${bits.join(', ')}`).toBeLessThanOrEqual(1.01 * Math.min(...bits) + 8);
  });

  test('when it ends within a part that is not judged, then it is judged all the same', () => {
    for (const n of [513, 514, 640, 641, 700, 1024, 1025]) {
      const x = Int32Array.from({ length: n }, (_, i) => 5 * i);
      expect(bestPredictor(x, n, 5 * n)).toBe(1);
    }
  });
});
