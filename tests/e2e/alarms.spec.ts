/** What the operator does with alarms besides acknowledging: shelve, silence, cool down, fire; and a reload in the middle. */
import { expect, type Page, test } from '@playwright/test';
import { type RunningApp, startApp } from './support/app.ts';

async function openRun(page: Page, app: RunningApp): Promise<void> {
  await page.addInitScript(() => {
    localStorage.setItem('runstand.settings', JSON.stringify({ noticeRead: '1' }));
  });
  await page.goto(app.url);
  await expect(page.getByTestId('run')).toBeVisible();
}

test.describe('given a head sensor that opens', () => {
  let app: RunningApp;
  test.beforeAll(async () => {
    app = await startApp({ scenario: 'sensor-open', speed: 10 });
  });
  test.afterAll(() => app.stop());

  test('when its alarm is shelved, then it is counted with its reason, stays so over a reload, and can be put back', async ({
    page,
  }) => {
    await openRun(page, app);
    const alarm = page.getByTestId(/^alarm-head-sensors/);
    await expect(alarm).toBeVisible({ timeout: 30_000 });
    await page.getByTestId(/^shelve-head-sensors/).click();
    await expect(page.getByTestId(/^shelve-do-/)).toBeDisabled();
    await page.getByTestId(/^shelve-reason-/).fill('lead is known to be broken');
    await page.getByTestId(/^shelve-do-/).click();
    const aside = page.getByTestId('set-aside');
    await expect(aside).toContainText('1 set aside');
    await expect(aside).toContainText('lead is known to be broken');
    await expect(alarm).toBeHidden();
    await page.reload();
    await expect(aside).toContainText('its condition holds');
    await page.getByTestId(/^put-back-/).click();
    await expect(aside).toBeHidden();
    await expect(alarm).toBeVisible();
  });
});

test.describe('given an overspeed', () => {
  let app: RunningApp;
  test.beforeAll(async () => {
    app = await startApp({ scenario: 'overspeed', speed: 5 });
  });
  test.afterAll(() => app.stop());

  test('when shelving its abort alarm is tried, then it is refused; when the page is loaded again, then the advisory is as it was', async ({
    page,
  }) => {
    await openRun(page, app);
    const band = page.getByTestId('abort-band');
    await expect(band).toBeVisible({ timeout: 30_000 });
    await page.getByTestId('shelve-rpm-abort').click();
    await expect(page.getByTestId('shelve-refused-rpm-abort')).toContainText('never set aside');
    await page.getByTestId('act-cut').click();
    await expect(page.getByTestId('step-cut')).toHaveAttribute('data-state', 'done-by-channel');
    const cause = await page.getByTestId('band-cause').textContent();
    await page.reload();
    await expect(band).toBeVisible();
    await expect(page.getByTestId('step-cut')).toHaveAttribute('data-state', 'done-by-channel');
    await expect(page.getByTestId('band-cause')).toHaveText(cause ?? '');
  });
});

test.describe('given full throttle for a while', () => {
  let app: RunningApp;
  test.beforeAll(async () => {
    app = await startApp({ scenario: 'full-throttle', speed: 10 });
  });
  test.afterAll(() => app.stop());

  test('when the throttle is closed, then a calm strip tells to hold idle and how long, and no red band opens', async ({
    page,
  }) => {
    await openRun(page, app);
    await expect(page.getByTestId('run-state')).toContainText('Running');
    await page.waitForTimeout(7000);
    await page.getByTestId('throttle-closed').click();
    const strip = page.getByTestId('cool-down');
    await expect(strip).toBeVisible({ timeout: 20_000 });
    await expect(strip).toContainText('Shut the tank valve');
    await expect(page.getByTestId('abort-band')).toBeHidden();
    // At ten times real time the heads soon are cool enough; the cut is then said, and proves itself.
    await expect(strip).toHaveAttribute('data-step', 'cut', { timeout: 60_000 });
    await page.getByTestId('cool-down-act').click();
    await expect(strip).toHaveAttribute('data-step', /stopped|fan/, { timeout: 20_000 });
  });

  test('when somebody sees fire, then the advisory for it opens in two steps', async ({ page }) => {
    await openRun(page, app);
    await page.getByTestId('raise-fire').click();
    await page.getByTestId('raise-fire-do').click();
    const band = page.getByTestId('abort-band');
    await expect(band).toHaveAttribute('data-cause', 'fire');
    await expect(band).toContainText('Not the emergency stop');
  });
});
