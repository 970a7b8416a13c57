import { describe, expect, test } from 'vitest';
import { DisplayRing } from '../../renderer/app/display-ring.ts';
import type { DisplayBatch, SeriesView } from '../../shared-core/bridge/contract.ts';

function step(from_us: number, to_us: number, ...values: number[]): DisplayBatch {
  return {
    stream: 'live',
    layoutVersion: 1,
    from_us,
    to_us,
    merged: 1,
    min: Float64Array.from(values, (v) => v - 1),
    max: Float64Array.from(values, (v) => v + 1),
    last: Float64Array.from(values),
    quality: new Uint8Array(values.length),
    updated_us: new Float64Array(values.length).fill(to_us),
    arrivedAt_epochMs: 0,
  };
}

describe('given a ring of three steps', () => {
  test('when four steps come, then the oldest has made room and the order is kept', () => {
    const ring = new DisplayRing(1, 3);
    for (let i = 0; i < 4; i++) ring.push(step(i * 10, i * 10 + 10, i));
    expect(ring.count).toBe(3);
    expect([0, 1, 2].map((i) => ring.last[0]?.[ring.at(i)])).toEqual([1, 2, 3]);
    expect(ring.oldest_us).toBe(10);
    expect(ring.newest_us).toBe(40);
  });

  test('when a step ends before the newest one, then time went back and the ring begins anew', () => {
    const ring = new DisplayRing(1, 3);
    ring.push(step(100, 110, 1));
    expect(ring.push(step(50, 60, 2))).toBe(true);
    expect(ring.count).toBe(1);
    expect(ring.newest_us).toBe(60);
  });

  test('when a step ends exactly with the newest, then nothing is lost', () => {
    const ring = new DisplayRing(1, 3);
    ring.push(step(100, 110, 1));
    expect(ring.push(step(105, 110, 2))).toBe(false);
    expect(ring.count).toBe(2);
  });

  test.each([
    { t_us: 9, index: 0 },
    { t_us: 10, index: 1 },
    { t_us: 29, index: 2 },
    { t_us: 30, index: 3 },
  ])('when the first step that ends after $t_us is sought, then it is number $index', ({ t_us, index }) => {
    const ring = new DisplayRing(1, 3);
    for (let i = 0; i < 3; i++) ring.push(step(i * 10, i * 10 + 10, i));
    expect(ring.firstAfter(t_us)).toBe(index);
  });

  test('when it is empty, then its ends are NaN, not zero', () => {
    const ring = new DisplayRing(1, 3);
    expect(ring.oldest_us).toBeNaN();
    expect(ring.newest_us).toBeNaN();
  });
});

describe('given older columns from the recording', () => {
  const view: SeriesView = {
    channel: 'rpm',
    from_us: 0,
    to_us: 50,
    t_us: Float64Array.of(0, 10, 20, 30, 40),
    min: Float64Array.of(1, 2, NaN, 4, 5),
    max: Float64Array.of(3, 4, NaN, 6, 7),
  };

  test('when the ring already holds steps from 35 on, then only the columns before it are taken, in order', () => {
    const ring = new DisplayRing(2, 10);
    ring.push(step(35, 45, 9, 9));
    expect(ring.backfill([{ ordinal: 0, view }])).toBe(3);
    expect(Array.from({ length: ring.count }, (_, i) => ring.from_us[ring.at(i)])).toEqual([0, 10, 20, 35]);
    expect(ring.min[0]?.[ring.at(0)]).toBe(1);
    expect(ring.max[0]?.[ring.at(1)]).toBe(4);
    expect(ring.min[0]?.[ring.at(2)]).toBeNaN();
    // The other channel was not asked for: it has nothing there, and not a zero.
    expect(ring.min[1]?.[ring.at(0)]).toBeNaN();
  });

  test('when the ring has room for two, then the newest two are taken', () => {
    const ring = new DisplayRing(1, 3);
    ring.push(step(50, 60, 9));
    expect(ring.backfill([{ ordinal: 0, view }])).toBe(2);
    expect(ring.oldest_us).toBe(30);
    ring.push(step(60, 70, 10));
    expect(ring.count).toBe(3);
    expect(ring.oldest_us).toBe(40);
  });

  test('when a series is coarser than the others, then each column gets of it what lies at its time', () => {
    const ring = new DisplayRing(2, 10);
    const coarse = {
      ...{ channel: view.channel, from_us: view.from_us, to_us: view.to_us },
      t_us: Float64Array.from([0, 20]),
      min: Float64Array.from([100, 200]),
      max: Float64Array.from([110, 210]),
    };
    // In either order: derived channels may come first.
    expect(
      ring.backfill([
        { ordinal: 1, view: coarse },
        { ordinal: 0, view },
      ]),
    ).toBe(view.t_us.length);
    const lowest = Array.from({ length: ring.count }, (_, i) => [ring.from_us[ring.at(i)], ring.min[1]?.[ring.at(i)]]);
    expect(lowest.slice(0, 4)).toEqual([
      [0, 100],
      [10, 100],
      [20, 200],
      [30, 200],
    ]);
  });
});
