/** Which bands this seat shows, kept in local storage. */
import { useState } from 'react';

const KEY = 'runstand.bands';

/** Stored choice, or null where nothing usable is stored. */
export function parseChoice(text: string | null): readonly string[] | null {
  try {
    const found: unknown = text === null ? null : JSON.parse(text);
    return Array.isArray(found) && found.every((f) => typeof f === 'string') && found.length > 0 ? found : null;
  } catch {
    return null;
  }
}

export function useBandChoice(
  defaults: readonly string[],
): readonly [readonly string[], (ids: readonly string[]) => void] {
  const [choice, setChoice] = useState<readonly string[]>(() => {
    try {
      return parseChoice(localStorage.getItem(KEY)) ?? defaults;
    } catch {
      return defaults;
    }
  });
  const change = (ids: readonly string[]): void => {
    setChoice(ids);
    try {
      localStorage.setItem(KEY, JSON.stringify(ids));
    } catch {
      // Storage denied: the choice holds until the page is closed.
    }
  };
  return [choice, change];
}
