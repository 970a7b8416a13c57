/** What the operator does with alarms besides acknowledging: shelve, silence, cool down, fire; and a reload in the middle. */
import AxeBuilder from '@axe-core/playwright';
import { expect, type Page, test } from '@playwright/test';
import { type RunningApp, startApp } from './support/app.ts';
import { endSession } from './support/places.ts';

async function openRun(page: Page, app: RunningApp): Promise<void> {
  await page.addInitScript(() => {
    localStorage.setItem('runstand.settings', JSON.stringify({ noticeRead: '1' }));
  });
  await page.goto(app.url);
  await expect(page.getByTestId('run')).toBeVisible();
}

async function expectAxeOf(page: Page, testId: string): Promise<void> {
  const { violations } = await new AxeBuilder({ page }).include(`[data-testid=${testId}]`).analyze();
  expect(violations.map((v) => `${v.id}: ${v.nodes.map((n) => n.target.join(' ')).join('; ')}`)).toEqual([]);
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

  test('when it is taken out of service, then it stays so until it is put back, and its history tells both', async ({
    page,
  }) => {
    await openRun(page, app);
    await page.getByTestId(/^shelve-head-sensors/).click();
    await page.getByTestId(/^shelve-for-/).selectOption('0');
    await page.getByTestId(/^shelve-reason-/).fill('probe is broken, on order');
    await page.getByTestId(/^shelve-do-/).click();
    const aside = page.getByTestId('set-aside');
    await expect(aside).toContainText('out of service by operator 1: probe is broken, on order');
    await expect(aside).not.toContainText('left');
    await page.getByTestId('alarm-history-open').click();
    const history = page.getByTestId('alarm-history-dialog');
    await expect(history.getByTestId('history-table')).toContainText('out of service', { timeout: 15_000 });
    await expect(history).toContainText('Raised most often');
    await expectAxeOf(page, 'alarm-history-dialog');
    await page.keyboard.press('Escape');
    await page.getByTestId(/^put-back-/).click();
    await expect(page.getByTestId(/^alarm-head-sensors/)).toBeVisible();
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
    await expect(page.getByTestId('shelve-refused-rpm-abort')).toContainText('never shelved');
    await expect(page.getByTestId('shelve-do-rpm-abort')).toBeDisabled();
    await page.getByTestId('shelve-for-rpm-abort').selectOption('0');
    await expect(page.getByTestId('shelve-refused-rpm-abort')).toContainText('stays in service while the engine turns');
    // The band lets a press settle before it counts.
    await expect(async () => {
      await page.getByTestId('act-cut').click();
      await expect(page.getByTestId('step-cut')).toHaveAttribute('data-state', 'done-by-channel', { timeout: 1500 });
    }).toPass();
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
    await expect(page.getByTestId('cool-down-proof')).toContainText(/Hottest head \d+\u2009°C/);
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

test.describe('given an overspeed that nobody answers', () => {
  let app: RunningApp;
  test.beforeEach(async () => {
    app = await startApp({ scenario: 'overspeed', speed: 4 });
  });
  test.afterEach(() => app.stop());

  test('when steps are overdue, then the band insists without flashing text, keys alone complete it, and the log holds every step with its time', async ({
    page,
  }) => {
    await openRun(page, app);
    const band = page.getByTestId('abort-band');
    await expect(band).toBeVisible({ timeout: 25_000 });
    await expect(band).toHaveAttribute('data-escalation', '2', { timeout: 25_000 });
    await expect(page.getByTestId('band-insists')).toContainText('Long overdue: cut the ignition.');
    await expect(page.getByTestId('band-insists')).toContainText('act at the stand by its stop circuit');
    await expect(page.getByTestId('step-cut')).toHaveAttribute('data-overdue', 'true');
    // Nothing in the band moves by itself.
    const animated = await band.evaluate(
      (element) =>
        [element, ...element.querySelectorAll('*')].filter((each) => getComputedStyle(each).animationName !== 'none')
          .length,
    );
    expect(animated).toBe(0);
    await expectAxeOf(page, 'abort-band');

    const press = async (key: string, step: string, state: string): Promise<void> => {
      await expect(async () => {
        await page.keyboard.press(key);
        await expect(page.getByTestId(`step-${step}`)).toHaveAttribute('data-state', state, { timeout: 1200 });
      }).toPass();
    };
    await expect(page.getByTestId('act-cut')).toBeFocused();
    await press('Enter', 'cut', 'done-by-channel');
    // One large key does for every step: its own button is under the hand each time, and nothing needs two keys.
    await expect(page.getByTestId('act-close')).toBeFocused();
    await press('Enter', 'close', 'done-by-channel');
    await expect(page.getByTestId('step-stopped')).toHaveAttribute('data-state', 'done-by-channel', {
      timeout: 20_000,
    });
    await press('Enter', 'clear', 'done-by-operator');
    await press('c', 'inspect', 'done-by-operator');
    await expect(band).toHaveAttribute('data-done', 'true');
    await expect(band).toHaveAttribute('data-escalation', '0');
    await expect(async () => {
      await page.keyboard.press('x');
      await expect(band).toBeHidden({ timeout: 1000 });
    }).toPass();

    await endSession(page);
    await page.getByTestId('place-review').click();
    await page
      .getByTestId(/^review-open-\d/)
      .first()
      .click();
    await page.getByTestId('tab-measure').click();
    for (const group of ['alarms', 'operator', 'commands', 'runs', 'link'])
      await page.getByTestId(`events-${group}`).uncheck();
    const lines = page.getByTestId('event-advisories');
    await expect(lines.first()).toBeVisible();
    const told = await lines.allTextContents();
    const times_us = await lines.evaluateAll((all) => all.map((each) => Number((each as HTMLElement).dataset.us)));
    for (const step of [
      'Cut the ignition',
      'Close the throttle',
      'Watch the rpm fall',
      'Keep everybody out',
      'Check propeller',
    ]) {
      expect(told.filter((line) => line.includes(step)).length, step).toBeGreaterThan(0);
    }
    expect(told.join(' ')).toMatch(/overdue/i);
    expect(times_us.every((t_us) => t_us > 0)).toBe(true);
    expect(times_us).toEqual([...times_us].sort((a, b) => a - b));
  });

  test('when a fire is called while it runs, then the graver leads and the other waits in sight', async ({ page }) => {
    await openRun(page, app);
    const band = page.getByTestId('abort-band');
    await expect(band).toBeVisible({ timeout: 25_000 });
    await page.getByTestId('raise-fire').click();
    await page.getByTestId('raise-fire-do').click();
    await expect(page.getByTestId('band-other')).toHaveCount(1);
    // By the ranks of the demo rig's plans.
    await expect(band).toHaveAttribute('data-cause', 'fire');
    await expect(page.getByTestId('band-other')).toContainText('Overspeed');
    await page.reload();
    await expect(band).toHaveAttribute('data-cause', 'fire');
    await expect(page.getByTestId('band-other')).toHaveCount(1);
  });
});
