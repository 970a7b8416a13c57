/** A bench that prints delimited text: heard, set right, saved and seen live, without leaving Rig. */
import { expect, test } from '@playwright/test';
import { openPty } from '../support/pty.ts';
import { startApp } from './support/app.ts';

test.skip(process.platform === 'win32', 'there are no pseudo-terminals here');

test('given a bench that prints commas, when it is listened to and its profile saved, then it is live in its words', async ({
  page,
}) => {
  const pty = await openPty();
  let line = 0;
  const timer = setInterval(() => {
    if (line % 40 === 0) pty.write(Buffer.from('t_ms,rpm,head_temp_C,pull_N\n'));
    line += 1;
    pty.write(Buffer.from(`${line * 50},${2400 + (line % 5)},${(101 + (line % 9) / 10).toFixed(1)},55.25\n`));
  }, 50);
  const app = await startApp({ noSource: true });
  try {
    await page.addInitScript(() => {
      localStorage.setItem('runstand.settings', JSON.stringify({ noticeRead: '1' }));
    });
    await page.goto(app.url);
    await page.getByTestId('place-rig').click();
    await page.getByTestId('port-path').fill(pty.path);
    await page.getByTestId('listen-first').click();
    await expect(page.getByTestId('heard-profile')).toBeVisible({ timeout: 15_000 });
    await expect(page.getByTestId('heard-lines')).toContainText('55.25');
    // The guide has read the names; what it says can be set right, and an error has its place.
    const pull = page.locator('tr', { hasText: 'pull_N' });
    await expect(pull.getByRole('combobox')).toHaveValue('thrust');
    await pull.getByRole('textbox').first().fill('Pull!');
    await page.getByTestId('save-profile').click();
    await expect(page.getByTestId('profile-trouble')).toContainText(/profile\.columns\[\d\]\.key/);
    await pull.getByRole('textbox').first().fill('thrust');
    const head = page.locator('tr', { hasText: 'head_temp_C' });
    await head.getByRole('combobox').selectOption('head-temperature');
    await head.getByRole('textbox').last().fill('Cel');
    await page.getByTestId('save-profile').click();
    await expect(page.getByTestId('heard-profile')).toBeHidden();
    await page.getByTestId('place-run').click();
    await expect(page.getByTestId('provenance')).toHaveText('LIVE');
    const thrust = page.getByTestId('board-live').getByTestId('value-thrust').locator('.figure');
    await expect(thrust).toHaveAttribute('data-value', '55.25', { timeout: 15_000 });
    const rpm = page.getByTestId('board-live').getByTestId('value-rpm').locator('.figure');
    await expect.poll(async () => Number(await rpm.getAttribute('data-value'))).toBeGreaterThanOrEqual(2400);
  } finally {
    clearInterval(timer);
    await pty.close();
    await app.stop();
  }
});
