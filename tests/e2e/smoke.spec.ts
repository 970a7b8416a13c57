/** The page comes up through the browser door, under its content policy. */
import { expect, test } from '@playwright/test';
import { type RunningApp, startApp } from './support/app.ts';

let app: RunningApp;
test.beforeAll(async () => {
  app = await startApp();
});
test.afterAll(() => app?.stop());

test('given the printed address, when it is opened, then all five places show and nothing is refused or fails', async ({
  page,
}) => {
  const complaints: string[] = [];
  page.on('console', (message) => {
    if (message.type() === 'error' || /Content Security Policy/i.test(message.text())) complaints.push(message.text());
  });
  page.on('pageerror', (error) => complaints.push(error.message));
  page.on('requestfailed', (request) => complaints.push(`${request.url()}: ${request.failure()?.errorText}`));

  await page.goto(app.url);
  await page.getByTestId('first-run-read').click();
  const places = page.getByRole('navigation', { name: 'Places' });
  for (const place of ['Rig', 'Run', 'Review', 'Train', 'Logbook']) {
    await places.getByRole('link', { name: place }).click();
    await expect(page.getByRole('main', { name: place })).toBeVisible();
    await expect(page.getByRole('heading', { name: place, level: 1 })).toBeVisible();
  }
  await expect(page.getByText('SIMULATED').first()).toBeVisible();
  expect(complaints).toEqual([]);
});

test('given an open page, when it has taken the token, then the address no longer shows it, and a reload still works', async ({
  page,
}) => {
  await page.goto(app.url);
  await expect(page.getByText('SIMULATED').first()).toBeVisible();
  expect(page.url()).not.toContain('token');
  await page.reload();
  await expect(page.getByText('SIMULATED').first()).toBeVisible();
});

test('given a page of another origin, when it tries the bridge, then it is not let in', async ({ page }) => {
  const { port } = new URL(app.url);
  const token = new URL(app.url).hash.slice('#token='.length);
  // The token is given away on purpose: the Origin alone must stop it.
  await page.route('http://evil.example/', (route) => route.fulfill({ contentType: 'text/html', body: '<p>evil</p>' }));
  await page.goto('http://evil.example/');
  const outcome = await page.evaluate(
    (address) =>
      new Promise<string>((resolve) => {
        const socket = new WebSocket(address);
        socket.onopen = () => resolve('open');
        socket.onerror = () => resolve('refused');
      }),
    `ws://127.0.0.1:${port}/bridge?token=${token}`,
  );
  expect(outcome).toBe('refused');
});
