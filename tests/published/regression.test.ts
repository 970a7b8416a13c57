/** The streaming slope against the certified value of NIST StRD "Norris". */
import { expect, test } from 'vitest';
import { SlidingSlope } from '../../shared-core/derive/sliding-slope.ts';
import norris from './data/norris.json' with { type: 'json' };

test('given the Norris data as a channel over time, then the slope is the certified B1', () => {
  const rows = (norris.rows as [number, number][]).map(([y, x]) => ({ x, y })).sort((a, b) => a.x - b.x);
  const span = rows.at(-1)!.x - rows[0]!.x;
  const slope = new SlidingSlope({ window_s: 1.1 * span, leastSpan_s: span, mostGap_s: span });
  let last = NaN;
  for (const { x, y } of rows) last = slope.push(x * 1e6, y);
  // Certified to 15 digits.
  expect(last / norris.slope.estimate).toBeCloseTo(1, 11);
});
