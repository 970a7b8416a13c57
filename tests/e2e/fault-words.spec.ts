/** The word for a failed sensor is never cut off, however it failed and whatever stands beside it. */
import { rmSync } from 'node:fs';
import { expect, test } from '@playwright/test';
import { startApp } from './support/app.ts';
import { boardSizes, expectFaultWordsWhole } from './support/fault-words.ts';
import { openPlace } from './support/places.ts';

test('given every value of the demonstration rig struck out, when any word stands in any line, then it is whole in both sizes', async ({
  page,
}) => {
  const app = await startApp({ scenario: 'full-throttle' });
  try {
    await openPlace(page, app, 'run');
    await expect(page.getByTestId('board-live').getByTestId('value-rpm')).toHaveAttribute('data-state', 'good');
    await app.kill();
    // Without a host every value grows old.
    await expect(page.locator('.board-values .value.line[data-state="stale"]').nth(10)).toBeVisible();
    for (const size of boardSizes) {
      await page.setViewportSize(size);
      await expectFaultWordsWhole(page);
      for (const word of ['open', 'short', 'over', 'under', 'stale', 'no signal']) {
        // The worst that a line may hold: a mark of an alarm, the word, an age.
        await page.locator('.board-values .value.line[data-fault="true"]').evaluateAll((all, put) => {
          for (const line of all) {
            line.querySelector('.fault-word')!.textContent = put;
            if (line.querySelector('.level-mark, .put-mark')) continue;
            const mark = document.createElement('span');
            mark.className = 'put-mark';
            mark.style.cssText = 'flex: none; width: 16px; height: 16px';
            line.querySelector('.value-label')!.after(mark);
          }
        }, word);
        await expectFaultWordsWhole(page);
      }
    }
  } finally {
    await app.kill();
    rmSync(app.dataFolder, { recursive: true, force: true, maxRetries: 3 });
  }
});
