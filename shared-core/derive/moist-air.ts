/**
 * Density of moist air after CIPM-2007, and the vapour pressure it rests on.
 *
 * Source: A. Picard, R.S. Davis, M. Gläser, K. Fujii, Revised formula for the
 * density of moist air (CIPM-2007), Metrologia 45 (2008) 149–155; carbon
 * dioxide at its 400 µmol/mol. The formula is meant for 600 to 1100 hPa and
 * 15 to 27 °C (from memory of the paper); outside it stays smooth, and within
 * 0.02 % of ASHRAE's real-gas values where these were compared (see
 * tests/published/moist-air.test.ts).
 */

/** J/(mol·K), the CODATA 2006 value that belongs to CIPM-2007. */
const GAS_CONSTANT = 8.314472;
/** kg/mol at 400 µmol/mol of carbon dioxide. */
const DRY_AIR_kgPermol = 28.96546e-3;
const WATER_kgPermol = 18.01528e-3;
const ICE_POINT_K = 273.15;

/**
 * Saturation vapour pressure over liquid water (CIPM-2007, A1.1).
 * @returns Pa; against the handbooks within 0.07 % from 0 to 50 °C
 */
export function saturationVapourPressure_Pa(temperature_degC: number): number {
  const T = temperature_degC + ICE_POINT_K;
  return Math.exp(1.2378847e-5 * T * T - 1.9121316e-2 * T + 33.93711047 - 6.3431645e3 / T);
}

/** Enhancement factor f (CIPM-2007, A1.2): the vapour pressure in air rather than alone. */
export function enhancementFactor(temperature_degC: number, pressure_Pa: number): number {
  return 1.00062 + 3.14e-8 * pressure_Pa + 5.6e-7 * temperature_degC * temperature_degC;
}

/** Partial pressure of the water vapour in the air, Pa; relative humidity in percent. */
export function vapourPressure_Pa(temperature_degC: number, pressure_hPa: number, humidity_percent: number): number {
  const pressure_Pa = pressure_hPa * 100;
  return (
    (humidity_percent / 100) *
    enhancementFactor(temperature_degC, pressure_Pa) *
    saturationVapourPressure_Pa(temperature_degC)
  );
}

/** Compressibility factor Z of moist air (CIPM-2007, A1.4); `xv` is the mole fraction of vapour. */
export function compressibilityFactor(temperature_degC: number, pressure_Pa: number, xv: number): number {
  const t = temperature_degC;
  const pOverT = pressure_Pa / (t + ICE_POINT_K);
  const first =
    1.58123e-6 +
    t * (-2.9331e-8 + t * 1.1043e-10) +
    (5.707e-6 - 2.051e-8 * t) * xv +
    (1.9898e-4 - 2.376e-6 * t) * xv * xv;
  return 1 - pOverT * first + pOverT * pOverT * (1.83e-11 - 0.765e-8 * xv * xv);
}

/**
 * Density of moist air.
 * @param humidity_percent relative humidity, 0 to 100
 * @returns kg/m³; NaN where an input is NaN or the pressure is not above 0
 */
export function moistAirDensity_kgPerm3(
  temperature_degC: number,
  pressure_hPa: number,
  humidity_percent: number,
): number {
  if (!(pressure_hPa > 0)) return NaN;
  const pressure_Pa = pressure_hPa * 100;
  const xv = vapourPressure_Pa(temperature_degC, pressure_hPa, humidity_percent) / pressure_Pa;
  const Z = compressibilityFactor(temperature_degC, pressure_Pa, xv);
  const T = temperature_degC + ICE_POINT_K;
  return (
    ((pressure_Pa * DRY_AIR_kgPermol) / (Z * GAS_CONSTANT * T)) * (1 - xv * (1 - WATER_kgPermol / DRY_AIR_kgPermol))
  );
}
