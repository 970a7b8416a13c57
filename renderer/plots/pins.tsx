/** Pins: times that the caller holds on the plot, by letter, and the shade between the first two. */
import type { TrendFrame } from './band-range.ts';

export interface TrendPin {
  readonly letter: string;
  readonly t_us: number;
}

/** Shade between the first two pins, as far as it is in sight. */
export function PinSpan({
  pins,
  frame,
  xOf,
}: {
  readonly pins: readonly TrendPin[];
  readonly frame: TrendFrame | null;
  readonly xOf: (t_us: number) => number;
}) {
  const [a, b] = pins;
  if (!a || !b || !frame) return null;
  const from_us = Math.max(frame.from_us, Math.min(a.t_us, b.t_us));
  const to_us = Math.min(frame.to_us, Math.max(a.t_us, b.t_us));
  if (!(to_us > from_us)) return null;
  return <div className="trend-pin-span" style={{ left: xOf(from_us), width: xOf(to_us) - xOf(from_us) }} />;
}
