/** The Run place on a running simulator: live values, the abort band by keyboard alone, alarms, marks, outputs. */
import AxeBuilder from '@axe-core/playwright';
import { expect, type Page, test } from '@playwright/test';
import { type RunningApp, startApp } from './support/app.ts';

/** Opens the page with the first-run notice read, as on every day but the first. */
async function openRun(page: Page, app: RunningApp): Promise<void> {
  await page.addInitScript(() => {
    localStorage.setItem('runstand.settings', JSON.stringify({ noticeRead: '1' }));
  });
  await page.goto(app.url);
  await expect(page.getByTestId('run')).toBeVisible();
}

function figure(page: Page, key: string) {
  return page.getByTestId('board-live').getByTestId(`value-${key}`).locator('.figure');
}

test.describe('given an engine at full throttle', () => {
  let app: RunningApp;
  test.beforeAll(async () => {
    app = await startApp({ scenario: 'full-throttle' });
  });
  test.afterAll(() => app.stop());

  test('when the page is opened for the first time, then the notice must be read before anything else', async ({
    page,
  }) => {
    await page.goto(app.url);
    const notice = page.getByTestId('first-run');
    await expect(notice).toContainText('This program is not the emergency stop. The stop circuit on the stand is.');
    await page.keyboard.press('Escape');
    await expect(notice).toBeVisible();
    await page.getByTestId('first-run-read').click();
    await expect(notice).toBeHidden();
    await page.reload();
    await expect(page.getByTestId('run')).toBeVisible();
    await expect(notice).toBeHidden();
  });

  test('when Run is shown, then values are live, within limits and said to be simulated', async ({ page }) => {
    await openRun(page, app);
    await expect(page.getByTestId('provenance')).toHaveText('SIMULATED');
    await expect(page.getByTestId('board-live').getByTestId('value-rpm')).toHaveAttribute('data-state', 'good');
    // The demo rig turns about 6,300 rpm at full throttle, static.
    await expect.poll(async () => Number(await figure(page, 'rpm').getAttribute('data-value'))).toBeGreaterThan(5500);
    const before = await figure(page, 'rpm').getAttribute('data-value');
    await expect.poll(() => figure(page, 'rpm').getAttribute('data-value')).not.toBe(before);
    await expect(page.getByTestId('run-state')).toContainText('Running');
    await expect(page.getByTestId('health-link')).toContainText('good');
  });

  test('when numbers are counted, then none is redrawn more than five times a second', async ({ page }) => {
    await openRun(page, app);
    await expect(figure(page, 'rpm')).toBeVisible();
    const changes = await figure(page, 'rpm').evaluate(
      (element) =>
        new Promise<number>((resolve) => {
          let count = 0;
          const observer = new MutationObserver(() => count++);
          observer.observe(element, { characterData: true, childList: true, subtree: true });
          setTimeout(() => resolve(count), 3000);
        }),
    );
    expect(changes).toBeGreaterThan(0);
    expect(changes).toBeLessThanOrEqual(16);
  });

  test('when M is pressed and words are written, then the mark is in the list with its time', async ({ page }) => {
    await openRun(page, app);
    await page.keyboard.press('m');
    await expect(page.getByTestId('mark-entry')).toBeFocused();
    // A digit in the entry is a digit, not the way to another place.
    await page.keyboard.type('lean at 3 quarters');
    await page.keyboard.press('Enter');
    await expect(page.getByTestId('marks')).toContainText('lean at 3 quarters');
    await page.keyboard.press('m');
    await page.keyboard.press('Enter');
    await expect(page.getByTestId('marks').getByText('Mark', { exact: true })).toBeVisible();
  });

  test('when the trends are held, then recording goes on and following starts again', async ({ page }) => {
    await openRun(page, app);
    await page.getByTestId('window-30').click();
    await page.getByTestId('trend-hold').click();
    await expect(page.getByTestId('trend-state')).toContainText('Recording goes on');
    await expect(page.getByTestId('health-recorder')).toContainText('on');
    await page.getByTestId('trend-hold').click();
    await expect(page.getByTestId('trend-state')).toHaveText('');
  });

  test('when outputs are unlocked by the two steps, then the throttle can be moved, and closed while locked again', async ({
    page,
  }) => {
    await openRun(page, app);
    await expect(page.getByTestId('outputs')).toHaveAttribute('data-live', 'false');
    await expect(page.getByTestId('throttle-slider')).toBeDisabled();
    await page.getByTestId('outputs-unlock').click();
    // A short press is not a decision.
    await page.getByTestId('outputs-confirm').click();
    await expect(page.getByTestId('outputs')).toHaveAttribute('data-live', 'false');
    await page.getByTestId('outputs-confirm').focus();
    await page.keyboard.down('Space');
    await expect(page.getByTestId('outputs')).toHaveAttribute('data-live', 'true');
    await page.keyboard.up('Space');
    // For how long it has been live, and what the panel is not.
    await expect(page.getByTestId('outputs-for')).toHaveText(/^\s*0:0[2-9]$/);
    await expect(page.getByTestId('outputs-word')).toContainText('Live for 0:0');
    await expect(page.getByTestId('acts')).toContainText('Not the emergency stop: that is hard-wired on the stand.');
    await page.getByTestId('throttle-minus-5').click();
    await expect(page.getByTestId('commands')).toContainText(/Throttle \d+/);
    await expect(page.getByTestId('commands').locator('[data-command=THROTTLE]').first()).toHaveAttribute(
      'data-outcome',
      'accepted',
    );
    await page.getByTestId('outputs-lock').click();
    await expect(page.getByTestId('outputs')).toHaveAttribute('data-live', 'false');
    await page.getByTestId('throttle-closed').click();
    await expect(page.getByTestId('commands').locator('li').first()).toContainText('Throttle closed: accepted');
  });

  for (const theme of ['day', 'cell']) {
    test(`when Run is checked in the ${theme} theme, then no rule of accessibility is broken`, async ({ page }) => {
      await page.addInitScript(
        (t) => localStorage.setItem('runstand.settings', JSON.stringify({ noticeRead: '1', theme: t })),
        theme,
      );
      await page.goto(app.url);
      await expect(page.getByTestId('run')).toBeVisible();
      const found = await new AxeBuilder({ page }).analyze();
      expect(found.violations.map((v) => `${v.id}: ${v.nodes.map((n) => n.html).join(' ')}`)).toEqual([]);
    });
  }
});

