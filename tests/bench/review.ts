/**
 * A long recording in Review, over the browser door in headless Chromium: how
 * long it takes from the click in the list until the board and its trends stand
 * on the screen, and how long single frames take while the scrub bar is dragged
 * over the whole session. The same for a session of one hour beside it.
 *
 * `npm run bench -- review [--hours 100] [--rounds 5] [--folder DIR]`
 *
 * The long session is written by the real pipeline and recorder
 * (`_long-session.ts`; four seconds for each hour) and kept in the folder for
 * the next time. Goals, median of the rounds: opening below 1 s, no frame above
 * 100 ms. A frame is the time between two animation frames of the page.
 *
 * Beside it stands what scripts of the page took within one frame: the rest is
 * painting without a graphics card, and waiting for a processor that others use.
 *
 * opened: values stand on the board, its trends are drawn, two frames on.
 * whole: "Trends and events" is chosen until the whole session is drawn.
 * seek: a click on the bar at a random place until the value of that moment and
 * the trend before it are drawn.
 */
import { existsSync, mkdirSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { loadavg, tmpdir } from 'node:os';
import { join } from 'node:path';
import { chromium, type Page } from '@playwright/test';
import { bundle } from '../../build/bundle.ts';
import { SCHEMA_VERSION } from '../../electron/host/store/schema.ts';
import { FOLD_VERSION } from '../../shared-core/pipeline/fold-memory.ts';
import { type RunningApp, startApp } from '../e2e/support/app.ts';
import { chromiumArguments, findChromium } from '../e2e/support/chromium.ts';
import { writeLongSession } from './_long-session.ts';
import { argument, machine, median, round, table } from './_measure.ts';
import { noise } from './pipeline.ts';

const GOAL_OPEN_MS = 1000;
const GOAL_FRAME_MS = 100;
const DRAG_STEPS = 240;
const SEEKS = 6;
/** Segments in one frame that are a trend. At its opening a replay stands two seconds behind the beginning. */
const TREND_SEGMENTS = 20;

interface Round {
  readonly open_ms: number;
  readonly whole_ms: number;
  readonly worstFrame_ms: number;
  readonly p99Frame_ms: number;
  /** Most that scripts of the page took within one of the long frames. */
  readonly worstScripts_ms: number;
  readonly seek_ms: number;
  readonly worstSeek_ms: number;
}

declare global {
  interface Window {
    reviewBench: {
      segments: number;
      drawnAt_ms: number;
      frames_ms: number[];
      scripts_ms: number[];
      isCounting: boolean;
    };
  }
}

export async function run(args: readonly string[]): Promise<Record<string, unknown>> {
  const hours = argument(args, 'hours', 100);
  const rounds = argument(args, 'rounds', 5);
  const at = args.indexOf('--folder');
  const folder = (at >= 0 ? args[at + 1] : undefined) ?? join(tmpdir(), `runstand-review-${hours}h`);
  prepare(folder, hours);
  await bundle(['page'], false);
  const app = await startApp({ noSource: true, dataFolder: folder });
  const browser = await chromium.launch({ executablePath: findChromium() ?? undefined, args: [...chromiumArguments] });
  try {
    const random = noise(20_261_125);
    const results = new Map<string, Round[]>([
      [idOf(1), []],
      [idOf(hours), []],
    ]);
    for (let i = 0; i < rounds; i++) {
      // In turns, so that a busy machine is busy for both.
      for (const [id, found] of results) {
        const page = await browser.newPage({ viewport: { width: 1280, height: 800 } });
        found.push(await oneRound(page, app, id, random));
        await page.close();
      }
    }
    const summary = (id: string) => {
      const found = results.get(id)!;
      const of = (key: keyof Round) => round(median(found.map((each) => each[key])), 0);
      return {
        open_ms: of('open_ms'),
        whole_ms: of('whole_ms'),
        worstFrame_ms: of('worstFrame_ms'),
        p99Frame_ms: of('p99Frame_ms'),
        worstScripts_ms: of('worstScripts_ms'),
        seek_ms: of('seek_ms'),
        worstSeek_ms: of('worstSeek_ms'),
      };
    };
    const one = summary(idOf(1));
    const long = summary(idOf(hours));
    console.log(`${machine()}; Chromium ${browser.version()} without a screen; load ${round(loadavg()[0]!, 1)}`);
    console.log(
      table([
        [`median of ${rounds} rounds, ms`, '1 h', `${hours} h`, 'goal'],
        ['opened: board and trends on screen', one.open_ms, long.open_ms, GOAL_OPEN_MS],
        ['drag over the whole bar: worst frame', one.worstFrame_ms, long.worstFrame_ms, GOAL_FRAME_MS],
        ['the same: p99 of frames', one.p99Frame_ms, long.p99Frame_ms, ''],
        ['the same: most script within one frame', one.worstScripts_ms, long.worstScripts_ms, ''],
        ['the whole session as trends', one.whole_ms, long.whole_ms, ''],
        ['seek to a random place, board and trends', one.seek_ms, long.seek_ms, ''],
        [`the same: worst of ${SEEKS}`, one.worstSeek_ms, long.worstSeek_ms, ''],
      ]),
    );
    return {
      hours,
      open_ms: long.open_ms,
      worstFrame_ms: long.worstFrame_ms,
      isMet: long.open_ms < GOAL_OPEN_MS && long.worstFrame_ms <= GOAL_FRAME_MS,
      openTimesOneHour: round(long.open_ms / one.open_ms, 2),
      oneHour: one,
      long,
    };
  } finally {
    await browser.close();
    await app.stop();
  }
}

function idOf(hours: number): string {
  return `hours-${hours}`;
}

/** Written once; what another version of the store or the fold wrote is written anew. */
function prepare(folder: string, hours: number): void {
  const mark = join(folder, `made-by-${SCHEMA_VERSION}-${FOLD_VERSION}`);
  if (existsSync(mark)) return;
  rmSync(folder, { recursive: true, force: true });
  mkdirSync(folder, { recursive: true });
  for (const each of [hours, 1]) {
    const took_s = writeLongSession(folder, idOf(each), each);
    const MB = statSync(join(folder, 'runstand.sqlite')).size / 1e6;
    console.log(`${each} h written in ${round(took_s, 0)} s; the file has ${round(MB, 0)} MB.`);
  }
  writeFileSync(mark, '');
}

async function oneRound(page: Page, app: RunningApp, id: string, random: () => number): Promise<Round> {
  await page.addInitScript(watch, TREND_SEGMENTS);
  await page.goto(app.url);
  await page.getByTestId('health').waitFor();
  await page.getByTestId('place-review').click();
  await page.getByTestId(`review-open-${id}`).waitFor();
  const open_ms = await timed(page, 'open', `[data-testid="review-open-${id}"]`, null);
  const worst = await drag(page);
  const seeks_ms: number[] = [];
  for (let i = 0; i < SEEKS; i++)
    seeks_ms.push(await timed(page, 'seek', '[data-testid="scrub"]', 0.02 + 0.96 * random()));
  const whole_ms = await timed(page, 'open', '[data-testid="tab-measure"]', null);
  return { open_ms, whole_ms, ...worst, seek_ms: median(seeks_ms), worstSeek_ms: Math.max(...seeks_ms) };
}

/** In the page: counts what each frame draws of lines, and the time between frames. */
function watch(trendSegments: number): void {
  localStorage.setItem('runstand.settings', JSON.stringify({ noticeRead: '1' }));
  const bench = {
    ...{ segments: 0, drawnAt_ms: 0, isCounting: false },
    ...{ frames_ms: [] as number[], scripts_ms: [] as number[] },
  };
  window.reviewBench = bench;
  new PerformanceObserver((list) => {
    for (const entry of list.getEntries() as (PerformanceEntry & { scripts: readonly { duration: number }[] })[]) {
      if (bench.isCounting) bench.scripts_ms.push(entry.scripts.reduce((sum, each) => sum + each.duration, 0));
    }
  }).observe({ type: 'long-animation-frame' });
  // The lines lie on the second of a plot's two canvases; the first has the axes.
  const known = new WeakMap<HTMLCanvasElement, boolean>();
  const isOfLines = (canvas: HTMLCanvasElement): boolean => {
    const found = known.get(canvas);
    if (found !== undefined) return found;
    const isSecond = canvas.closest('.trend-canvas')?.previousElementSibling?.matches('.trend-canvas') ?? false;
    if (canvas.isConnected) known.set(canvas, isSecond);
    return isSecond;
  };
  // Strokes go into paths, bars into one picture: of that, as many pixels are counted as are asked for.
  const { lineTo } = Path2D.prototype;
  Path2D.prototype.lineTo = function (x, y) {
    bench.segments++;
    lineTo.call(this, x, y);
  };
  const { putImageData } = CanvasRenderingContext2D.prototype;
  CanvasRenderingContext2D.prototype.putImageData = function (
    this: CanvasRenderingContext2D,
    picture: ImageData,
    ...place: number[]
  ) {
    if (isOfLines(this.canvas)) {
      const words = new Uint32Array(picture.data.buffer);
      for (let i = 0, seen = 0; i < words.length && seen < trendSegments; i++) {
        if (words[i] === 0) continue;
        seen++;
        bench.segments++;
      }
    }
    Reflect.apply(putImageData, this, [picture, ...place]);
  };
  let last_ms = performance.now();
  const look = (): void => {
    const now_ms = performance.now();
    if (bench.isCounting) bench.frames_ms.push(now_ms - last_ms);
    last_ms = now_ms;
    if (bench.segments >= trendSegments) bench.drawnAt_ms = now_ms;
    bench.segments = 0;
    requestAnimationFrame(look);
  };
  requestAnimationFrame(look);
}

/**
 * Clicks in the page itself, so that no way between processes counts, and
 * waits until what the click asked for is drawn.
 * @param share where on the element, as a part of its width; null for its middle
 */
function timed(page: Page, kind: 'open' | 'seek', selector: string, share: number | null): Promise<number> {
  return page.evaluate(
    ([what, which, part]) =>
      new Promise<number>((resolve, reject) => {
        const element = document.querySelector<HTMLElement>(which)!;
        const box = element.getBoundingClientRect();
        const begun_ms = performance.now();
        const at = { clientX: box.left + box.width * (part ?? 0.5), clientY: box.top + box.height / 2 };
        const pointer = { ...at, bubbles: true, pointerId: 1, button: 0, isPrimary: true };
        let target_s = Number.NaN;
        if (what === 'seek') {
          element.setPointerCapture = () => {};
          element.dispatchEvent(new PointerEvent('pointerdown', pointer));
          element.dispatchEvent(new PointerEvent('pointerup', pointer));
          target_s = (part ?? 0) * Number(element.getAttribute('aria-valuemax'));
        } else element.click();
        const isThere = (): boolean => {
          const plot = document.querySelector('[data-testid="trend-plot"], [data-testid="measure-plot"]');
          const value = document.querySelector('[data-testid="value-rpm"] .figure');
          if (plot === null || (value === null && document.querySelector('[data-testid="measure-plot"]') === null))
            return false;
          if (value?.getAttribute('data-value') === 'none') return false;
          if (what === 'seek') {
            const now_us = Number(document.querySelector('[data-testid="replay-time"]')?.getAttribute('data-us'));
            const progress = document.querySelector('.transport-progress')?.childElementCount ?? 0;
            if (progress > 0 || Math.abs(now_us / 1e6 - target_s) > 1) return false;
          }
          return true;
        };
        let thereAt_ms = Number.NaN;
        const look = (): void => {
          const now_ms = performance.now();
          if (now_ms - begun_ms > 60_000) {
            reject(new Error(`${which} was not drawn within a minute`));
            return;
          }
          if (Number.isNaN(thereAt_ms) && isThere()) thereAt_ms = now_ms;
          // Drawn since it is there: two frames later it is on the glass.
          const { drawnAt_ms } = window.reviewBench;
          if (drawnAt_ms > begun_ms && drawnAt_ms >= thereAt_ms) {
            requestAnimationFrame(() => requestAnimationFrame(() => resolve(performance.now() - begun_ms)));
          } else requestAnimationFrame(look);
        };
        requestAnimationFrame(look);
      }),
    [kind, selector, share] as const,
  );
}

/** Over the whole bar and back in about eight seconds, as a hand does. */
async function drag(page: Page): Promise<Pick<Round, 'worstFrame_ms' | 'p99Frame_ms' | 'worstScripts_ms'>> {
  const box = (await page.getByTestId('scrub').boundingBox())!;
  const y = box.y + box.height / 2;
  await page.mouse.move(box.x + 2, y);
  await page.evaluate(() => {
    window.reviewBench.frames_ms.length = 0;
    window.reviewBench.scripts_ms.length = 0;
    window.reviewBench.isCounting = true;
  });
  await page.mouse.down();
  for (let i = 1; i <= 2 * DRAG_STEPS; i++) {
    const share = i <= DRAG_STEPS ? i / DRAG_STEPS : 2 - i / DRAG_STEPS;
    await page.mouse.move(box.x + 2 + (box.width - 4) * share, y);
    await page.waitForTimeout(8);
  }
  await page.mouse.up();
  await page.waitForTimeout(1000);
  const { frames_ms, scripts_ms } = await page.evaluate(() => {
    window.reviewBench.isCounting = false;
    return window.reviewBench;
  });
  const sorted = frames_ms.toSorted((a, b) => a - b);
  return {
    worstFrame_ms: sorted.at(-1)!,
    p99Frame_ms: sorted[Math.floor(0.99 * sorted.length)]!,
    worstScripts_ms: Math.max(0, ...scripts_ms),
  };
}
