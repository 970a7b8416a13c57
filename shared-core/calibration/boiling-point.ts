/**
 * Boiling point of pure water at a pressure, the upper of the two points at
 * which a thermocouple is checked without a calibrator: 100 °C only near sea
 * level, 97.9 °C at 640 m.
 *
 * Source: IAPWS R7-97, region 4, saturation-temperature equation (equations 29
 * to 31; coefficients from memory, held against its published check values in
 * tests/published/boiling-point.test.ts). 611 Pa to 22 MPa.
 */
const n = [
  0.11670521452767e4, -0.72421316703206e6, -0.17073846940092e2, 0.1202082470247e5, -0.32325550322333e7,
  0.1491510861353e2, -0.48232657361591e4, 0.40511340542057e6, -0.23855557567849, 0.65017534844798e3,
] as const;

/** °C at which water boils; NaN below the triple point (6.11657 hPa) or above 22 MPa. */
export function boilingPoint_degC(pressure_hPa: number): number {
  if (!(pressure_hPa >= 6.11657 && pressure_hPa <= 220_640)) return NaN;
  const beta = (pressure_hPa / 10_000) ** 0.25;
  const E = beta * beta + n[2] * beta + n[5];
  const F = n[0] * beta * beta + n[3] * beta + n[6];
  const G = n[1] * beta * beta + n[4] * beta + n[7];
  const D = (2 * G) / (-F - Math.sqrt(F * F - 4 * E * G));
  const sum = n[9] + D;
  return (sum - Math.sqrt(sum * sum - 4 * (n[8] + n[9] * D))) / 2 - 273.15;
}
