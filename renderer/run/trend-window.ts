/** Which stretch of time the trends show: following the newest, or held. Pure. */
export const windows_s = [30, 60, 120, 300, 600, 1800] as const;
export type Window_s = (typeof windows_s)[number];

export interface TrendWindow {
  readonly span_s: number;
  /** Right edge while held; null while following the newest. */
  readonly heldAt_us: number | null;
}

export function windowWord(span_s: number): string {
  return span_s < 60 ? `${span_s} s` : `${Math.round(span_s / 60)} min`;
}

/** Times shown, given the newest. */
export function shown_us(window: TrendWindow, newest_us: number): { readonly from_us: number; readonly to_us: number } {
  const to_us = window.heldAt_us ?? newest_us;
  return { from_us: to_us - window.span_s * 1e6, to_us };
}

/** The window after a move: held, never before the session's start nor after the newest. */
export function moved(window: TrendWindow, by_us: number, newest_us: number): TrendWindow {
  const at_us = (window.heldAt_us ?? newest_us) + by_us;
  const least_us = Math.min(newest_us, window.span_s * 1e6);
  return { ...window, heldAt_us: Math.max(least_us, Math.min(newest_us, at_us)) };
}

/** Next choice of length towards shorter (`factor` below 1) or longer. */
export function zoomed(window: TrendWindow, factor: number): TrendWindow {
  const i = windows_s.findIndex((w) => w >= window.span_s);
  const next = windows_s[Math.max(0, Math.min(windows_s.length - 1, i + (factor > 1 ? 1 : -1)))];
  return { ...window, span_s: next ?? window.span_s };
}
