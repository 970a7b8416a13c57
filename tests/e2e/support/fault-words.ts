/** That the words for what is wrong with a value stand whole on the board, beside its label and its figure. */
import { expect, type Page } from '@playwright/test';

/** The two sizes that the board is made for. */
export const boardSizes = [
  { width: 1280, height: 800 },
  { width: 1920, height: 1080 },
] as const;

/** Looks at every line of the board that is struck out, and expects that there is one. */
export async function expectFaultWordsWhole(page: Page): Promise<void> {
  const lines = await page.locator('.board-values .value.line[data-fault="true"]').evaluateAll((all) =>
    all.map((line) => {
      const part = (name: string): HTMLElement => line.querySelector<HTMLElement>(name)!;
      const [head, label, word, fault] = ['.value-head', '.value-label', '.fault-word', '.value-fault'].map(part);
      const [inside, mine, figure] = [head!, word!, part('.figure')].map((each) => each.getBoundingClientRect());
      const whole = (each: HTMLElement): boolean => each.scrollWidth <= each.clientWidth;
      return {
        name: `${label!.textContent} ${word!.textContent}`,
        isWordWhole:
          mine!.width > 0 &&
          whole(head!) &&
          whole(fault!) &&
          mine!.left >= inside!.left &&
          mine!.right <= inside!.right + 0.5,
        isFigureFree: mine!.right <= figure!.left,
        // "CHT 1" and "CHT 2" are one letter apart.
        isLabelWhole: !/\d$/.test(label!.textContent ?? '') || whole(label!),
      };
    }),
  );
  expect(lines.length).toBeGreaterThan(0);
  for (const { name, ...found } of lines) {
    expect(found, name).toEqual({ isWordWhole: true, isFigureFree: true, isLabelWhole: true });
  }
}
