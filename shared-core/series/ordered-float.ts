/**
 * Real values as whole numbers that rise with them, for levels of channels
 * that are computed and have no raw integers: a 32-bit float without its last
 * 7 bits (a relative step of 2⁻¹⁶), its sign folded so that order is kept.
 * Rounding is outward, so that an extreme is never made smaller.
 */
const DROPPED_BITS = 7;
const float = new Float32Array(1);
const bits = new Int32Array(float.buffer);

/** The largest whole number that stands for a value at or below this one. Finite values only. */
export function orderedBelow(value: number): number {
  return exactly(value, -1) >> DROPPED_BITS;
}

/** The smallest whole number that stands for a value at or above this one. Finite values only. */
export function orderedAbove(value: number): number {
  return -(-exactly(value, 1) >> DROPPED_BITS);
}

export function valueOfOrdered(ordered: number): number {
  const whole = ordered << DROPPED_BITS;
  bits[0] = whole >= 0 ? whole : whole ^ 0x7fff_ffff;
  return float[0]!;
}

/** The 32-bit float nearest to the value on its `side`, with order kept. */
function exactly(value: number, side: 1 | -1): number {
  // Without the sign of a zero.
  float[0] = value + 0;
  const ordered = bits[0]! >= 0 ? bits[0]! : bits[0]! ^ 0x7fff_ffff;
  if (side < 0) return float[0]! > value ? ordered - 1 : ordered;
  return float[0]! < value ? ordered + 1 : ordered;
}
