import { describe, expect, test } from 'vitest';
import { PointWindow } from '../../shared-core/program/points.ts';

const s = 1_000_000;

/** NIST StRD, univariate summary statistics, NumAcc3: 1000000.2, then 1000000.1 and 1000000.3 in turn, 1001 values. */
const numAcc3 = {
  values: Array.from({ length: 1001 }, (_, i) => (i === 0 ? 1_000_000.2 : i % 2 === 1 ? 1_000_000.1 : 1_000_000.3)),
  mean: 1_000_000.2,
  sd: 0.1,
};

describe('given samples at 1 kHz', () => {
  test('when NIST NumAcc3 is captured, then mean and deviation are the certified ones', () => {
    const window = new PointWindow(['a']);
    numAcc3.values.forEach((value, i) => {
      window.moveTo(i * 1000);
      window.add(0, value);
    });
    const point = window.capture('p', s);
    expect(point.samples).toBe(1001);
    expect(point.means.a?.mean).toBeCloseTo(numAcc3.mean, 8);
    expect(point.means.a?.sd).toBeCloseTo(numAcc3.sd, 8);
  });
  test('when more than 5 s have passed, then only the last 5 s count', () => {
    const window = new PointWindow(['a']);
    for (let t_us = 0; t_us <= 20 * s; t_us += 1000) {
      window.moveTo(t_us);
      window.add(0, t_us < 15 * s ? 1000 : 10);
    }
    const point = window.capture('p', 20 * s);
    expect(point.means.a).toEqual({ mean: 10, sd: 0 });
    expect(point).toMatchObject({ from_us: 15.1 * s, to_us: 20 * s, samples: 4901 });
  });
});

describe('given channels that are not good throughout', () => {
  test('when one sample of the window was NaN, then that channel has no mean, the others have', () => {
    const window = new PointWindow(['a', 'b', 'c']);
    for (let i = 0; i < 100; i++) {
      window.moveTo(i * 10_000);
      window.add(0, i === 50 ? NaN : 1);
      window.add(1, 2);
    }
    expect(window.capture('p', s).means).toEqual({ a: null, b: { mean: 2, sd: 0 }, c: null });
  });
  test('when the bad sample has left the window, then it is forgotten', () => {
    const window = new PointWindow(['a']);
    for (let t_us = 0; t_us <= 6 * s; t_us += 10_000) {
      window.moveTo(t_us);
      window.add(0, t_us === 0 ? NaN : 7);
    }
    expect(window.capture('p', 6 * s).means.a).toEqual({ mean: 7, sd: 0 });
  });
  test('when only one sample came, then there is no deviation and so no mean', () => {
    const window = new PointWindow(['a']);
    window.moveTo(0);
    window.add(0, 7);
    expect(window.capture('p', s).means.a).toBeNull();
  });
  test('when nothing came for longer than the window, then nothing is left', () => {
    const window = new PointWindow(['a']);
    for (let i = 0; i < 100; i++) {
      window.moveTo(i * 10_000);
      window.add(0, 1);
    }
    expect(window.capture('p', 10 * s)).toMatchObject({ samples: 0, means: { a: null } });
    expect(new PointWindow(['a']).capture('p', s)).toMatchObject({ samples: 0, from_us: s, to_us: s });
  });
  test('when time jumps by many windows, then old buckets do not come back', () => {
    const window = new PointWindow(['a']);
    window.moveTo(0);
    window.add(0, 1000);
    window.moveTo(1000 * s);
    window.add(0, 5);
    window.add(0, 7);
    expect(window.capture('p', 1000 * s).means.a?.mean).toBe(6);
  });
});

describe('the calm mean', () => {
  test('given full buckets, then it is their mean without the bucket that is filling', () => {
    const window = new PointWindow(['a']);
    for (let t_us = 0; t_us < 2 * s; t_us += 10_000) {
      window.moveTo(t_us);
      window.add(0, Math.floor(t_us / 100_000));
    }
    window.moveTo(2 * s);
    window.add(0, 1e6);
    expect(window.mean(0, 10)).toBeCloseTo(14.5, 12);
  });
  test('given a bad sample in them, or none at all, then NaN', () => {
    const window = new PointWindow(['a', 'b']);
    window.moveTo(0);
    window.add(0, 1);
    window.add(0, NaN);
    window.moveTo(100_000);
    expect(window.mean(0, 10)).toBeNaN();
    expect(window.mean(1, 10)).toBeNaN();
  });
});
