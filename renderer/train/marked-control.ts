/**
 * Marks the control that a lesson's step is about, and leads there. The mark
 * is a rule in a style sheet of its own, so that no other component knows of
 * lessons.
 */
import { useEffect } from 'react';
import { goTo } from '../app/use-address.ts';

const sheet = new CSSStyleSheet();

/** Draws a dashed line around the control with this test id while it is asked for. */
export function useMarkedControl(control: string | null): void {
  useEffect(() => {
    if (!document.adoptedStyleSheets.includes(sheet)) document.adoptedStyleSheets.push(sheet);
    sheet.replaceSync(
      control === null
        ? ''
        : `[data-testid="${CSS.escape(control)}"]{outline:2px dashed var(--accent);outline-offset:2px}`,
    );
    return () => sheet.replaceSync('');
  }, [control]);
}

/** Into sight and into focus; from another place by way of Run. */
export function showControl(control: string): void {
  const find = (): HTMLElement | null => document.querySelector(`[data-testid="${CSS.escape(control)}"]`);
  if (find() === null) goTo('run');
  // The place is drawn by the next frame but one.
  requestAnimationFrame(() =>
    requestAnimationFrame(() => {
      const element = find();
      element?.scrollIntoView({ block: 'nearest' });
      element?.focus();
    }),
  );
}
