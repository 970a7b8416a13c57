/**
 * The whole way on a real terminal device: a bench whose author had only
 * PROTOCOL.md, the app on its port, and its values and switches on the Run page.
 */
import { expect, type Locator, type Page, test } from '@playwright/test';
import { openPty, type Pty } from '../support/pty.ts';
import { StrangerBench } from '../support/stranger-bench.ts';
import { type RunningApp, startApp } from './support/app.ts';
import { boardSizes, expectFaultWordsWhole } from './support/fault-words.ts';

test.skip(process.platform === 'win32', 'there are no pseudo-terminal devices to open by a path');

let pty: Pty;
let bench: StrangerBench;
let app: RunningApp;
let beat: ReturnType<typeof setInterval>;

test.beforeAll(async () => {
  pty = await openPty();
  bench = new StrangerBench({ boot: '00A7' });
  // 1,900 rpm.
  bench.setReading('n_prop', 31.667);
  const began_ms = performance.now();
  let taken = 0;
  beat = setInterval(() => {
    const received = pty.received();
    const fresh = received.subarray(taken);
    taken = received.length;
    pty.write(bench.receive(fresh, (performance.now() - began_ms) * 1000));
  }, 10);
  app = await startApp({ port: pty.path });
});

test.afterAll(async () => {
  await app?.stop();
  clearInterval(beat);
  await pty?.close();
});

async function openRun(page: Page): Promise<void> {
  await page.addInitScript(() => {
    localStorage.setItem('runstand.settings', JSON.stringify({ noticeRead: '1' }));
  });
  await page.goto(app.url);
  await expect(page.getByTestId('run')).toBeVisible();
}

function value(page: Page, key: string): Locator {
  return page.getByTestId('board-live').getByTestId(`value-${key}`);
}

async function shown(page: Page, key: string): Promise<number> {
  return Number(await value(page, key).locator('.figure').first().getAttribute('data-value'));
}

// Factors: kilogram-force 9.80665 N and [degF] = (°C · 1.8) + 32, NIST SP 811 (2008), appendix B.
// Before any sensor is broken: while an abort advisory runs, outputs stay locked.
test('given outputs made live, when they are locked again, then the stranger saw lease and throttle and closed it', async ({
  page,
}) => {
  await openRun(page);
  bench.setLevel('servo', '1');
  await page.getByTestId('outputs-unlock').click();
  await page.getByTestId('outputs-confirm').focus();
  await page.keyboard.down('Space');
  await expect(page.getByTestId('outputs')).toHaveAttribute('data-live', 'true');
  await page.keyboard.up('Space');
  await expect(page.getByTestId('input-lease')).toContainText('held');
  await page.getByTestId('throttle-plus-5').click();
  await expect(page.getByTestId('commands').locator('[data-command=THROTTLE]').first()).toHaveAttribute(
    'data-outcome',
    'accepted',
  );
  await expect.poll(() => shown(page, 'travel')).toBe(5);
  await page.getByTestId('outputs-lock').click();
  await expect(page.getByTestId('input-lease')).toContainText('free');
  await expect.poll(() => shown(page, 'travel')).toBe(0);
  expect(bench.executed).toContain('THROTTLE 50');
});

test('given the stranger on the port, when Run is shown, then its values are live in our units', async ({ page }) => {
  await openRun(page);
  await expect(page.getByTestId('provenance')).toHaveText('LIVE');
  await expect(page.getByTestId('health-link')).toContainText('good');
  for (const [key, expected, decimals] of [
    ['n_prop', 1900.02, 6],
    ['pull', 31.8712 * 9.80665, 6],
    ['head_rear', 185.5, 6],
    ['head_left', 178.22, 6],
    ['head_front', 181, 6],
    ['flow', 4.275, 6],
    ['baro', 941.17, 6],
    ['case_vac', -12.5, 6],
  ] as const) {
    await expect.poll(() => shown(page, key), key).toBeCloseTo(expected, decimals);
    await expect(value(page, key)).toHaveAttribute('data-state', 'good');
  }
  await expect(value(page, 'case_vac')).toContainText('mm[Hg]');
  bench.setReading('n_prop', 100);
  await expect.poll(() => shown(page, 'n_prop')).toBe(6000);
});

test('given a lead that breaks and a door that opens, when Run is shown, then both are said in words', async ({
  page,
}) => {
  await openRun(page);
  await expect(page.getByTestId('input-fuel_door')).toContainText('shut');
  bench.setReading('head_left', 'O');
  bench.setLevel('fuel_door', '1');
  await expect(value(page, 'head_left')).toHaveAttribute('data-state', 'failed');
  await expect(value(page, 'head_left')).toContainText('open');
  await expect(page.getByTestId('input-fuel_door')).toContainText('ajar');
});

test('given sensors that fail in every way, when Run is shown in either size, then each is said in a whole word', async ({
  page,
}) => {
  await openRun(page);
  const failed = [
    ['head_rear', 'O', 'open'],
    ['head_front', 'S', 'short'],
    ['exhaust_a', 'V', 'over'],
    ['oat', 'U', 'under'],
    ['crank_amp', 'X', 'stale'],
  ] as const;
  for (const [key, state] of failed) bench.setReading(key, state);
  for (const size of boardSizes) {
    await page.setViewportSize(size);
    for (const [key, , word] of failed) {
      await expect(value(page, key).locator('.fault-word'), key).toHaveText(word);
    }
    await expectFaultWordsWhole(page);
  }
});
