/**
 * Numbers as they are set on screen and in reports: fixed decimals, minus sign
 * U+2212, thin space U+2009 between groups of three digits (the grouping of
 * SI, NIST SP 811 section 10.5.3). Not for CSV or anything that a program reads.
 */

/** Shown where there is no number. */
export const NO_VALUE = '–';
const THIN_SPACE = '\u2009';
const MINUS = '\u2212';

/**
 * @param value in the unit that stands beside it
 * @param decimals digits after the point, 0 to 20
 * @returns `NO_VALUE` for NaN and for ±Infinity; what rounds to zero has no sign
 * @throws RangeError for decimals out of range
 */
export function formatValue(value: number, decimals: number): string {
  if (!(decimals >= 0 && decimals <= 20)) throw new RangeError(`decimals: expected 0 to 20, got ${decimals}`);
  if (!Number.isFinite(value)) return NO_VALUE;
  const digits = Math.abs(value).toFixed(decimals);
  // From 1e21 on, toFixed gives exponent notation: leave it as it is.
  const grouped = digits.includes('e') ? digits : groupThousands(digits);
  return value < 0 && /[1-9]/.test(digits) ? MINUS + grouped : grouped;
}

/** Value and unit with a thin space between; the unit '1' or '' is left out. */
export function formatWithUnit(value: number, decimals: number, unit: string): string {
  const number = formatValue(value, decimals);
  return unit === '' || unit === '1' ? number : `${number}${THIN_SPACE}${unit}`;
}

function groupThousands(digits: string): string {
  const point = digits.indexOf('.');
  const whole = point < 0 ? digits : digits.slice(0, point);
  if (whole.length <= 3) return digits;
  let grouped = whole.slice(0, whole.length % 3);
  for (let i = whole.length % 3; i < whole.length; i += 3) {
    grouped += (grouped === '' ? '' : THIN_SPACE) + whole.slice(i, i + 3);
  }
  return point < 0 ? grouped : grouped + digits.slice(point);
}
