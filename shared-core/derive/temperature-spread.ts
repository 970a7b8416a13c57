/** Difference between the hottest and the coldest of like sensors. */

/**
 * Hottest minus coldest of `values[0 … count−1]`, K. Failed sensors (NaN) are
 * left out; fewer than two good ones have no spread, and give NaN.
 */
export function temperatureSpread_K(values_degC: ArrayLike<number>, count: number = values_degC.length): number {
  let low = Number.POSITIVE_INFINITY;
  let high = Number.NEGATIVE_INFINITY;
  let good = 0;
  for (let i = 0; i < count; i++) {
    const value = values_degC[i]!;
    if (Number.isNaN(value)) continue;
    good++;
    if (value < low) low = value;
    if (value > high) high = value;
  }
  return good >= 2 ? high - low : NaN;
}

/** Highest of the good ones; NaN when none is good. */
export function hottest_degC(values_degC: ArrayLike<number>, count: number = values_degC.length): number {
  let high = NaN;
  for (let i = 0; i < count; i++) {
    const value = values_degC[i]!;
    if (!(value <= high) && !Number.isNaN(value)) high = value;
  }
  return high;
}
