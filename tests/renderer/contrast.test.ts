/**
 * Contrast of the tokens, from the style sheet itself. OKLCH to sRGB after
 * Ottosson, "A perceptual color space for image processing" (2020); contrast
 * ratio after WCAG 2.2, definition of relative luminance.
 */
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';

const css = readFileSync(join(import.meta.dirname, '../../renderer/app/tokens.css'), 'utf8');

function tokens(theme: 'day' | 'cell'): ReadonlyMap<string, readonly [number, number, number]> {
  const block = new RegExp(`data-theme="${theme}"\\]\\s*\\{([^}]*)\\}`).exec(css)?.[1] ?? '';
  const found = new Map<string, readonly [number, number, number]>();
  for (const [, name, l, c, h] of block.matchAll(/--([\w-]+):\s*oklch\(([\d.]+) ([\d.]+) ([\d.]+)\)/g)) {
    if (name) found.set(name, [Number(l), Number(c), Number(h)]);
  }
  return found;
}

function luminance([L, C, h]: readonly [number, number, number]): number {
  const a = C * Math.cos((h * Math.PI) / 180);
  const b = C * Math.sin((h * Math.PI) / 180);
  const l = (L + 0.3963377774 * a + 0.2158037573 * b) ** 3;
  const m = (L - 0.1055613458 * a - 0.0638541728 * b) ** 3;
  const s = (L - 0.0894841775 * a - 1.291485548 * b) ** 3;
  const clip = (x: number) => Math.min(1, Math.max(0, x));
  const red = clip(4.0767416621 * l - 3.3077115913 * m + 0.2309699292 * s);
  const green = clip(-1.2684380046 * l + 2.6097574011 * m - 0.3413193965 * s);
  const blue = clip(-0.0041960863 * l - 0.7034186147 * m + 1.707614701 * s);
  return 0.2126 * red + 0.7152 * green + 0.0722 * blue;
}

function contrast(theme: 'day' | 'cell', front: string, ground: string): number {
  const all = tokens(theme);
  const f = all.get(front);
  const g = all.get(ground);
  if (!f || !g) throw new Error(`no token ${f ? ground : front} in ${theme}`);
  const [high, low] = [luminance(f), luminance(g)].sort((x, y) => y - x) as [number, number];
  return (high + 0.05) / (low + 0.05);
}

test('given black and white, when contrast is computed, then it is the 21:1 of WCAG', () => {
  expect((luminance([1, 0, 0]) + 0.05) / (luminance([0, 0, 0]) + 0.05)).toBeCloseTo(21, 1);
});

describe.each(['day', 'cell'] as const)('given the %s theme', (theme) => {
  test.each([
    ['ink', 'ground', 7],
    ['ink', 'paper', 7],
    ['ink-2', 'ground', 4.5],
    ['ink-2', 'paper', 4.5],
    ['ink-2', 'ground-2', 4.5],
    ['ink-3', 'ground', 4.5],
    ['on-accent', 'accent', 4.5],
    // Alarm text: 7:1.
    ['on-abort', 'abort-ground', 7],
    ['on-abort', 'abort-inset', 7],
    ['on-level', 'warning', 7],
    ['on-level', 'caution', 7],
    // Marks, ticks and lines are not text: 3:1.
    ['notice', 'ground', 3],
    ['caution-line', 'ground', 3],
    ['warning-line', 'ground', 3],
    ['abort', 'ground', 3],
    ['accent', 'ground', 3],
    ['line-1', 'ground', 3],
    ['line-2', 'ground', 3],
    ['line-3', 'ground', 3],
    ['line-4', 'ground', 3],
    ['line-5', 'ground', 3],
    ['line-6', 'ground', 3],
  ] as const)('when %s stands on %s, then the contrast is at least %s to 1', (front, ground, least) => {
    expect(contrast(theme, front, ground)).toBeGreaterThanOrEqual(least);
  });
});
