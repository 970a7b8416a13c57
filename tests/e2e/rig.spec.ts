/** The Rig place: what is connected and how well, channels, limits, setting up, and a port that is not there. */
import { expect, test } from '@playwright/test';
import { type RunningApp, startApp } from './support/app.ts';
import { expectAxeClean, openPlace } from './support/places.ts';

test.describe('given the simulated bench at rest', () => {
  let app: RunningApp;
  test.beforeAll(async () => {
    app = await startApp({ scenario: 'standing' });
  });
  test.afterAll(() => app.stop());

  test('when Rig is shown, then source, bench, link and channels are there in words and numbers', async ({ page }) => {
    await openPlace(page, app, 'rig');
    await expect(page.getByTestId('source-sentence')).toContainText('simulator');
    await expect(page.getByTestId('identity-bench')).not.toBeEmpty();
    await expect(page.getByTestId('identity-protocol')).toHaveText('1.0');
    await expect
      .poll(async () => Number.parseInt((await page.getByTestId('link-lines').textContent()) ?? '', 10))
      .toBeGreaterThan(20);
    await expect(page.getByTestId('no-faults')).toBeVisible();
    const rpm = page.getByTestId('channel-rpm');
    await expect(rpm).toHaveAttribute('data-state', 'good');
    await expect(rpm).toContainText('shaft speed');
    await expect(page.getByTestId('channel-brake_power')).toContainText('from');
    await expect(page.getByTestId('input-cage')).toContainText('closed');
  });

  test('when the limits are opened, then every rule says what to do, and the quick ones ask for a hard-wired trip', async ({
    page,
  }) => {
    await openPlace(page, app, 'rig');
    await page.getByTestId('tab-limits').click();
    const overspeed = page.getByTestId('limit-rpm-abort');
    await expect(overspeed).toContainText('Cut the ignition now.');
    await expect(overspeed).toContainText('hard-wired trip on the stand, not an operator');
    await expect(page.getByTestId('hard-wired-cht1-abort')).toHaveCount(0);
    await expect(page.getByTestId('limit-cht1-abort')).toContainText('220');
  });

  test('when the rig sheet is opened, then it says that it is invented, and the cautions stand there', async ({
    page,
  }) => {
    await openPlace(page, app, 'rig');
    await page.getByTestId('tab-sheet').click();
    await expect(page.getByTestId('demo-notice')).toContainText('Invented for demonstration');
    await expect(page.getByTestId('cautions')).toContainText('DANGER');
    await expect(page.getByTestId('rig-sheet')).toContainText('not the emergency stop');
  });

  test('when thrust is tared at rest, then the bench does it with outputs locked', async ({ page }) => {
    await openPlace(page, app, 'rig');
    await page.getByTestId('setup-TARE-THRUST').click();
    await expect(page.getByTestId('outcome-TARE-THRUST')).toHaveAttribute('data-outcome', 'accepted');
  });

  for (const tab of ['channels', 'limits', 'sheet']) {
    test(`when ${tab} is looked at by axe, then nothing is found in either theme`, async ({ page }) => {
      await openPlace(page, app, 'rig');
      await page.getByTestId(`tab-${tab}`).click();
      await expect(
        page.getByTestId('channel-rpm').or(page.getByTestId('limit-table')).or(page.getByTestId('rig-sheet')),
      ).toBeVisible();
      await expectAxeClean(page);
    });
  }

  test('when only the keyboard is used, then the tabs turn by arrow keys', async ({ page }) => {
    await openPlace(page, app, 'rig');
    await page.getByTestId('tab-channels').focus();
    await page.keyboard.press('ArrowRight');
    await expect(page.getByTestId('tab-limits')).toBeFocused();
    await expect(page.getByTestId('limit-table')).toBeVisible();
    await page.keyboard.press('End');
    await expect(page.getByTestId('rig-sheet')).toBeVisible();
  });
});

test.describe('given a running engine', () => {
  let app: RunningApp;
  test.beforeAll(async () => {
    app = await startApp({ scenario: 'warm-idle' });
  });
  test.afterAll(() => app.stop());

  test('when thrust is tared, then the bench refuses and its reason is shown', async ({ page }) => {
    await openPlace(page, app, 'rig');
    await page.getByTestId('setup-TARE-THRUST').click();
    const outcome = page.getByTestId('outcome-TARE-THRUST');
    await expect(outcome).toHaveAttribute('data-outcome', 'refused');
    await expect(outcome).toContainText('only with the shaft at rest');
  });

  test('when a port that does not exist is connected, then a sentence says so with its remedy, and it goes on trying', async ({
    page,
  }) => {
    await openPlace(page, app, 'rig');
    await page.getByTestId('port-path').fill('/dev/runstand-no-such-port');
    await page.getByTestId('connect').click();
    await expect(page.getByTestId('source-state')).toHaveAttribute('data-state', 'waiting');
    await expect(page.getByTestId('source-sentence')).toContainText('/dev/runstand-no-such-port');
    await expect(page.getByTestId('source-remedy')).not.toBeEmpty();
    await page.getByTestId('disconnect').click();
    await expect(page.getByTestId('source-state')).toHaveAttribute('data-state', 'none');
    await page.getByTestId('to-train').click();
    await expect(page.getByTestId('train')).toBeVisible();
  });

  test('when a wrong baud rate is written, then it is said before anything is tried', async ({ page }) => {
    await openPlace(page, app, 'rig');
    await page.getByTestId('port-path').fill('/dev/ttyUSB0');
    await page.getByTestId('port-baud').fill('fast');
    await expect(page.getByRole('alert')).toContainText('A whole number');
    await expect(page.getByTestId('connect')).toBeDisabled();
  });
});
