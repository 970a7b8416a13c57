/** A limit, changed, tried on what was recorded, and taken into the rig sheet. */
import { expect, test } from '@playwright/test';
import { type RunningApp, startApp } from './support/app.ts';

test.describe('given a recorded overspeed', () => {
  let app: RunningApp;
  test.beforeAll(async () => {
    app = await startApp({ scenario: 'overspeed', speed: 10 });
  });
  test.afterAll(() => app.stop());

  test('when a lower limit is tried, then it would have tripped earlier, and can be taken into the rig sheet', async ({
    page,
  }) => {
    await page.addInitScript(() => {
      localStorage.setItem('runstand.settings', JSON.stringify({ noticeRead: '1' }));
    });
    await page.goto(app.url);
    await expect(page.getByTestId('abort-band')).toBeVisible({ timeout: 30_000 });
    await page.getByTestId('place-review').click();
    await page
      .getByTestId(/^review-open-\d/)
      .first()
      .click();
    await expect(page.getByTestId('review')).toBeVisible({ timeout: 30_000 });
    await page.getByRole('tab', { name: 'Back-test' }).click();
    await page.getByTestId('back-test-rule').selectOption('rpm-abort');
    await page.getByTestId('back-test-trip').fill('6700');
    // The deadband moves with it.
    await expect(page.getByTestId('back-test-reset')).toHaveValue('6200');
    await page.getByTestId('back-test-start').click();
    const results = page.getByTestId('back-test-results');
    await expect(results).toHaveAttribute('data-state', 'done', { timeout: 30_000 });
    const cells = await results.locator('tbody tr td').allTextContents();
    // Would trip once, tripped once then, and earlier by a part of a second.
    expect(cells[1]).toBe('1');
    expect(cells[2]).toBe('1');
    expect(Number(cells[4]!.replace('−', '-'))).toBeGreaterThan(0);
    await page.getByTestId('back-test-save').click();
    await expect(page.getByTestId('back-test-saved')).toContainText('Saved as version 2');
  });
});
