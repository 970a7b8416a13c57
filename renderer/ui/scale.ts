/** Geometry of the thin scale under a value: normal band, limit ticks, notch. Pure. */
import type { LimitMark } from '../../shared-core/bridge/contract.ts';

export interface ScaleShape {
  /** 0 to 1, or null where there is no value to show. */
  readonly notch: number | null;
  readonly normalFrom: number;
  readonly normalTo: number;
  readonly ticks: readonly { readonly at: number; readonly level: LimitMark['level'] }[];
}

/**
 * Places along a scale from `low` to `high`. Limits widen the scale if they lie
 * beyond it. Null where the channel has no known range.
 */
export function scaleShape(low: number, high: number, limits: readonly LimitMark[], value: number): ScaleShape | null {
  if (!(high > low)) return null;
  let from = low;
  let to = high;
  let normalFrom = low;
  let normalTo = high;
  for (const limit of limits) {
    if (!Number.isFinite(limit.value)) continue;
    from = Math.min(from, limit.value);
    to = Math.max(to, limit.value);
    if (limit.direction === 'high') normalTo = Math.min(normalTo, limit.value);
    else normalFrom = Math.max(normalFrom, limit.value);
  }
  const place = (v: number) => Math.max(0, Math.min(1, (v - from) / (to - from)));
  return {
    notch: Number.isFinite(value) ? place(value) : null,
    normalFrom: place(normalFrom),
    normalTo: Math.max(place(normalFrom), place(normalTo)),
    ticks: limits.filter((l) => Number.isFinite(l.value)).map((l) => ({ at: place(l.value), level: l.level })),
  };
}
