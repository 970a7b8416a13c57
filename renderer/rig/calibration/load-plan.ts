/** Which weight comes next: the masses of the first series, up and down again, are asked for in each series after it. Pure. */
import type { LoadPoint } from '../../../shared-core/calibration/dead-weight.ts';

export interface NextLoad {
  readonly series: number;
  readonly direction: 'up' | 'down';
  /** Null where the person says which. */
  readonly mass_kg: number | null;
}

/** @param isUnloading the person has said that the heaviest weight of the first series is on */
export function nextLoad(points: readonly LoadPoint[], isUnloading: boolean): NextLoad {
  const last = points.at(-1);
  if (last === undefined) return { series: 1, direction: 'up', mass_kg: 0 };
  const first = points.filter((each) => each.series === 1 && each.direction === 'up').map((each) => each.mass_kg);
  if (last.direction === 'down' && last.mass_kg === Math.min(...first)) {
    return { series: last.series + 1, direction: 'up', mass_kg: first[0] ?? 0 };
  }
  if (last.direction === 'down') return { series: last.series, direction: 'down', mass_kg: below(first, last.mass_kg) };
  if (last.series === 1) {
    return isUnloading
      ? { series: 1, direction: 'down', mass_kg: below(first, last.mass_kg) }
      : { series: 1, direction: 'up', mass_kg: null };
  }
  const above = first.find((mass) => mass > last.mass_kg);
  return above === undefined
    ? { series: last.series, direction: 'down', mass_kg: below(first, last.mass_kg) }
    : { series: last.series, direction: 'up', mass_kg: above };
}

function below(masses: readonly number[], mass_kg: number): number {
  return masses.findLast((mass) => mass < mass_kg) ?? 0;
}
