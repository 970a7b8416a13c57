/** Normal gravity against WGS 84 values of another implementation. */
import { expect, test } from 'vitest';
import { normalGravity_mPers2 } from '../../shared-core/derive/gravity.ts';
import { STANDARD_GRAVITY_mPers2 } from '../../shared-core/units/factors.ts';
import published from './data/gravity.json' with { type: 'json' };

test.each(published.wgs84.rows as [number, number][])('at latitude %f gravity is %f m/s²', (latitude, g) => {
  expect(normalGravity_mPers2(latitude, 0)).toBeCloseTo(g, 9);
  expect(normalGravity_mPers2(-latitude, 0)).toBeCloseTo(g, 9);
});

test('given 1000 m of height, then gravity is less by the free-air gradient', () => {
  const less = normalGravity_mPers2(45, 1000) - normalGravity_mPers2(45, 0);
  expect(less).toBeCloseTo(1000 * published.free_air_gradient.value, 9);
  // The conventional value is near that of 45° at sea level.
  expect(Math.abs(normalGravity_mPers2(45, 0) - STANDARD_GRAVITY_mPers2)).toBeLessThan(1e-3);
});
