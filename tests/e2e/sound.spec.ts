/** Sound of alarms: it is said whether there is any, and silence is neither acknowledgement nor reset. */
import { expect, test } from '@playwright/test';
import { type RunningApp, startApp } from './support/app.ts';

test.describe('given a head sensor that opens', () => {
  let app: RunningApp;
  test.beforeAll(async () => {
    app = await startApp({ scenario: 'sensor-open', speed: 5 });
  });
  test.afterAll(() => app.stop());

  test('when it sounds and is silenced, then the alarm still waits, and the line says for how long', async ({
    page,
  }) => {
    await page.addInitScript(() => {
      localStorage.setItem('runstand.settings', JSON.stringify({ noticeRead: '1' }));
    });
    await page.goto(app.url);
    const sound = page.getByTestId('sound');
    await expect(sound).toContainText('No sound before the first click or key');
    await page.keyboard.press('Tab');
    await expect(sound).not.toContainText('No sound before');
    const alarm = page.getByTestId(/^alarm-head-sensors/);
    await expect(alarm).toBeVisible({ timeout: 30_000 });
    await expect(sound).toHaveAttribute('data-playing', 'warning');
    await page.getByTestId('silence').click();
    await expect(sound).toHaveAttribute('data-playing', 'none');
    await expect(sound).toContainText(/Silent for \d+ s; new alarms sound/);
    await expect(alarm).toHaveAttribute('data-state', 'active-unacknowledged');
    await page.getByTestId('acknowledge-all').click();
    await expect(alarm).toHaveAttribute('data-state', 'active-acknowledged');
  });
});
