/** The Review place: a recorded session on the board, moved through time, measured, its alarms found again. */
import { expect, type Page, test } from '@playwright/test';
import { type RunningApp, startApp } from './support/app.ts';
import { endSession, expectAxeClean, openPlace, replayTime_us } from './support/places.ts';

let app: RunningApp;
test.beforeAll(async ({ browser }) => {
  test.setTimeout(120_000);
  app = await startApp({ scenario: 'over-temperature', speed: 10 });
  const page = await browser.newPage();
  await openPlace(page, app, 'run');
  await expect(page.getByTestId('abort-band')).toBeVisible({ timeout: 60_000 });
  await endSession(page);
  await page.close();
});
test.afterAll(() => app.stop());

async function openReview(page: Page): Promise<void> {
  await openPlace(page, app, 'logbook');
  await page.getByTestId('open-review').click();
  await expect(page.getByTestId('review')).toBeVisible({ timeout: 20_000 });
  await expect(page.getByTestId('board-replay')).toBeVisible();
}

const boardValue = (page: Page, key: string) =>
  page.getByTestId('board-replay').getByTestId(`value-${key}`).locator('.figure').first();

test('given a session, when it is played at 20 times, then the board moves, and REPLAY stands on it', async ({
  page,
}) => {
  await openReview(page);
  await expect(page.getByTestId('provenance')).toHaveText('REPLAY');
  await expect(boardValue(page, 'rpm')).not.toHaveAttribute('data-value', 'none');
  await page.getByTestId('replay-speed-20').click();
  const before_us = await replayTime_us(page);
  await page.getByTestId('play').click();
  await expect.poll(() => replayTime_us(page)).toBeGreaterThan(before_us + 20e6);
  await page.getByTestId('play').click();
  await expect(page.getByTestId('play')).toHaveText('Play');
});

test('given a session, when an abort flag is clicked, then the replay lands there, with the advisory as it came', async ({
  page,
}) => {
  await openReview(page);
  const flag = page.locator('[data-testid="flag-alarm"][data-level="abort"]').first();
  const at_us = Number(await flag.getAttribute('data-us'));
  await flag.click();
  await expect.poll(() => replayTime_us(page)).toBe(at_us);
  await expect(page.getByTestId('replay-advisory')).toContainText('Over-temperature');
  // The hottest head had just passed its limit of 220 °C.
  const cht1_degC = async () => Number(await boardValue(page, 'cht1').getAttribute('data-value'));
  await expect.poll(cht1_degC).toBeGreaterThan(219);
  expect(await cht1_degC()).toBeLessThan(223);
  await page.getByTestId('advisory-whole').click();
  await expect(page.getByTestId('replay-advisory').getByTestId('band-imperative')).toHaveText('Close the throttle now');
});

test('given a paused replay, when keys are pressed, then it steps, plays and pauses', async ({ page }) => {
  await openReview(page);
  const start_us = await replayTime_us(page);
  await page.locator('#place').focus();
  await page.keyboard.press('Shift+ArrowRight');
  await expect.poll(() => replayTime_us(page)).toBe(start_us + 10e6);
  await page.keyboard.press('ArrowLeft');
  await expect.poll(() => replayTime_us(page)).toBe(start_us + 9e6);
  await page.keyboard.press('Space');
  await expect(page.getByTestId('play')).toHaveText('Pause');
  await page.keyboard.press('Space');
  await expect(page.getByTestId('play')).toHaveText('Play');
});

test('given the scrub bar, when it is dragged, then the replay follows, and stays where it is let go', async ({
  page,
}) => {
  await openReview(page);
  const bar = page.getByTestId('scrub');
  const box = await bar.boundingBox();
  if (!box) throw new Error('the scrub bar has no place');
  const y = box.y + box.height / 2;
  const duration_s = Number(await bar.getAttribute('aria-valuemax'));
  await page.mouse.move(box.x + box.width * 0.1, y);
  await page.mouse.down();
  await page.mouse.move(box.x + box.width * 0.4, y, { steps: 4 });
  await page.mouse.move(box.x + box.width * 0.5, y, { steps: 4 });
  await page.mouse.up();
  await expect.poll(async () => (await replayTime_us(page)) / 1e6 / duration_s).toBeCloseTo(0.5, 1);
  await bar.press('Home');
  await expect.poll(() => replayTime_us(page)).toBe(0);
});

test('given trends and events, when A and B are set, then what lies between is measured', async ({ page }) => {
  await openReview(page);
  await page.getByTestId('tab-measure').click();
  await expect(page.getByTestId('measure-plot')).toBeVisible();
  await page.getByTestId('step-10').click();
  const a_us = await pollMoved(page, 0);
  await page.getByTestId('set-a').click();
  await page.getByTestId('step-10').click();
  await pollMoved(page, a_us);
  await page.getByTestId('set-b').click();
  const rpm = page.getByTestId('measured-rpm').locator('td.number');
  await expect(rpm.first()).not.toHaveText('…');
  // Full throttle, steady: about 6,300 rpm on the demo rig.
  const mean = Number((await rpm.last().textContent())?.replace(/[^\d.]/g, ''));
  expect(mean).toBeGreaterThan(5500);
  expect(mean).toBeLessThan(7000);
  await page.getByTestId('zoom-ab').click();
  await expect(page.getByTestId('zoom-whole')).toBeEnabled();
  await page.getByTestId('zoom-whole').click();
  await expect(page.getByTestId('zoom-whole')).toBeDisabled();
});

async function pollMoved(page: Page, from_us: number): Promise<number> {
  await expect.poll(() => replayTime_us(page)).toBeGreaterThan(from_us);
  return replayTime_us(page);
}

