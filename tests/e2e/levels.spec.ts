/**
 * Levels are told apart without colour: the marks as the page draws them, seen
 * through the eyes of protanopia, deuteranopia, tritanopia and in grey. Each
 * pair must differ in shape (which pixels are drawn at all), not in hue, and
 * each must stand out from its ground.
 *
 * Matrices: Machado, Oliveira, Fernandes, "A Physiologically-based Model for
 * Simulation of Color Vision Deficiency", IEEE TVCG 15 (2009), severity 1.0,
 * on linear RGB. Grey: luma of Rec. 709.
 */
import { expect, type Page, test } from '@playwright/test';
import { type RunningApp, startApp } from './support/app.ts';
import { openPlace } from './support/places.ts';

const levels = ['notice', 'caution', 'warning', 'abort'] as const;

const sights = {
  protanopia: '0.152286 1.052583 -0.204868 0 0  0.114503 0.786281 0.099216 0 0  -0.003882 -0.048116 1.051998 0 0',
  deuteranopia: '0.367322 0.860646 -0.227968 0 0  0.280085 0.672501 0.047413 0 0  -0.011820 0.042940 0.968881 0 0',
  tritanopia: '1.255528 -0.076749 -0.178779 0 0  -0.078411 0.930809 0.147602 0 0  0.004733 0.691367 0.303900 0 0',
  grey: '0.2126 0.7152 0.0722 0 0  0.2126 0.7152 0.0722 0 0  0.2126 0.7152 0.0722 0 0',
} as const;

let app: RunningApp;
test.beforeAll(async () => {
  app = await startApp({ scenario: 'standing' });
});
test.afterAll(() => app.stop());

/** Luminance of each pixel of each mark, and of the ground, as painted through the filter. */
interface Seen {
  readonly ground: number;
  /** Largest difference between red, green and blue of any pixel, 0 to 255: 0 in grey. */
  readonly colour: number;
  /** 0 to 1, row by row; marks in the order of the levels. */
  readonly marks: readonly (readonly number[])[];
}

/** The page's own marks, from the limits of the rig sheet, enlarged, filtered, photographed, and read back. */
async function seen(page: Page, matrix: string): Promise<Seen> {
  await page.evaluate(
    ([values, names]) => {
      document.getElementById('levels-stage')?.remove();
      const stage = document.createElement('div');
      stage.id = 'levels-stage';
      const filter = `<svg width="0" height="0" aria-hidden="true"><filter id="sight" color-interpolation-filters="linearRGB"><feColorMatrix type="matrix" values="${values} 0 0 0 1 0"/></filter></svg>`;
      stage.innerHTML = filter;
      stage.style.cssText =
        'position:fixed;inset:0 auto auto 0;width:320px;height:80px;z-index:99;background:var(--ground);filter:url(#sight);display:flex';
      for (const name of names as readonly string[]) {
        const found = document.querySelector(`.level-mark[data-level="${name}"] svg`);
        if (found === null) throw new Error(`the page draws no mark of level ${name}`);
        const mark = found.cloneNode(true) as SVGElement;
        mark.setAttribute('class', '');
        mark.setAttribute('width', '64');
        mark.setAttribute('height', '64');
        mark.style.margin = '8px';
        mark.style.flex = 'none';
        stage.append(mark);
      }
      document.body.append(stage);
    },
    [matrix, levels] as const,
  );
  const picture = await page.locator('#levels-stage').screenshot();
  return await page.evaluate(
    async ([base64, count]) => {
      const bytes = Uint8Array.from(atob(base64 as string), (each) => each.charCodeAt(0));
      const bitmap = await createImageBitmap(new Blob([bytes], { type: 'image/png' }));
      const canvas = new OffscreenCanvas(bitmap.width, bitmap.height);
      const context = canvas.getContext('2d');
      if (context === null) throw new Error('no canvas');
      context.drawImage(bitmap, 0, 0);
      const linear = (v: number): number => (v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4);
      const read = (x: number, y: number, size: number): number[] => {
        const { data } = context.getImageData(x, y, size, size);
        const found: number[] = [];
        for (let i = 0; i < data.length; i += 4) {
          const [r, g, b] = [data[i]!, data[i + 1]!, data[i + 2]!].map((each) => linear(each / 255)) as [
            number,
            number,
            number,
          ];
          found.push(0.2126 * r + 0.7152 * g + 0.0722 * b);
        }
        return found;
      };
      const all = context.getImageData(0, 0, bitmap.width, bitmap.height).data;
      let colour = 0;
      for (let i = 0; i < all.length; i += 4) {
        const rgb = [all[i]!, all[i + 1]!, all[i + 2]!];
        colour = Math.max(colour, Math.max(...rgb) - Math.min(...rgb));
      }
      const marks = Array.from({ length: count as number }, (_, i) => read(i * 80 + 8, 8, 64));
      return { ground: read(1, 1, 1)[0]!, marks, colour };
    },
    [picture.toString('base64'), levels.length] as const,
  );
}

