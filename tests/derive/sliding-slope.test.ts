import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { SlidingSlope } from '../../shared-core/derive/sliding-slope.ts';

/** Least squares the plain way, over all points. */
function plainSlope(points: readonly { t_us: number; v: number }[]): number {
  const meanT = points.reduce((sum, p) => sum + p.t_us / 1e6, 0) / points.length;
  const meanV = points.reduce((sum, p) => sum + p.v, 0) / points.length;
  let tt = 0;
  let tv = 0;
  for (const p of points) {
    tt += (p.t_us / 1e6 - meanT) ** 2;
    tv += (p.t_us / 1e6 - meanT) * (p.v - meanV);
  }
  return tv / tt;
}

describe('given samples on a straight line', () => {
  test.each([10, 100, 1000])(
    'at %f Hz the slope is that of the line, once the samples span half the window',
    (rate) => {
      const slope = new SlidingSlope({ window_s: 2 });
      for (let i = 0; i <= 10 * rate; i++) {
        const t_us = Math.round((i * 1e6) / rate);
        const is = slope.push(t_us, 20 + (3 * t_us) / 1e6);
        if (t_us < 1e6) expect(is).toBeNaN();
        else expect(is).toBeCloseTo(3, 9);
      }
    },
  );

  test('after 100 hours of session time the slope is as good as at the start', () => {
    const slope = new SlidingSlope({ window_s: 2 });
    const start_us = 100 * 3600 * 1e6;
    let last = NaN;
    // The origin of time is the first sample; go on for an hour from there too.
    for (let i = 0; i <= 36_000; i++) last = slope.push(start_us + i * 1e5, 500 + 0.1 * i);
    expect(last).toBeCloseTo(1, 7);
  });

  test('when the line bends, then after one window only the new slope is left', () => {
    const slope = new SlidingSlope({ window_s: 1 });
    const at = (t_s: number) => (t_s < 5 ? t_s : 5 + 7 * (t_s - 5));
    let last = NaN;
    for (let i = 0; i <= 605; i++) last = slope.push(i * 1e4, at(i / 100));
    expect(last).toBeCloseTo(7, 9);
  });
});

test('given any samples within one window, then the slope is that of plain least squares', () => {
  const samples = fc.array(
    fc.record({ step_us: fc.integer({ min: 1, max: 40_000 }), v: fc.integer({ min: -1e6, max: 1e6 }) }),
    {
      minLength: 3,
      maxLength: 200,
    },
  );
  fc.assert(
    fc.property(samples, (steps) => {
      const slope = new SlidingSlope({ window_s: 10, leastSpan_s: 0 });
      const points: { t_us: number; v: number }[] = [];
      let t_us = 5e6;
      let last = NaN;
      for (const { step_us, v } of steps) {
        t_us += step_us;
        points.push({ t_us, v });
        last = slope.push(t_us, v);
      }
      const plain = plainSlope(points);
      expect(Math.abs(last - plain)).toBeLessThanOrEqual(1e-8 * Math.max(1, Math.abs(plain)));
    }),
  );
});

test('given a noisy line longer than the window, then what counts is between 31/32 and all of the window', () => {
  const slope = new SlidingSlope({ window_s: 3.2, leastSpan_s: 1 });
  const points: { t_us: number; v: number }[] = [];
  let seed = 7;
  for (let i = 0; i < 2000; i++) {
    seed = (Math.imul(seed, 1_664_525) + 1_013_904_223) | 0;
    const p = { t_us: i * 10_000, v: i * 0.02 + seed / 2 ** 31 };
    points.push(p);
    const is = slope.push(p.t_us, p.v);
    if (i < 400) continue;
    // A bin is 0.1 s: the oldest sample that counts begins a bin.
    const bin = Math.floor(p.t_us / 100_000);
    const counted = points.filter((each) => Math.floor(each.t_us / 100_000) > bin - 32);
    expect(is).toBeCloseTo(plainSlope(counted), 8);
  }
});

describe('given gaps and failures', () => {
  function running(): SlidingSlope {
    const slope = new SlidingSlope({ window_s: 2 });
    for (let i = 0; i <= 200; i++) slope.push(i * 1e4, i);
    expect(slope.slope()).toBeCloseTo(100, 9);
    return slope;
  }

  test('when a sensor fails for less than the allowed pause, then the slope stands', () => {
    const slope = running();
    expect(slope.push(2.5e6, NaN)).toBeCloseTo(100, 9);
    expect(slope.push(2.51e6, 251)).toBeCloseTo(100, 9);
  });

  test('when it fails for longer, then there is no slope until the samples span enough again', () => {
    const slope = running();
    expect(slope.push(3.0e6, NaN)).toBeCloseTo(100, 9);
    expect(slope.push(3.000001e6, NaN)).toBeNaN();
    expect(slope.push(3.1e6, 0)).toBeNaN();
    expect(slope.push(4.0e6, 45)).toBeNaN();
    expect(slope.push(4.1e6, 50)).toBeCloseTo(50, 9);
  });

  test('when no sample comes for longer, then the one after begins anew', () => {
    const slope = running();
    expect(slope.push(3.2e6, 1e6)).toBeNaN();
  });

  test('when time goes back, then it begins anew', () => {
    const slope = running();
    expect(slope.push(0, 0)).toBeNaN();
    expect(slope.push(0.9e6, 9)).toBeNaN();
    expect(slope.push(1e6, 10)).toBeCloseTo(10, 9);
  });

  test('when it is reset, then it knows nothing', () => {
    const slope = running();
    slope.reset();
    expect(slope.slope()).toBeNaN();
  });

  test('when all samples have the same time, then there is no slope', () => {
    const slope = new SlidingSlope({ window_s: 2, leastSpan_s: 0 });
    for (let i = 0; i < 5; i++) expect(slope.push(1000, i)).toBeNaN();
  });
});

test('given a window that is not above 0, then it throws', () => {
  for (const window_s of [0, -1, NaN]) expect(() => new SlidingSlope({ window_s })).toThrow(RangeError);
});

test('given the same samples twice, then every slope is the same bit for bit', () => {
  const one = new SlidingSlope({ window_s: 1 });
  const two = new SlidingSlope({ window_s: 1 });
  for (let i = 0; i < 3000; i++) {
    const v = Math.sin(i * 0.7) * 1e5;
    expect(Object.is(one.push(i * 3333, v), two.push(i * 3333, v))).toBe(true);
  }
});
