/** Axe finds nothing in any place, in either theme, while an abort advisory stands and alarms wait. */
import { expect, test } from '@playwright/test';
import { type RunningApp, startApp } from './support/app.ts';
import { expectAxeClean, openPlace } from './support/places.ts';

test.describe('given an overspeed that stands', () => {
  let app: RunningApp;
  test.beforeAll(async () => {
    app = await startApp({ scenario: 'overspeed', speed: 10 });
  });
  test.afterAll(() => app.stop());

  for (const place of ['rig', 'run', 'review', 'train', 'logbook']) {
    test(`when ${place} is looked at by axe, then nothing is found in either theme`, async ({ page }) => {
      await openPlace(page, app, place);
      await expect(page.getByTestId('abort-band')).toBeVisible({ timeout: 30_000 });
      await expect(page.locator('#place')).not.toBeEmpty();
      await expectAxeClean(page);
    });
  }

  test('when a recording is reviewed, then nothing is found in any of its views', async ({ page }) => {
    test.setTimeout(120_000);
    await openPlace(page, app, 'review');
    await page
      .getByTestId(/^review-open-\d/)
      .first()
      .click();
    await expect(page.getByTestId('review')).toBeVisible({ timeout: 30_000 });
    for (const tab of ['board', 'measure', 'alarms', 'back-test']) {
      await page.getByTestId(`tab-${tab}`).click();
      await expectAxeClean(page);
    }
  });

  test('when an alarm is being set aside and fire is asked about, then nothing is found', async ({ page }) => {
    await openPlace(page, app, 'run');
    await page.getByTestId('shelve-rpm-abort').click();
    await page.getByTestId('raise-fire').click();
    await expectAxeClean(page);
  });
});

test.describe('given full throttle that is closed', () => {
  let app: RunningApp;
  test.beforeAll(async () => {
    app = await startApp({ scenario: 'full-throttle', speed: 10 });
  });
  test.afterAll(() => app.stop());

  test('when the cool-down strip stands, then nothing is found', async ({ page }) => {
    await openPlace(page, app, 'run');
    await expect(page.getByTestId('run-state')).toContainText('Running');
    // A minute of high power at ten times real time.
    await page.waitForTimeout(7000);
    await page.getByTestId('throttle-closed').click();
    await expect(page.getByTestId('cool-down')).toBeVisible({ timeout: 20_000 });
    await expectAxeClean(page);
  });
});
