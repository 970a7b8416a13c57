/**
 * Calibration and tare of one channel: a polynomial of second degree on the
 * value in the core unit, then the tare. Pure arithmetic; when a tare may be
 * taken, and who may change a calibration, is decided elsewhere.
 */

/** value' = a0 + a1·value + a2·value² − tare; all in the channel's core unit. */
export interface CalibrationTerms {
  readonly a0: number;
  readonly a1: number;
  readonly a2: number;
  /** Reading at no load, after the polynomial. */
  readonly tare: number;
}

/** Terms with their provenance, as the rig sheet and the report show it. */
export interface Calibration extends CalibrationTerms {
  /** Day of the calibration, ISO 8601 (`2026-03-14`), or empty: never calibrated. */
  readonly date: string;
  /** Role of whoever did it: "technician 1". */
  readonly who: string;
  /** How: "dead weights, 5 points up and down". */
  readonly method: string;
  readonly note: string;
}

export const identityCalibration: Calibration = {
  a0: 0,
  a1: 1,
  a2: 0,
  tare: 0,
  date: '',
  who: '',
  method: '',
  note: '',
};

/** Errors: none; NaN stays NaN. Without terms the value comes back bit for bit. */
export function calibrated(terms: CalibrationTerms, value: number): number {
  if (isIdentity(terms)) return value;
  return terms.a0 + value * (terms.a1 + value * terms.a2) - terms.tare;
}

/** True when the calibration leaves every value as it is. */
export function isIdentity(terms: CalibrationTerms): boolean {
  return terms.a0 === 0 && terms.a1 === 1 && terms.a2 === 0 && terms.tare === 0;
}

/**
 * The same calibration with a tare such that `reading` becomes 0.
 * @param reading mean of the values at no load, core unit, before calibration
 * @throws RangeError if the reading is not a finite number: a failed sensor cannot be tared
 */
export function withTareAt<T extends CalibrationTerms>(terms: T, reading: number): T {
  if (!Number.isFinite(reading)) throw new RangeError(`expected a finite reading, got ${reading}`);
  return { ...terms, tare: terms.a0 + reading * (terms.a1 + reading * terms.a2) };
}

/**
 * True when a larger value always gives a larger (or always a smaller) one
 * from `low` to `high`. A polynomial that turns round inside the range of its
 * sensor is an error of the rig sheet, and would spoil min/max levels.
 */
export function isMonotone(terms: CalibrationTerms, low: number, high: number): boolean {
  const slopeAtLow = terms.a1 + 2 * terms.a2 * low;
  const slopeAtHigh = terms.a1 + 2 * terms.a2 * high;
  return (slopeAtLow > 0 && slopeAtHigh > 0) || (slopeAtLow < 0 && slopeAtHigh < 0);
}
