/** What the specs of Rig, Review, Train and Logbook share. */
import AxeBuilder from '@axe-core/playwright';
import { expect, type Page } from '@playwright/test';
import type { RunningApp } from './app.ts';

/** Opens a place with the first-run notice read, as on every day but the first. */
export async function openPlace(page: Page, app: RunningApp, place: string): Promise<void> {
  await page.addInitScript(() => {
    if (localStorage.getItem('runstand.settings') === null) {
      localStorage.setItem('runstand.settings', JSON.stringify({ noticeRead: '1' }));
    }
  });
  await page.goto(app.url);
  await expect(page.getByTestId('health')).toBeVisible();
  await page.getByTestId(`place-${place}`).click();
}

/** No finding of axe in either theme. Alarms that blink are looked at elsewhere. */
export async function expectAxeClean(page: Page): Promise<void> {
  for (let theme = 0; theme < 2; theme++) {
    const { violations } = await new AxeBuilder({ page }).analyze();
    const found = violations.map((v) => `${v.id}: ${v.nodes.map((n) => n.target.join(' ')).join('; ')}`);
    expect(found).toEqual([]);
    await page.getByTestId('theme').click();
  }
}

/** Session time that the transport shows, µs. */
export async function replayTime_us(page: Page): Promise<number> {
  return Number(await page.getByTestId('replay-time').getAttribute('data-us'));
}

/** Plays a scenario fast until the alarm list or the band shows what is waited for, then ends the session. */
export async function endSession(page: Page): Promise<void> {
  await page.getByTestId('place-rig').click();
  await page.getByTestId('disconnect').click();
  await expect(page.getByTestId('source-state')).toHaveAttribute('data-state', 'none');
}
