/** The Logbook place: sessions, runs, hours, keeping, notes and exports. */
import { readFileSync } from 'node:fs';
import { expect, type Page, test } from '@playwright/test';
import { type RunningApp, startApp } from './support/app.ts';
import { endSession, expectAxeClean, openPlace } from './support/places.ts';

test('given no session, when Logbook is opened, then it says what to do next', async ({ page }) => {
  const app = await startApp({ noSource: true });
  try {
    await openPlace(page, app, 'logbook');
    await expect(page.getByTestId('logbook-empty')).toContainText('Recording begins by itself');
    await page.getByTestId('place-review').click();
    await expect(page.getByTestId('review-empty')).toBeVisible();
  } finally {
    await app.stop();
  }
});

test.describe('given a simulated run that was recorded', () => {
  let app: RunningApp;
  test.beforeAll(async ({ browser }) => {
    app = await startApp({ scenario: 'demonstration', speed: 10 });
    const page = await browser.newPage();
    await openPlace(page, app, 'run');
    // The person cranks 13 simulated seconds after the start.
    await expect(page.getByTestId('run-state')).toContainText('Running', { timeout: 30_000 });
    await endSession(page);
    await page.close();
  });
  test.afterAll(() => app.stop());

  async function open(page: Page): Promise<void> {
    await openPlace(page, app, 'logbook');
    await expect(page.getByTestId('sessions')).toBeVisible();
  }

  test('when Logbook is opened, then the run stands in its session, and counts as simulated only', async ({ page }) => {
    await open(page);
    await expect(page.getByTestId('sessions')).toContainText('A whole run, by hand');
    await expect(page.getByTestId('session-detail')).toContainText('SIMULATED');
    await expect(page.getByTestId('run-1')).toBeVisible();
    await expect(page.getByTestId('engine-hours')).toContainText('in 0 runs');
    await expect(page.getByTestId('simulated-hours')).toContainText('in 1 run');
    await expect(page.getByTestId('retention')).toContainText('14 days');
  });

  test('when a note is written and the session is kept, then both are there after a reload', async ({ page }) => {
    await open(page);
    await page.getByTestId('note').fill('Propeller two, new plugs');
    await page.getByTestId('save-note').click();
    await expect(page.getByTestId('save-note')).toBeDisabled();
    await page.getByTestId('keep').click();
    await expect(page.getByTestId('keep')).toHaveText('Kept by hand');
    await page.reload();
    await expect(page.getByTestId('note')).toHaveValue('Propeller two, new plugs');
    await expect(page.getByTestId('keep')).toHaveText('Kept by hand');
    await page.getByTestId('filter-text').fill('new plugs');
    await expect(page.locator('[data-testid="sessions"] tbody tr')).toHaveCount(1);
    await page.getByTestId('filter-text').fill('no such words');
    await page.getByTestId('filter-clear').click();
    await page.getByTestId('filter-kept').check();
    await expect(page.locator('[data-testid="sessions"] tbody tr')).toHaveCount(1);
  });

  test('when a tag is put on, then the list can be filtered by it, and it can be taken off', async ({ page }) => {
    await open(page);
    await page.getByTestId('tag-entry').fill('endurance');
    await page.getByTestId('tag-entry').press('Enter');
    await expect(page.getByTestId('tag-endurance')).toBeVisible();
    await page.getByTestId('filter-tag').selectOption('endurance');
    await expect(page.locator('[data-testid="sessions"] tbody tr')).toHaveCount(1);
    await page.getByTestId('filter-to').fill('2001-01-01');
    await expect(page.getByTestId('filter-clear')).toBeVisible();
    await page.getByTestId('filter-clear').click();
    await page.getByTestId('tag-endurance').click();
    await expect(page.getByTestId('tag-endurance')).toBeHidden();
  });

  test('when it is deleted, then it is in the bin with its last day, and comes back when restored', async ({
    page,
  }) => {
    await open(page);
    if ((await page.getByTestId('keep').getAttribute('aria-pressed')) === 'true')
      await page.getByTestId('keep').click();
    await page.getByTestId('delete').click();
    await expect(page.getByTestId('show-bin')).toHaveText('Bin (1)');
    await page.getByTestId('show-bin').click();
    await expect(page.getByTestId('in-bin')).toContainText('gone for good after');
    await page.getByTestId('restore').click();
    await page.getByTestId('filter-clear').click();
    await expect(page.getByTestId('sessions')).toContainText('A whole run, by hand');
    await expect(page.getByTestId('show-bin')).toBeHidden();
  });

  test('when two channels of the run are asked for, then just these come, within its times', async ({ page }) => {
    await open(page);
    await page.getByTestId('export-range').selectOption('run 1');
    await page.getByTestId('export-channels').click();
    await page.getByTestId('none-bench').click();
    await page.getByTestId('none-derived').click();
    await page.getByTestId('channel-rpm').check();
    await page.getByTestId('channel-cht1').check();
    await page.getByTestId('channels-done').click();
    await page.getByTestId('export-csv').click();
    const link = page.getByTestId('exported-csv');
    await expect(link).toBeVisible({ timeout: 30_000 });
    const [download] = await Promise.all([page.waitForEvent('download'), link.click()]);
    const lines = readFileSync(await download.path(), 'utf8').split('\r\n');
    expect(lines[0]).toBe('session_time,utc,rpm,cht1,not_good');
    expect(Number(lines[2]?.split(',')[0])).toBeGreaterThan(5);
  });

  test('when the CSV is asked for, then the file comes, with its columns and values', async ({ page }) => {
    await open(page);
    await page.getByTestId('export-csv').click();
    const link = page.getByTestId('exported-csv');
    await expect(link).toBeVisible({ timeout: 30_000 });
    const [download] = await Promise.all([page.waitForEvent('download'), link.click()]);
    const text = readFileSync(await download.path(), 'utf8');
    expect(download.suggestedFilename()).toMatch(/\.csv$/);
    expect(text).toContain('rpm');
    expect(text.split('\n').length).toBeGreaterThan(100);
  });

  test('when Parquet with every line is asked for, then the file comes, and is one', async ({ page }) => {
    await open(page);
    await page.getByTestId('export-rate').selectOption('all');
    await page.getByTestId('export-parquet').click();
    const link = page.getByTestId('exported-parquet');
    await expect(link).toBeVisible({ timeout: 30_000 });
    const [download] = await Promise.all([page.waitForEvent('download'), link.click()]);
    // The format's own mark at both ends of the file.
    const bytes = readFileSync(await download.path());
    expect([bytes.subarray(0, 4).toString(), bytes.subarray(-4).toString()]).toEqual(['PAR1', 'PAR1']);
  });

  test('when the report is asked for, then the file comes and says SIMULATED', async ({ page }) => {
    await open(page);
    await page.getByTestId('export-report').click();
    const link = page.getByTestId('exported-report');
    await expect(link).toBeVisible({ timeout: 30_000 });
    const [download] = await Promise.all([page.waitForEvent('download'), link.click()]);
    expect(readFileSync(await download.path(), 'utf8')).toContain('SIMULATED');
  });

  test('when it is verified, then it says that it is whole, and what was read', async ({ page }) => {
    await open(page);
    await page.getByTestId('verify').click();
    await expect(page.getByTestId('proof')).toContainText('Whole and unaltered.', { timeout: 30_000 });
    await expect(page.getByTestId('proof')).toContainText('frames in');
  });

  test('when its file is taken in by another log book, then it is there, whole; what is no such file is refused', async ({
    page,
  }) => {
    await open(page);
    await page.getByTestId('export-session').click();
    const link = page.getByTestId('exported-session');
    await expect(link).toBeVisible({ timeout: 30_000 });
    const [download] = await Promise.all([page.waitForEvent('download'), link.click()]);
    expect(download.suggestedFilename()).toMatch(/\.runstand$/);
    const file = { name: 'from-stand-1.runstand', mimeType: '', buffer: readFileSync(await download.path()) };
    const other = await startApp({ noSource: true });
    try {
      await openPlace(page, other, 'logbook');
      await expect(page.getByTestId('logbook-empty')).toBeVisible();
      await page.getByTestId('take-in-file').setInputFiles({ ...file, buffer: Buffer.from('a picture, say') });
      await expect(page.getByText('from-stand-1.runstand is not a session file.')).toBeVisible();
      await page.getByTestId('take-in-file').setInputFiles(file);
      await expect(page.getByText('from-stand-1.runstand: 1 session verified and taken in.')).toBeVisible({
        timeout: 30_000,
      });
      await expect(page.getByTestId('sessions')).toContainText('A whole run, by hand');
      await page.getByTestId('verify').click();
      await expect(page.getByTestId('proof')).toContainText('Whole and unaltered.', { timeout: 30_000 });
      await page.getByTestId('take-in-file').setInputFiles(file);
      await expect(page.getByText('its session was in the log book already')).toBeVisible({ timeout: 30_000 });
      await expect(page.locator('[data-testid="sessions"] tbody tr')).toHaveCount(1);
    } finally {
      await other.stop();
    }
  });

  test('when it is looked at by axe, then nothing is found in either theme', async ({ page }) => {
    await open(page);
    await expectAxeClean(page);
  });

  test('when a row is chosen by keyboard, then it is selected, and its run opens in Review', async ({ page }) => {
    await open(page);
    await page.locator('[data-testid="sessions"] tbody tr').first().focus();
    await page.keyboard.press('Enter');
    await expect(page.locator('[data-testid="sessions"] tbody tr').first()).toHaveAttribute('aria-selected', 'true');
    await page.getByRole('button', { name: 'Open run 1 in Review' }).click();
    await expect(page.getByTestId('review')).toBeVisible({ timeout: 20_000 });
    await expect(page.getByTestId('provenance')).toHaveText('REPLAY');
  });
});