test.describe('given a cold engine at rest', () => {
  let app: RunningApp;
  test.beforeAll(async () => {
    app = await startApp({ scenario: 'standing' });
  });
  test.afterAll(() => app.stop());

  test('when the page is hidden while outputs are live, then they lock by themselves and say why; a refusal shows its reason', async ({
    page,
  }) => {
    await openRun(page, app);
    await page.getByTestId('outputs-unlock').click();
    await page.getByTestId('outputs-confirm').focus();
    await page.keyboard.down('Space');
    await expect(page.getByTestId('outputs')).toHaveAttribute('data-live', 'true');
    await page.keyboard.up('Space');
    await expect(page.getByTestId('outputs-word')).toContainText(/Live for 0:0\d, locks in 4:5\d without a command/);
    await page.getByTestId('ignition-on').click();
    await expect(page.getByTestId('commands').locator('[data-command=IGNITION]').first()).toContainText(
      'refused (the supply that this needs is off)',
    );
    const show = (state: 'hidden' | 'visible') =>
      page.evaluate((value) => {
        Object.defineProperty(document, 'visibilityState', { value, configurable: true });
        document.dispatchEvent(new Event('visibilitychange'));
      }, state);
    await show('hidden');
    await expect(page.getByTestId('outputs')).toHaveAttribute('data-live', 'false', { timeout: 8000 });
    await expect(page.getByTestId('outputs-word')).toHaveText('Locked: the page is hidden.');
    await show('visible');
    await page.getByTestId('ignition-off').click();
    await expect(page.getByTestId('commands').locator('li').first()).toContainText('Ignition off: accepted');
  });

  test('when the starter is held by a key, then it cranks while held, lets go with the key, and owes its rest', async ({
    page,
  }) => {
    await openRun(page, app);
    await expect(page.getByTestId('starter-hold')).toBeDisabled();
    await page.getByTestId('outputs-unlock').click();
    await page.getByTestId('outputs-confirm').focus();
    await page.keyboard.down('Space');
    await expect(page.getByTestId('outputs')).toHaveAttribute('data-live', 'true');
    await page.keyboard.up('Space');
    await page.getByTestId('switch-supply').click();
    await expect(page.getByTestId('switch-supply')).toContainText('on');
    const starter = page.getByTestId('starter');
    // The list before the start is open.
    await expect(page.getByTestId('starter-duty')).toHaveText(/^list: \d+ open$/);
    await expect(page.getByTestId('starter-hold')).toBeDisabled();
    for (const item of await page.getByTestId('checklist').getByRole('checkbox').all()) await item.check();
    await expect(page.getByTestId('starter-duty')).toHaveText('ready, 8 s');
    await page.getByTestId('starter-hold').focus();
    await page.keyboard.down('Space');
    await expect(starter).toHaveAttribute('data-engaged', 'true');
    // Longer than the half second after which the host lets go of a page that fell silent.
    await expect(page.getByTestId('starter-duty')).toHaveText(/^[4-6] s left$/, { timeout: 6000 });
    await expect(starter).toHaveAttribute('data-engaged', 'true');
    await page.keyboard.up('Space');
    await expect(starter).toHaveAttribute('data-engaged', 'false', { timeout: 1500 });
    await expect(page.getByTestId('starter-duty')).toContainText('rest 1:');
    await expect(page.getByTestId('starter-hold')).toBeDisabled();
  });

  test('when an item is ticked and the rest is overridden, then both are recorded', async ({ page }) => {
    await openRun(page, app);
    for (const item of await page.getByTestId('checklist').getByRole('checkbox').all()) await item.uncheck();
    await page.getByTestId('check-plane').locator('input').check();
    await expect(page.getByTestId('check-plane')).toHaveAttribute('data-state', 'done');
    await page.reload();
    await expect(page.getByTestId('check-plane')).toHaveAttribute('data-state', 'done');
    await page.getByTestId('override').click();
    await page.getByTestId('override-reason').fill('bench test without engine');
    await page.keyboard.press('Enter');
    await expect(page.getByTestId('override-reason')).toBeHidden();
    await expect(page.getByTestId('overridden')).toContainText('left open for this run');
    await expect(page.getByTestId('message')).toHaveCount(0);
  });

  // The last one here: an abort advisory stays until its steps are done.
  test('when an abort advisory comes up, then outputs lock by themselves and stay locked, and safe acts go on working', async ({
    page,
  }) => {
    await openRun(page, app);
    const goLive = async (): Promise<void> => {
      await page.getByTestId('outputs-unlock').click();
      await page.getByTestId('outputs-confirm').focus();
      await page.keyboard.down('Space');
      await expect(page.getByTestId('outputs-confirm')).toBeHidden();
      await page.keyboard.up('Space');
    };
    // A page that comes within the grace of a reload finds the outputs as the one before left them.
    await expect(page.getByTestId('outputs-word')).not.toHaveText('');
    if ((await page.getByTestId('outputs').getAttribute('data-live')) === 'true') {
      await page.getByTestId('outputs-lock').click();
    }
    await goLive();
    await expect(page.getByTestId('outputs')).toHaveAttribute('data-live', 'true');
    await page.getByTestId('raise-fire').click();
    await page.getByTestId('raise-fire-do').click();
    await expect(page.getByTestId('abort-band')).toBeVisible();
    await expect(page.getByTestId('outputs')).toHaveAttribute('data-live', 'false');
    await expect(page.getByTestId('outputs-word')).toHaveText('Locked: advisory running: Fire.');
    await goLive();
    await expect(page.getByTestId('message').first()).toContainText('the advisory "Fire" is running');
    await expect(page.getByTestId('outputs')).toHaveAttribute('data-live', 'false');
    await page.getByTestId('ignition-off').click();
    await expect(page.getByTestId('commands').locator('li').first()).toContainText('Ignition off: accepted');
  });
});

