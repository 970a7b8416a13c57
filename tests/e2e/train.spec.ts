/** The Train place: scenarios, faults, and what follows in Run. */
import { expect, test } from '@playwright/test';
import { type RunningApp, startApp } from './support/app.ts';
import { expectAxeClean, openPlace } from './support/places.ts';

let app: RunningApp;
test.beforeEach(async () => {
  app = await startApp({ scenario: 'standing' });
});
test.afterEach(() => app.stop());

test('given the over-temperature scenario at ten times real time, when it runs on, then the advisory comes in Run', async ({
  page,
}) => {
  await openPlace(page, app, 'train');
  await page.getByTestId('train-free').click();
  await page.getByTestId('scenario-over-temperature').check();
  await page.getByTestId('start-speed-10').click();
  await page.getByTestId('start-scenario').click();
  await expect(page.getByTestId('sim-title')).toHaveText('Cooling fan fails at full throttle');
  await expect(page.getByTestId('sim-hand')).toHaveText('the person at the stand');
  await expect(page.getByTestId('provenance')).toHaveText('SIMULATED');
  await page.getByTestId('to-run').click();
  await expect(page.getByTestId('run')).toBeVisible();
  // The heads pass their limit about two simulated minutes after the start.
  await expect(page.getByTestId('abort-band')).toHaveAttribute('data-cause', 'over-temperature', { timeout: 40_000 });
  await expect(page.getByTestId('band-imperative')).toHaveText('Close the throttle now');
});

test('given a running scenario, when a fault is put in and cleared, then it is marked, acts, and goes', async ({
  page,
}) => {
  await openPlace(page, app, 'train');
  await page.getByTestId('train-free').click();
  await page.getByTestId('scenario-warm-idle').check();
  await page.getByTestId('start-scenario').click();
  await expect(page.getByTestId('sim-title')).toHaveText('Warm at idle');
  await page.getByTestId('toggle-cht-open').click();
  await expect(page.getByTestId('sim-fault-cht-open')).toHaveAttribute('data-on', 'true');
  await expect(page.getByTestId('active-faults')).toHaveText('1 fault in');
  await page.getByTestId('place-rig').click();
  await expect(page.getByTestId('channel-cht1')).toHaveAttribute('data-state', 'failed');
  await expect(page.getByTestId('channel-cht1')).toContainText('open circuit');
  await page.getByTestId('place-train').click();
  await page.getByTestId('train-free').click();
  await page.getByTestId('toggle-cht-open').click();
  await expect(page.getByTestId('sim-fault-cht-open')).toHaveAttribute('data-on', 'false');
  await page.getByTestId('place-rig').click();
  await expect(page.getByTestId('channel-cht1')).toHaveAttribute('data-state', 'good');
});

test('given the simulator, when the speed is changed and it is ended, then both show', async ({ page }) => {
  await openPlace(page, app, 'train');
  await page.getByTestId('train-free').click();
  await page.getByTestId('sim-speed-5').click();
  await expect(page.getByTestId('sim-speed-5')).toHaveAttribute('aria-pressed', 'true');
  await page.getByTestId('stop-simulator').click();
  await expect(page.getByTestId('simulator-off')).toBeVisible();
  await expect(page.getByTestId('toggle-cht-open')).toBeDisabled();
});

test('given a seed that is none, when it is written, then it is said and nothing can be started', async ({ page }) => {
  await openPlace(page, app, 'train');
  await page.getByTestId('train-free').click();
  await page.getByTestId('seed').fill('-1');
  await expect(page.getByRole('alert')).toContainText('A whole number');
  await expect(page.getByTestId('start-scenario')).toBeDisabled();
});

test('given Train, when it is looked at by axe, then nothing is found in either theme', async ({ page }) => {
  await openPlace(page, app, 'train');
  await page.getByTestId('train-free').click();
  await expect(page.getByTestId('simulator-on')).toBeVisible();
  await page.getByTestId('toggle-thrust-stuck').click();
  await expect(page.getByTestId('active-faults')).toBeVisible();
  await expectAxeClean(page);
});
