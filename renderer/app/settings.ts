/**
 * What this seat prefers: theme, who is signed on, single-key shortcuts, and
 * whether the first-run notice was read. Kept in the browser's local storage;
 * nothing about a session is kept here.
 */
import { create } from 'zustand';

export type Theme = 'day' | 'cell';

export interface Settings {
  readonly theme: Theme;
  /** Written beside every act: a role, not a name, unless the site wants names. */
  readonly by: string;
  /** Single-letter keys can be switched off for those who dictate or tremble. */
  readonly hasKeys: boolean;
  /** Version of the notice that was acknowledged, or empty. */
  readonly noticeRead: string;
  /** Of the alarm sounds, 0 (off) to 1. */
  readonly loudness: number;
}

const KEY = 'runstand.settings';
const defaults: Settings = { theme: 'day', by: 'operator 1', hasKeys: true, noticeRead: '', loudness: 0.5 };

/** Settings from stored text; anything that does not fit falls back, field by field. */
export function parseSettings(text: string | null): Settings {
  let found: unknown = null;
  try {
    found = text === null ? null : JSON.parse(text);
  } catch {
    return defaults;
  }
  if (typeof found !== 'object' || found === null) return defaults;
  const from = found as Record<string, unknown>;
  return {
    theme: from.theme === 'cell' ? 'cell' : 'day',
    by: typeof from.by === 'string' && from.by.trim() !== '' ? from.by.slice(0, 40) : defaults.by,
    hasKeys: from.hasKeys !== false,
    noticeRead: typeof from.noticeRead === 'string' ? from.noticeRead : '',
    loudness:
      typeof from.loudness === 'number' && from.loudness >= 0 && from.loudness <= 1 ? from.loudness : defaults.loudness,
  };
}

function stored(): string | null {
  try {
    return localStorage.getItem(KEY);
  } catch {
    // Storage can be denied by policy; the defaults then hold for this visit.
    return null;
  }
}

export const useSettings = create<Settings>(() => parseSettings(typeof localStorage === 'undefined' ? null : stored()));

export function changeSettings(change: Partial<Settings>): void {
  useSettings.setState(change);
  try {
    localStorage.setItem(KEY, JSON.stringify(useSettings.getState()));
  } catch {
    // As above: the change holds until the page is closed.
  }
}

/** Who acts, for requests. */
export function signedOn(): string {
  return useSettings.getState().by;
}