test.describe('given a propeller that unloads at full throttle', () => {
  let app: RunningApp;
  test.beforeEach(async () => {
    app = await startApp({ scenario: 'overspeed', speed: 4 });
  });
  test.afterEach(() => app.stop());

  test('when the overspeed trips, then the operator answers it by keyboard alone, in any place', async ({ page }) => {
    await openRun(page, app);
    await page.keyboard.press('5');
    const band = page.getByTestId('abort-band');
    await expect(band).toBeVisible({ timeout: 25_000 });
    await expect(band).toHaveAttribute('data-cause', 'overspeed');
    await expect(page.getByTestId('band-imperative')).toHaveText('Cut the ignition now');
    await expect(page.getByTestId('band-cause')).toContainText('7\u2009000');
    await expect(band).toContainText('Not the emergency stop');
    // It pushes the rest down and covers nothing.
    const bandBox = await band.boundingBox();
    const placeBox = await page.locator('#place').boundingBox();
    expect(placeBox?.y).toBeGreaterThanOrEqual((bandBox?.y ?? 0) + (bandBox?.height ?? 0) - 1);
    // Vital values stay in sight.
    for (const key of ['rpm', 'thrust']) await expect(band.getByTestId(`value-${key}`)).toBeVisible();
    const clear = await new AxeBuilder({ page }).include('[data-testid=abort-band]').analyze();
    expect(clear.violations.map((v) => v.id)).toEqual([]);

    await expect(page.getByTestId('act-cut')).toBeFocused();
    // The band lets a key settle before it counts: no stroke meant for something else confirms a step.
    await expect(async () => {
      await page.keyboard.press('Enter');
      await expect(page.getByTestId('step-cut')).toHaveAttribute('data-state', 'done-by-channel', { timeout: 1500 });
    }).toPass();
    await page.keyboard.press('Shift+T');
    await expect(page.getByTestId('step-close')).toHaveAttribute('data-state', 'done-by-channel');
    await expect(page.getByTestId('step-stopped')).toHaveAttribute('data-state', 'done-by-channel', {
      timeout: 15_000,
    });
    await expect(page.getByTestId('confirm-step')).toBeFocused();
    await expect(async () => {
      await page.keyboard.press('c');
      await expect(page.getByTestId('step-clear')).toHaveAttribute('data-state', 'done-by-operator', { timeout: 1000 });
    }).toPass();
    await expect(async () => {
      await page.keyboard.press('c');
      await expect(page.getByTestId('step-inspect')).toHaveAttribute('data-state', 'done-by-operator', {
        timeout: 1000,
      });
    }).toPass();
    await expect(band).toHaveAttribute('data-done', 'true');
    await expect(async () => {
      await page.keyboard.press('x');
      await expect(band).toBeHidden({ timeout: 1000 });
    }).toPass();

    await page.keyboard.press('2');
    const alarm = page.getByTestId('alarm-rpm-abort');
    await expect(alarm).toHaveAttribute('data-level', 'abort');
    await expect(alarm).toContainText('first-out');
    await page.keyboard.press('a');
    // Latched: acknowledged it stays, until the operator resets it.
    await expect(alarm).toHaveAttribute('data-state', 'latched');
    await page.getByTestId('reset-alarms').click();
    await expect(alarm).toHaveCount(0);
  });
});

