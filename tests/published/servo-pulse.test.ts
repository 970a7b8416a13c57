/** Demand to pulse against vectors computed by the integer rules of a widely used autopilot. */
import { describe, expect, test } from 'vitest';
import { percentOf, pulseOf_us } from '../../shared-core/calibration/throttle-map.ts';
import published from './data/servo-pulse.json' with { type: 'json' };

type Row = [number, number, boolean, number, number];

describe('given a servo between two ends', () => {
  test.each(published.mapping_vectors.range_0_100.rows as Row[])(
    'from %i to %i µs, reversed %s: %i %% is %i µs',
    (min, max, isReversed, demand, pulse) => {
      const travel = {
        closed_us: isReversed ? max : min,
        open_us: isReversed ? min : max,
        deadZone_us: null,
        hardLow_us: 800,
        hardHigh_us: 2200,
      };
      expect(pulseOf_us(travel, demand)).toBeCloseTo(pulse, 9);
      expect(percentOf(travel, pulse)).toBeCloseTo(Math.min(100, Math.max(0, demand)), 9);
    },
  );
});
