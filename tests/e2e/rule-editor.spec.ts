/** Rig, limits: a rule is edited against the present values, refused where it must be, warned of, saved as a version. */
import { expect, test } from '@playwright/test';
import { type RunningApp, startApp } from './support/app.ts';
import { expectAxeClean, openPlace } from './support/places.ts';

test.describe('given an engine at full throttle', () => {
  let app: RunningApp;
  test.beforeAll(async () => {
    app = await startApp({ scenario: 'full-throttle' });
  });
  test.afterAll(() => app.stop());

  test('when its overspeed limit is lowered, then it is said what it would do now, and saving makes the next version', async ({
    page,
  }) => {
    await openPlace(page, app, 'rig');
    await page.getByTestId('tab-limits').click();
    await page.getByTestId('edit-rpm-abort').click();
    const moment = page.getByTestId('rule-moment');
    await expect(moment).toHaveAttribute('data-verdict', 'inside');
    await expect(moment).toContainText(/from its trip/);
    await expect(page.getByTestId('rule-save')).toBeDisabled();
    await page.getByTestId('rule-trip').fill('5000');
    await expect(page.getByTestId('rule-reset')).toHaveValue('4500');
    await expect(moment).toHaveAttribute('data-verdict', 'beyond');
    await expect(moment).toContainText('Would be tripped now');
    await expect(page.getByTestId('rule-warnings')).toContainText('hard-wired trip on the stand, not an operator');
    await page.getByTestId('rule-trip').fill('6900');
    await expect(page.getByTestId('rule-change')).toHaveValue(/trip from 7000 to 6900/);
    await page.getByTestId('rule-save').click();
    await expect(page.getByTestId('limits-told')).toContainText('Saved as version 2');
    await expect(page.getByTestId('edit-rpm-abort')).toBeFocused();
    // In force is still what the session began with.
    await expect(page.getByTestId('limit-rpm-abort')).toContainText('7\u2009000');
    await expect(page.getByTestId('limit-rpm-abort')).toContainText('changed in the next version');
  });

  test('when fields are emptied or turned round, then each is refused at its place with what to do', async ({
    page,
  }) => {
    await openPlace(page, app, 'rig');
    await page.getByTestId('tab-limits').click();
    await page.getByTestId('edit-cht1-abort').click();
    await page.getByTestId('rule-trip').fill('');
    await expect(page.getByRole('alert')).toContainText('A number is missing.');
    await page.getByTestId('rule-trip').fill('220');
    await page.getByTestId('rule-reset').fill('230');
    await expect(page.getByRole('alert')).toContainText('must not be above trip (220)');
    await expect(page.getByTestId('rule-save')).toBeDisabled();
    await page.getByTestId('rule-reset').fill('205');
    await page.getByTestId('rule-operatorAction').fill('  ');
    await expect(page.getByRole('alert')).toContainText('Say what the operator does.');
    await page.getByTestId('rule-leave').click();
    await expect(page.getByTestId('limit-table')).toBeVisible();
  });

  test('when a new limit is made, then it is in the sheet, and can be removed again', async ({ page }) => {
    await openPlace(page, app, 'rig');
    await page.getByTestId('tab-limits').click();
    await page.getByTestId('new-limit-kind').selectOption('spread');
    await page.getByTestId('new-limit').focus();
    await page.keyboard.press('Enter');
    await expect(page.getByTestId('rule-editor')).toBeVisible();
    // Sent too early, it says what is missing.
    await page.getByTestId('rule-save').click();
    await expect(page.getByTestId('rule-editor')).toContainText('Not saved');
    for (const key of ['egt1', 'egt2']) {
      await page.getByTestId(`rule-channels-${key}`).focus();
      await page.keyboard.press('Space');
    }
    for (const [field, text] of [
      ['trip', '60'],
      ['reset', '50'],
      ['title', 'Exhausts far apart'],
      ['consequence', 'One cylinder runs lean.'],
      ['operatorAction', 'Ease the throttle.'],
      ['timeToAct_s', '60'],
    ]) {
      await page.getByTestId(`rule-${field}`).focus();
      await page.keyboard.type(text!);
    }
    await expect(page.getByTestId('rule-moment')).toHaveAttribute('data-verdict', /inside|between|beyond/);
    await expectAxeClean(page);
    await page.getByTestId('rule-save').focus();
    await page.keyboard.press('Enter');
    await expect(page.getByTestId('limits-told')).toContainText(/Saved as version \d/);
    const added = page.getByTestId('limit-spread-1');
    await expect(added).toContainText('new in the next version');
    await page.getByTestId('edit-spread-1').click();
    await page.getByTestId('rule-remove').click();
    await page.getByTestId('confirm').click();
    await expect(page.getByTestId('limits-told')).toContainText(/Saved as version \d/);
    await expect(added).toHaveCount(0);
    await expect(page.getByTestId('message')).toHaveCount(0);
  });

  test('when the link is looked at, then the way from byte to screen is measured, and stands in the top line', async ({
    page,
  }) => {
    await openPlace(page, app, 'rig');
    await expect(page.getByTestId('latency-values-p50')).toHaveText(/^\d+\u2009ms$/, { timeout: 20_000 });
    await expect(page.getByTestId('latency-values-p99')).toHaveText(/^[\d\u2009]+\u2009ms$/);
    await expect(page.getByTestId('health-latency')).toContainText(/Delay \d+\u2009ms/);
  });

  test('when a mark is written for long, then it is of the moment of its key press', async ({ page }) => {
    await openPlace(page, app, 'run');
    await expect(page.getByTestId('run')).toBeVisible();
    await page.keyboard.press('m');
    await expect(page.getByTestId('mark-entry')).toBeFocused();
    const label = await page.locator('label[for=mark-entry]').textContent();
    const at = /(\d+:\d\d)/.exec(label ?? '')?.[1];
    await page.keyboard.type('smoke from the left exhaust');
    // Writing takes its time: the mark must not be of the moment of Enter.
    await page.waitForTimeout(3000);
    await page.keyboard.press('Enter');
    await expect(page.getByTestId('marks').locator('li', { hasText: 'smoke from the left exhaust' })).toContainText(
      at ?? 'none',
    );
  });

  test('when the sound test stands in the checklist, then each level can be heard there', async ({ page }) => {
    await openPlace(page, app, 'run');
    const item = page.getByTestId('check-sound');
    await item.scrollIntoViewIfNeeded();
    for (const level of ['caution', 'warning', 'abort']) await item.getByTestId(`sound-test-${level}`).click();
    await item.locator('input').check();
    await expect(item).toHaveAttribute('data-state', 'done');
  });
});
