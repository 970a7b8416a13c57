/**
 * Single keys for the whole page. They rest while something is being typed,
 * while a dialog is open, and when they are switched off in the settings.
 */
import { useEffect, useEffectEvent } from 'react';
import { useSettings } from './settings.ts';

/** Where a key belongs to what is being written or chosen. */
export function isTyping(target: EventTarget | null): boolean {
  if (!(target instanceof HTMLElement)) return false;
  if (target.isContentEditable) return true;
  if (target instanceof HTMLInputElement) {
    return !['checkbox', 'radio', 'button', 'submit', 'reset', 'range'].includes(target.type);
  }
  return target instanceof HTMLTextAreaElement || target instanceof HTMLSelectElement;
}

/**
 * Calls `handlers[key]` for a key pressed alone ("m", "1") or with Shift
 * ("Shift+T"). The handler's key press goes no further.
 */
export function useKeys(handlers: Readonly<Record<string, () => void>>, isEnabled = true): void {
  const onKey = useEffectEvent((event: KeyboardEvent) => {
    if (!isEnabled || !useSettings.getState().hasKeys) return;
    if (event.ctrlKey || event.altKey || event.metaKey || event.repeat || event.defaultPrevented) return;
    if (isTyping(event.target) || document.querySelector('dialog[open]')) return;
    const key = event.shiftKey && event.key.length === 1 ? `Shift+${event.key.toUpperCase()}` : event.key.toLowerCase();
    const handler = handlers[key];
    if (!handler) return;
    event.preventDefault();
    handler();
  });
  useEffect(() => {
    const listener = (event: KeyboardEvent): void => onKey(event);
    window.addEventListener('keydown', listener);
    return () => window.removeEventListener('keydown', listener);
  }, []);
}
