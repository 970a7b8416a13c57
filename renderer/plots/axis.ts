/** Ranges and ticks of the trend axes, calm under noise. Pure. */

/** Steps that read well on a clock, seconds. */
const timeSteps_s = [1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 14_400] as const;

/** Whole multiples of a readable step inside a span, at most `most` of them; none before the session began. */
export function timeTicks_s(from_s: number, to_s: number, most: number): number[] {
  if (!(to_s > from_s)) return [];
  const step = timeSteps_s.find((s) => (to_s - from_s) / s <= most) ?? 14_400;
  const ticks: number[] = [];
  for (let t = Math.ceil(Math.max(0, from_s) / step) * step; t <= to_s; t += step) ticks.push(t);
  return ticks;
}

export interface Range {
  readonly low: number;
  readonly high: number;
  readonly step: number;
}

/** 1, 2 or 5 times a power of ten, at least `raw`. */
export function niceStep(raw: number): number {
  if (!(raw > 0)) return 1;
  const power = 10 ** Math.floor(Math.log10(raw));
  for (const m of [1, 2, 5]) if (m * power >= raw * 0.999_999) return m * power;
  return 10 * power;
}

/**
 * Range of a value axis around the data. Limits near the data are taken in, so
 * that the operator sees how far away they are; the range before is kept while
 * the data still fill at least half of it, so that the axis does not jump.
 */
export function valueRange(
  before: Range | null,
  low: number,
  high: number,
  limits: readonly number[],
  least: number,
): Range {
  const middle = (low + high) / 2;
  let from = Math.min(low, middle - least / 2);
  let to = Math.max(high, middle + least / 2);
  const reach = (to - from) * 0.5;
  for (const limit of limits) {
    // A little beyond the limit: on the very edge its line would not be seen.
    if (limit > to - reach * 0.1 && limit - to <= reach) to = limit + reach * 0.1;
    if (limit < from + reach * 0.1 && from - limit <= reach) from = limit - reach * 0.1;
  }
  if (before && from >= before.low && to <= before.high && to - from >= (before.high - before.low) / 2.5) return before;
  // Values that never go below zero keep their zero: no axis of negative rpm, no zero far away.
  if (from < 0 && low >= 0) from = 0;
  if (from > 0 && from < (to - from) * 0.35) from = 0;
  const step = niceStep((to - from) / 3);
  const nice = { low: Math.floor(from / step) * step, high: Math.ceil(to / step) * step, step };
  return nice.high > nice.low ? nice : { low: nice.low, high: nice.low + step, step };
}

/**
 * Heights at which labels can stand without covering each other: as near as
 * possible to where they belong, `least` apart, between `top` and `bottom`.
 * @param wanted in any order
 * @returns same order as wanted
 */
export function spreadLabels(wanted: readonly number[], least: number, top: number, bottom: number): number[] {
  const order = wanted.map((y, i) => ({ y, i })).sort((a, b) => a.y - b.y);
  const placed: number[] = [];
  let floor = top;
  for (const { y } of order) {
    const at = Math.max(y, floor);
    placed.push(at);
    floor = at + least;
  }
  let ceiling = bottom;
  for (let k = placed.length - 1; k >= 0; k--) {
    placed[k] = Math.min(placed[k]!, ceiling);
    ceiling = placed[k]! - least;
  }
  const result = new Array<number>(wanted.length).fill(0);
  order.forEach(({ i }, k) => {
    result[i] = placed[k]!;
  });
  return result;
}
