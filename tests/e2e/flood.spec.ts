/** A flood of alarms: more than 10 in 10 minutes (ANSI/ISA-18.2 clause 16, as openly described) is marked in the list. */
import { expect, test } from '@playwright/test';
import { startApp } from './support/app.ts';
import { openPlace } from './support/places.ts';

test('given a lead that breaks again and again, when the eleventh alarm of ten minutes comes, then the list says flood', async ({
  page,
  context,
}) => {
  const app = await startApp({ scenario: 'warm-idle', speed: 5 });
  try {
    await openPlace(page, app, 'run');
    await expect(page.getByTestId('alarm-count')).toHaveText('none');
    const flood = page.getByTestId('flood');
    const hand = await context.newPage();
    await openPlace(hand, app, 'train');
    await hand.getByTestId('train-free').click();
    const alarm = page.getByTestId(/^alarm-head-sensors/);
    const flip = async (isOn: boolean): Promise<void> => {
      await hand.getByTestId('toggle-cht-open').click();
      await expect(hand.getByTestId('sim-fault-cht-open')).toHaveAttribute('data-on', String(isOn));
      if (isOn) await expect(alarm).toHaveAttribute('data-active', 'true');
      else await expect(page.locator('.alarm-list li[data-active="true"]')).toHaveCount(0);
    };
    for (let times = 1; times <= 10; times++) {
      await expect(flood).toBeHidden();
      await flip(true);
      await flip(false);
    }
    await expect(flood).toBeHidden();
    await flip(true);
    await expect(flood).toContainText('Flood: 11 alarms in ten minutes. See to the gravest first.');
  } finally {
    await app.stop();
  }
});
