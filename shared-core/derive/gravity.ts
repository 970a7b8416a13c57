/**
 * Local gravity, for load cells calibrated with dead weights: a mass of 10 kg
 * weighs 0.5 % more at the pole than at the equator.
 */

/**
 * Normal gravity on the WGS 84 ellipsoid (Somigliana), less the free-air
 * gradient of 3.086·10⁻⁶ 1/s² times the height.
 * @param latitude_deg geodetic, −90 to 90
 * @returns m/s²; local anomalies (some 10⁻⁴ m/s²) are not in it
 * Source: NGA.STND.0036 (WGS 84), table 3.4 constants.
 */
export function normalGravity_mPers2(latitude_deg: number, height_m: number): number {
  const sine = Math.sin((latitude_deg * Math.PI) / 180);
  const s2 = sine * sine;
  const onEllipsoid = (9.7803253359 * (1 + 0.00193185265241 * s2)) / Math.sqrt(1 - 0.00669437999014 * s2);
  return onEllipsoid - 3.086e-6 * height_m;
}
