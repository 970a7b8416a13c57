/** Bars as pixels: where they stand, how their ends are thinned, what is cut off, what shines through. */
import { describe, expect, test } from 'vitest';
import { BarPixels } from '../../renderer/plots/bar-pixels.ts';
import { mulberry32 } from '../support/journal-samples.ts';

const RED = 'rgb(200,16,8)';
const BLUE = 'rgb(0, 40, 240)';

function picture(width = 4, height = 8, ink = RED): BarPixels {
  const pixels = new BarPixels(width, height);
  pixels.clip(0, 0, width, height);
  pixels.ink(ink);
  return pixels;
}

/** [red, green, blue, opacity] of one pixel. */
function at(pixels: BarPixels, x: number, y: number): number[] {
  const from = 4 * (y * pixels.width + x);
  return [...pixels.bytes.subarray(from, from + 4)];
}

function opacities(pixels: BarPixels, x: number): number[] {
  return Array.from({ length: pixels.height }, (_, y) => at(pixels, x, y)[3]!);
}

describe('given an empty picture', () => {
  test('when a bar lies on whole pixels, then those have its ink, and no other', () => {
    const pixels = picture();
    pixels.bar(1, 2, 3, 2);
    for (const x of [1, 2]) expect(opacities(pixels, x)).toEqual([0, 0, 0, 255, 255, 0, 0, 0]);
    for (const x of [0, 3]) expect(opacities(pixels, x)).toEqual([0, 0, 0, 0, 0, 0, 0, 0]);
    expect(at(pixels, 1, 3)).toEqual([200, 16, 8, 255]);
  });

  test('when its ends lie within pixels, then those are as thin as they are covered', () => {
    const pixels = picture();
    pixels.bar(0, 1, 1.75, 2.75);
    expect(opacities(pixels, 0)).toEqual([0, 64, 255, 255, 128, 0, 0, 0]);
    expect(at(pixels, 0, 1)).toEqual([200, 16, 8, 64]);
  });

  test('when it lies within one pixel, then that one is as thin', () => {
    const pixels = picture();
    pixels.bar(0, 1, 2.25, 0.5);
    expect(opacities(pixels, 0)).toEqual([0, 0, 128, 0, 0, 0, 0, 0]);
  });

  test.each([
    ['above', -5, 7, [255, 255, 0, 0, 0, 0, 0, 0]],
    ['below', 6, 100, [0, 0, 0, 0, 0, 0, 255, 255]],
    ['beyond', 8, 3, [0, 0, 0, 0, 0, 0, 0, 0]],
    ['upside down', 4, -2, [0, 0, 0, 0, 0, 0, 0, 0]],
    ['nowhere', Number.NaN, 2, [0, 0, 0, 0, 0, 0, 0, 0]],
  ])('when a bar goes %s, then it is cut there', (_, top, height, expected) => {
    const pixels = picture();
    pixels.bar(-1, 2, top, height);
    expect(opacities(pixels, 0)).toEqual(expected);
    expect(opacities(pixels, 1)).toEqual(new Array(8).fill(0));
    expect(opacities(pixels, 3)).toEqual(new Array(8).fill(0));
  });

  test('when it is cut to a band, then nothing stands outside of it', () => {
    const pixels = picture(6, 8);
    pixels.clip(1.5, 2.5, 3, 3);
    for (let x = -2; x < 8; x++) pixels.bar(x, 1, -3, 30);
    expect(Array.from({ length: 6 }, (_, x) => at(pixels, x, 4)[3])).toEqual([0, 255, 255, 255, 255, 0]);
    expect(opacities(pixels, 2)).toEqual([0, 0, 128, 255, 255, 128, 0, 0]);
  });

  test('when any bar is drawn (seed 11), then opacities add up to its height', () => {
    const random = mulberry32(11);
    for (let i = 0; i < 500; i++) {
      const pixels = picture(1, 40);
      const top = 20 * random();
      const height = 19 * random();
      pixels.bar(0, 1, top, height);
      const sum = opacities(pixels, 0).reduce((total, each) => total + each / 255, 0);
      expect(Math.abs(sum - height)).toBeLessThan(2.1 / 255);
    }
  });
});

describe('given a bar', () => {
  test('when another ink covers it, then the later one is seen, and through its thin end the earlier', () => {
    const pixels = picture(1, 8, RED);
    pixels.bar(0, 1, 0, 6);
    pixels.ink(BLUE);
    pixels.bar(0, 1, 3.5, 2.5);
    expect(at(pixels, 0, 2)).toEqual([200, 16, 8, 255]);
    expect(at(pixels, 0, 3)).toEqual([100, 28, 124, 255]);
    expect(at(pixels, 0, 4)).toEqual([0, 40, 240, 255]);
  });

  test('when two thin ends lie on one pixel, then it is as dense as both together let through', () => {
    const pixels = picture(1, 3);
    pixels.bar(0, 1, 0, 1.5);
    pixels.bar(0, 1, 1.5, 1.5);
    expect(at(pixels, 0, 1)).toEqual([200, 16, 8, 192]);
  });

  test('when cleared, then nothing is left', () => {
    const pixels = picture();
    pixels.bar(0, 4, 0, 8);
    pixels.clear();
    expect(pixels.bytes.every((each) => each === 0)).toBe(true);
  });
});
