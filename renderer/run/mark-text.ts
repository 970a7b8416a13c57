/** What a mark says, and of which moment. Pure. */
import { formatClock } from '../ui/format.ts';

/** Written longer ago than this, the mark says so in words. */
const TOLD_AFTER_S = 2;

/**
 * Text of a mark. It is recorded when it is sent; where the writing took time,
 * the text names the moment of the key press, which is what was meant.
 */
export function markText(text: string, pressedAt_us: number, sentAt_us: number): string {
  const words = text.trim() === '' ? 'Mark' : text.trim();
  if ((sentAt_us - pressedAt_us) / 1e6 < TOLD_AFTER_S) return words;
  return `${words} (at ${formatClock(pressedAt_us / 1e6)})`;
}
