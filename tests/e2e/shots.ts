/**
 * Pictures of every place and of the abort band, at both sizes and in both
 * themes, from the real host on the simulator, for anyone to look at:
 *
 *   npm run shots -- --out DIR
 */
import { mkdirSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { parseArgs } from 'node:util';
import { chromium, type Page } from '@playwright/test';
import { bundle } from '../../build/bundle.ts';
import { type RunningApp, startApp } from './support/app.ts';
import { chromiumArguments, findChromium } from './support/chromium.ts';

const sizes = [
  { width: 1280, height: 800 },
  { width: 1920, height: 1080 },
];
const themes = ['day', 'cell'] as const;

const { values } = parseArgs({ options: { out: { type: 'string', default: 'shots-out' } } });
const folder = resolve(values.out);
mkdirSync(folder, { recursive: true });
const executablePath = findChromium();
if (executablePath === null) {
  process.stderr.write(
    'No Chromium or Chrome found. On Debian: apt-get install -y chromium; or set CHROME to its path.\n',
  );
  process.exit(1);
}
await bundle(['page']);
const browser = await chromium.launch({ executablePath, args: [...chromiumArguments] });
let count = 0;
try {
  await withApp({ scenario: 'full-throttle' }, async (app) => {
    await eachLook(
      app,
      async (page, name) => {
        await page.getByTestId('first-run').waitFor();
        await shot(page, `first-run-${name}`);
      },
      '',
    );
    await eachLook(app, async (page, name) => {
      for (const place of ['rig', 'run', 'train', 'logbook'] as const) {
        await page.getByTestId(`place-${place}`).click();
        // Trends and tables have something to show.
        await page.waitForTimeout(place === 'run' ? 4000 : 1200);
        await shot(page, `${place}-${name}`);
      }
    });
  });
  await withApp({ scenario: 'standing' }, async (app) => {
    await eachLook(app, async (page, name) => {
      await page.getByTestId('place-rig').click();
      for (const tab of ['ready', 'channels', 'limits', 'calibration', 'checklists', 'lines', 'sheet'] as const) {
        await page.getByTestId(`tab-${tab}`).click();
        await page.waitForTimeout(800);
        await shot(page, `rig-${tab}-${name}`);
      }
      await page.getByTestId('tab-calibration').click();
      await page.getByTestId('calibrate-throttle-travel').click();
      await page.waitForTimeout(800);
      await shot(page, `rig-guide-${name}`);
    });
  });
  await withApp({ scenario: 'overspeed', speed: 5 }, async (app) => {
    await eachLook(app, async (page, name) => {
      await page.getByTestId('abort-band').waitFor({ timeout: 60_000 });
      await page.waitForTimeout(1000);
      await shot(page, `abort-${name}`);
    });
  });
  await withApp({ scenario: 'demonstration', speed: 10 }, async (app) => {
    // Half a minute is five minutes of the demonstration: a session worth reviewing.
    await new Promise((done) => setTimeout(done, 30_000));
    await eachLook(app, async (page, name) => {
      await page.getByTestId('place-review').click();
      await page.waitForTimeout(1500);
      await shot(page, `review-list-${name}`);
      const open = page.getByTestId(/^review-open/).first();
      if (await open.isVisible()) await open.click();
      await page.waitForTimeout(3000);
      await shot(page, `review-${name}`);
    });
  });
} finally {
  await browser.close();
}
process.stdout.write(`${count} pictures in ${folder}\n`);

async function withApp(
  options: Parameters<typeof startApp>[0],
  look: (app: RunningApp) => Promise<void>,
): Promise<void> {
  const app = await startApp(options);
  try {
    await look(app);
  } finally {
    await app.stop();
  }
}

/** Every size and theme; the first-run notice read, unless it is what is looked at. */
async function eachLook(
  app: RunningApp,
  look: (page: Page, name: string) => Promise<void>,
  noticeRead = '1',
): Promise<void> {
  for (const viewport of sizes) {
    for (const theme of themes) {
      const context = await browser.newContext({ viewport });
      await context.addInitScript((settings) => localStorage.setItem('runstand.settings', JSON.stringify(settings)), {
        theme,
        noticeRead,
      });
      try {
        const page = await context.newPage();
        await page.goto(app.url);
        await page.getByTestId('place-run').waitFor();
        await look(page, `${viewport.width}-${theme}`);
      } finally {
        await context.close();
      }
    }
  }
}

async function shot(page: Page, name: string): Promise<void> {
  await page.screenshot({ path: join(folder, `${name}.png`) });
  count += 1;
}