test.describe('given an open page', () => {
  let app: RunningApp;
  test.beforeEach(async () => {
    app = await startApp({ scenario: 'warm-idle' });
  });

  test('when the host ends, then the page says so and strikes its values', async ({ page }) => {
    await openRun(page, app);
    await expect(page.getByTestId('board-live').getByTestId('value-rpm')).toHaveAttribute('data-state', 'good');
    await app.kill();
    await expect(page.getByTestId('connection-lost')).toBeVisible();
    await expect(page.getByTestId('board-live').getByTestId('value-rpm')).toHaveAttribute('data-state', 'stale');
    await expect(figure(page, 'rpm')).toHaveAttribute('data-value', 'none');
  });

  test('when the connection breaks, then it returns by itself and the values are good again', async ({ page }) => {
    let cut: (() => void) | null = null;
    let connections = 0;
    await page.routeWebSocket(/\/bridge/, (socket) => {
      connections++;
      const server = socket.connectToServer();
      cut = () => {
        void socket.close();
        void server.close();
      };
    });
    await openRun(page, app);
    await expect(page.getByTestId('board-live').getByTestId('value-rpm')).toHaveAttribute('data-state', 'good');
    (cut as (() => void) | null)?.();
    await expect.poll(() => connections).toBe(2);
    await expect(page.getByTestId('connection-lost')).toBeHidden();
    await expect(page.getByTestId('board-live').getByTestId('value-rpm')).toHaveAttribute('data-state', 'good');
    await app.stop();
  });
});
