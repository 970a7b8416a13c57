/**
 * Digits to which a result agrees with a certified value: the log relative
 * error that NIST's reference data are judged by, log absolute error where the
 * certified value is 0; 15 where they are equal.
 */
export function digitsOf(got: number, certified: number): number {
  if (got === certified) return 15;
  const error = Math.abs(got - certified) / (certified === 0 ? 1 : Math.abs(certified));
  return Math.min(15, -Math.log10(error));
}
