/**
 * A trainee who knows nothing but the strip: reads its line, finds the
 * control that stands in quotes by the words on it, and does with it what the
 * verb before it says.
 */
import { expect, type Locator, type Page } from '@playwright/test';

export async function saysOf(page: Page): Promise<string> {
  return (await page.getByTestId('training-says').textContent()) ?? '';
}

export async function setSpeed(page: Page, speed: 0.2 | 1 | 2 | 5 | 10): Promise<void> {
  await page.getByTestId(`training-speed-${speed}`).click();
  await expect(page.getByTestId(`training-speed-${speed}`)).toHaveAttribute('aria-pressed', 'true');
}

/** Holds a control down while something is waited for. */
export async function hold(page: Page, control: Locator, meanwhile: () => Promise<void>): Promise<void> {
  await control.hover();
  await page.mouse.down();
  try {
    await meanwhile();
  } finally {
    await page.mouse.up();
  }
}

const times: Readonly<Record<string, number>> = { twice: 2, 'three times': 3, 'six times': 6 };

/** Until the strip says that it is over. */
export async function followStrip(page: Page, most = 60): Promise<void> {
  const strip = page.getByTestId('training-strip');
  let speed = 1;
  for (let n = 0; n < most; n++) {
    const step = (await strip.getAttribute('data-step')) ?? '';
    if (step === 'over') return;
    const says = await saysOf(page);
    const isWaiting = !says.includes('“') || /^Watch|^Wait/.test(says);
    // What comes by surprise is not waited for at full speed: there would be no time to act.
    const wanted = !isWaiting ? 1 : says.includes('alarm') ? 5 : 10;
    if (wanted !== speed) await setSpeed(page, wanted);
    speed = wanted;
    await obey(page, says, step);
    await expect(strip, says).not.toHaveAttribute('data-step', step, { timeout: 60_000 });
  }
  throw new Error(`the lesson is not over after ${most} steps; it says: ${await saysOf(page)}`);
}

async function obey(page: Page, says: string, step: string): Promise<void> {
  if (/^Tick every item/.test(says)) {
    for (const item of await page.getByTestId('checklist').getByRole('checkbox').all()) await item.check();
    return;
  }
  if (/draw the slider/.test(says)) {
    await page.getByRole('slider', { name: quoted(says) }).focus();
    await page.keyboard.press('End');
    return;
  }
  if (/for each line left/.test(says)) {
    const done = await named(page, quotedWords(says));
    while (await done.isVisible()) {
      const line = await page.getByTestId('cool-down').getAttribute('data-step');
      await done.click();
      await expect(page.getByTestId('cool-down')).not.toHaveAttribute('data-step', line ?? '');
    }
    await page.getByTestId('cool-down-close').click();
    return;
  }
  for (const [, verb = '', name = ''] of says.matchAll(/(press|hold) “([^”]+)”/gi)) {
    const control = await named(page, name);
    if (/hold/i.test(verb)) {
      const strip = page.getByTestId('training-strip');
      await hold(page, control, async () => {
        if (/until it runs/.test(says)) await expect(page.getByTestId('run-state')).toContainText('Running');
        else await expect(strip).not.toHaveAttribute('data-step', step);
      });
      continue;
    }
    const count = Object.entries(times).find(([words]) => says.includes(words))?.[1] ?? 1;
    for (let i = 0; i < count; i++) await control.click({ timeout: 60_000 });
  }
}

/** The control with this word on it; of several, the one that the strip has marked. */
async function named(page: Page, name: string): Promise<Locator> {
  const words = new RegExp(`^\\s*${escaped(name)}`);
  const mark = (await page.getByTestId('training-strip').getAttribute('data-control')) ?? '';
  const marked = page.getByTestId(mark).filter({ hasText: words });
  if (mark !== '' && (await marked.count()) === 1) return marked;
  return page.locator('button:visible').filter({ hasText: words }).first();
}

function quoted(says: string): RegExp {
  return new RegExp(escaped(quotedWords(says)));
}

function quotedWords(says: string): string {
  return /“([^”]+)”/.exec(says)?.[1] ?? '';
}

function escaped(text: string): string {
  return text.replace(/[.*+?^${}()|[\]\\]/g, '\\$&');
}