test('given the event list, when an alarm is chosen, then the replay goes there and the line is marked', async ({
  page,
}) => {
  await openReview(page);
  await page.getByTestId('tab-measure').click();
  for (const group of ['operator', 'commands', 'runs', 'link', 'advisories']) {
    await page.getByTestId(`events-${group}`).uncheck();
  }
  const line = page.locator('[data-testid="event-alarms"][data-level="caution"]').first();
  await line.click();
  await expect.poll(() => replayTime_us(page)).toBe(Number(await line.getAttribute('data-us')));
  await expect(page.locator('.event-line[aria-current="step"]')).toHaveCount(1);
});

test('given a session in review, when another place is shown and Review again, then it is still open where it was', async ({
  page,
}) => {
  await openReview(page);
  await page.getByTestId('step-10').click();
  const at_us = await pollMoved(page, 3e6);
  await page.getByTestId('place-run').click();
  await page.getByTestId('place-review').click();
  await expect(page.getByTestId('review')).toBeVisible();
  expect(await replayTime_us(page)).toBe(at_us);
  await page.getByTestId('another-session').click();
  await expect(page.getByTestId('chooser')).toBeVisible();
});

test('given an address of a session that is not there, when it is opened, then it is said, with a way on', async ({
  page,
}) => {
  await openPlace(page, app, 'review');
  await page.evaluate(() => {
    location.hash = '#/review/20000101-000000-0000';
  });
  await expect(page.getByTestId('review-failed')).toBeVisible();
  await page.getByRole('button', { name: 'Choose another session' }).click();
  await expect(page.getByTestId('chooser')).toBeVisible();
});

for (const tab of ['board', 'measure']) {
  test(`given ${tab} in Review, when it is looked at by axe, then nothing is found in either theme`, async ({
    page,
  }) => {
    await openReview(page);
    await page.locator('[data-testid="flag-alarm"][data-level="abort"]').first().click();
    await expect(page.getByTestId('replay-advisory')).toBeVisible();
    await page.getByTestId(`tab-${tab}`).click();
    await page.waitForLoadState('networkidle');
    await expectAxeClean(page);
  });
}

test('given a replay, when the page loses the host and finds it again, then it stands where it stood', async ({
  page,
}) => {
  let cut = (): void => {};
  await page.routeWebSocket(/\/bridge/, (socket) => {
    const host = socket.connectToServer();
    cut = () => {
      void socket.close();
      void host.close();
    };
  });
  await openReview(page);
  await page.getByTestId('step-10').click();
  const at_us = await pollMoved(page, 3e6);
  cut();
  await expect(page.getByTestId('connection-lost')).toBeVisible();
  await page.getByRole('button', { name: 'Try now' }).click();
  await expect(page.getByTestId('connection-lost')).toBeHidden();
  await expect(page.getByTestId('review')).toBeVisible();
  await expect.poll(() => replayTime_us(page)).toBe(at_us);
});

test('given two windows, when the second opens another session, then the first says so and can take it back', async ({
  page,
  context,
}) => {
  await openReview(page);
  const id = (await page.getByTestId('review').getAttribute('data-session')) ?? '';
  const second = await context.newPage();
  await openPlace(second, app, 'train');
  await second.getByTestId('train-free').click();
  await second.getByTestId('start-scenario').click();
  await expect(second.getByTestId('simulator-on')).toBeVisible();
  await second.getByTestId('place-logbook').click();
  await expect(second.locator('[data-testid="sessions"] tbody tr')).toHaveCount(2);
  await second.getByTestId('open-review').click();
  await expect(second.getByTestId('review')).toBeVisible({ timeout: 20_000 });
  await expect(page.getByTestId('review-taken')).toBeVisible();
  await page.getByRole('button', { name: 'Open this one again' }).click();
  await expect(page.getByTestId('review')).toHaveAttribute('data-session', id);
  await second.close();
  await endSession(page);
});

test.describe('given a session that is still being recorded', () => {
  let live: RunningApp;
  test.beforeAll(async () => {
    live = await startApp({ scenario: 'warm-idle', speed: 5 });
  });
  test.afterAll(() => live.stop());

  test('when an alarm comes while it is reviewed, then its history, flags and events have it, and the replay goes there', async ({
    page,
    context,
  }) => {
    await openPlace(page, live, 'review');
    await page
      .getByTestId(/^review-open-\d/)
      .first()
      .click();
    await expect(page.getByTestId('review')).toContainText('still being recorded', { timeout: 20_000 });
    const before_s = Number(await page.getByTestId('scrub').getAttribute('aria-valuemax'));
    await page.getByTestId('tab-alarms').click();
    await expect(page.getByTestId('review')).not.toContainText('CHT 1');

    const second = await context.newPage();
    await openPlace(second, live, 'train');
    await second.getByTestId('train-free').click();
    await second.getByTestId('toggle-cht-open').click();
    await expect(second.getByTestId('active-faults')).toHaveText('1 fault in');
    await second.close();

    // Nobody touches the page that reviews.
    await expect(page.getByTestId('history-table')).toContainText('CHT 1', { timeout: 20_000 });
    await expect(page.getByTestId('alarms-standing')).toContainText('CHT 1');
    const flag = page.getByTestId('flag-alarm').last();
    await expect(flag).toBeVisible();
    const at_us = Number(await flag.getAttribute('data-us'));
    expect(at_us / 1e6).toBeGreaterThan(before_s);
    await flag.click();
    await expect.poll(() => replayTime_us(page)).toBe(at_us);
    await page.getByTestId('tab-measure').click();
    await expect(page.getByTestId('event-alarms').first()).toContainText('CHT 1');

    await endSession(page);
    await page.getByTestId('place-review').click();
    await expect(page.getByTestId('review')).not.toContainText('still being recorded');
  });
});
