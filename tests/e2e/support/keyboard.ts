/**
 * A person without a mouse: controls are focused (each must be one that Tab
 * stops at) and then worked by keys alone.
 */
import { expect, type Locator, type Page } from '@playwright/test';

export interface Keyboard {
  /** Enter on a button that is there, enabled, and in the order of Tab. */
  press(control: string | Locator): Promise<void>;
  /** In place of what stood in the field. */
  write(field: string | Locator, text: string): Promise<void>;
  /** Chooses in a list by typing the beginning of its words. */
  choose(list: string | Locator, words: string): Promise<void>;
  hold(control: string, while_ms: number): Promise<void>;
}

export function keyboardOf(page: Page): Keyboard {
  const at = (control: string | Locator): Locator =>
    typeof control === 'string' ? page.getByTestId(control) : control;
  const focus = async (control: string | Locator): Promise<Locator> => {
    const found = at(control);
    await expect(found).toBeEnabled();
    expect(await found.evaluate((element) => (element as HTMLElement).tabIndex)).toBeGreaterThanOrEqual(0);
    await found.focus();
    await expect(found).toBeFocused();
    return found;
  };
  return {
    async press(control) {
      await focus(control);
      await page.keyboard.press('Enter');
    },
    async write(field, text) {
      await focus(field);
      await page.keyboard.press('Control+A');
      await page.keyboard.press('Delete');
      await page.keyboard.type(text);
    },
    async choose(list, words) {
      await focus(list);
      await page.keyboard.type(words);
    },
    async hold(control, while_ms) {
      await focus(control);
      await page.keyboard.down(' ');
      // The hold itself is what is tried: the button counts the time.
      await page.waitForTimeout(while_ms);
      await page.keyboard.up(' ');
    },
  };
}