/** WCAG's ratio of two luminances. */
function ratio(a: number, b: number): number {
  return (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
}

/** A pixel that stands out from the ground by 3:1, as WCAG asks of graphics (1.4.11). */
function drawn(mark: readonly number[], ground: number): boolean[] {
  return mark.map((luminance) => ratio(luminance, ground) >= 3);
}

for (const theme of ['day', 'cell'] as const) {
  test(`given the ${theme} theme, when the marks are seen without colour, then shape and letter still tell every pair apart`, async ({
    page,
  }) => {
    await page.addInitScript(
      (t) => localStorage.setItem('runstand.settings', JSON.stringify({ noticeRead: '1', theme: t })),
      theme,
    );
    await openPlace(page, app, 'rig');
    await page.getByTestId('tab-limits').click();
    await expect(page.getByTestId('limit-table')).toBeVisible();
    for (const [sight, matrix] of Object.entries(sights)) {
      const { ground, marks, colour } = await seen(page, matrix);
      // The picture was really taken through the filter.
      if (sight === 'grey') expect(colour).toBeLessThanOrEqual(1);
      else expect(colour).toBeGreaterThan(40);
      const shapes = marks.map((mark) => drawn(mark, ground));
      shapes.forEach((shape, i) => {
        const share = shape.filter(Boolean).length / shape.length;
        expect(share, `${levels[i]} stands out from its ground (${sight})`).toBeGreaterThan(0.04);
      });
      for (let a = 0; a < levels.length; a++) {
        for (let b = a + 1; b < levels.length; b++) {
          const differing = shapes[a]!.filter((each, i) => each !== shapes[b]![i]).length / shapes[a]!.length;
          expect(differing, `${levels[a]} and ${levels[b]} differ in what is drawn (${sight})`).toBeGreaterThan(0.2);
        }
      }
    }
  });
}

test('given the marks, when they are read aloud, then each says its level, and a letter stands in it', async ({
  page,
}) => {
  await openPlace(page, app, 'rig');
  await page.getByTestId('tab-limits').click();
  await expect(page.getByTestId('limit-table')).toBeVisible();
  for (const [level, letter, word] of [
    ['notice', 'N', 'Notice'],
    ['caution', 'C', 'Caution'],
    ['warning', 'W', 'Warning'],
    ['abort', 'A', 'Abort'],
  ] as const) {
    const mark = page.locator(`.level-mark[data-level="${level}"] svg`).first();
    await expect(mark).toHaveAttribute('aria-label', word);
    await expect(mark).toHaveText(letter);
  }
});

test('given a caution that comes just after an abort, when their flags meet on the axis of time, then the abort is in front', async ({
  page,
}) => {
  const overspeed = await startApp({ scenario: 'overspeed', speed: 5 });
  try {
    await openPlace(page, overspeed, 'run');
    await expect(page.getByTestId('abort-band')).toBeVisible({ timeout: 30_000 });
    await page.getByTestId('place-train').click();
    await page.getByTestId('train-free').click();
    await page.getByTestId('toggle-egt-short').click();
    await page.getByTestId('place-run').click();
    // So far away that a few seconds are no way apart.
    await page.getByRole('button', { name: '30 min', exact: true }).click();
    const board = page.getByTestId('board-live');
    const [abort, caution] = ['abort', 'caution'].map((level) =>
      board.locator(`.trend-flag[data-level="${level}"] button`).last(),
    );
    await expect(caution!).toBeVisible();
    const boxes = [await abort!.boundingBox(), await caution!.boundingBox()];
    expect(boxes[1]!.x - boxes[0]!.x).toBeLessThan(boxes[0]!.width / 2);
    const level = await abort!.evaluate((button) => {
      const { left, top, width, height } = button.getBoundingClientRect();
      const front = document.elementFromPoint(left + width / 2, top + height / 2);
      return front?.closest<HTMLElement>('.trend-flag')?.dataset.level;
    });
    expect(level).toBe('abort');
  } finally {
    await overspeed.stop();
  }
});
