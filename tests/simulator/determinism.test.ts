/** The same seed gives the same bytes, however time is cut. */
import { createHash } from 'node:crypto';
import { describe, expect, test } from 'vitest';
import { SimulatedBench } from '../../simulator/simulated-bench.ts';

/** 20 s at half throttle, the line noisy from 10 s on. */
function digest(cuts_s: readonly number[], seed = 11): string {
  const bench = new SimulatedBench({ seed, scenario: 'noisy-line' });
  const hash = createHash('sha256');
  let left_s = 20;
  for (let i = 0; left_s > 1e-9; i++) {
    const dt_s = Math.min(cuts_s[i % cuts_s.length] ?? 1, left_s);
    left_s -= dt_s;
    bench.advance(dt_s);
    hash.update(bench.takeBytes());
  }
  return hash.digest('hex');
}

describe('given seed 11 and a noisy line', () => {
  const whole = digest([2]);

  test.each([
    { name: '1 ms', cuts: [0.001] },
    { name: '20 ms', cuts: [0.02] },
    { name: 'halves of a millisecond', cuts: [0.0005] },
    { name: 'uneven pieces', cuts: [0.0137, 0.2, 0.0003, 0.25, 0.5363, 1 - 0.0003] },
  ])('when 20 s pass in $name, then the bytes are the same', ({ cuts }) => {
    expect(digest(cuts)).toBe(whole);
  });

  test('when it runs again, then the bytes are the same; another seed gives others', () => {
    expect(digest([2])).toBe(whole);
    expect(digest([2], 12)).not.toBe(whole);
  });

  test('when frames of a sixtieth of a second pass for 10 s, then 10 s have passed', () => {
    const bench = new SimulatedBench({ seed: 11, scenario: 'standing' });
    for (let i = 0; i < 600; i++) bench.advance(1 / 60);
    expect(bench.time_s).toBe(10);
  });
});

test('given a fault on the line, when it is cleared, then the stand itself ran as if it had never been', () => {
  const quiet = new SimulatedBench({ seed: 3, scenario: 'warm-idle' });
  const noisy = new SimulatedBench({ seed: 3, scenario: 'warm-idle' });
  noisy.inject('line-noise', { rate: 0.001 });
  for (const bench of [quiet, noisy]) bench.advance(5);
  noisy.clear('line-noise');
  expect(quiet.takeBytes()).not.toEqual(noisy.takeBytes());
  for (const bench of [quiet, noisy]) bench.advance(5);
  expect(noisy.takeBytes()).toEqual(quiet.takeBytes());
  expect(noisy.truth).toEqual(quiet.truth);
});

test.each([-1, Number.NaN])('when %d s are to pass, then it throws', (dt_s) => {
  expect(() => new SimulatedBench({ seed: 1, scenario: 'standing' }).advance(dt_s)).toThrow(RangeError);
});

test.each([{ fast_Hz: 0 }, { fast_Hz: 1001 }, { slow_Hz: Number.NaN }])('given rates %o, then it throws', (rates) => {
  expect(() => new SimulatedBench({ seed: 1, scenario: 'standing', ...rates })).toThrow(RangeError);
});
