/**
 * Unit factors, each worked out from exact definitions. Which unit is offered
 * for which quantity is in `display-unit.ts`.
 *
 * Source: NIST SP 811 (2008), appendix B. The factors printed there, rounded
 * to seven digits, are checked in tests/published/units.test.ts. The exact
 * definitions behind them: 1 lb = 0.453 592 37 kg, 1 in = 0.0254 m,
 * 1 US gal = 231 in³, g_n = 9.806 65 m/s², 1 hp = 550 ft·lbf/s,
 * 1 metric hp = 75 kgf·m/s.
 */

/** Exact. */
export const STANDARD_GRAVITY_mPers2 = 9.80665;
/** Exact. */
export const POUND_kg = 0.45359237;
/** Exact. */
export const INCH_m = 0.0254;
/** Exact: 12 in. */
export const FOOT_m = 0.3048;

export const POUND_FORCE_N = POUND_kg * STANDARD_GRAVITY_mPers2;
export const KILOGRAM_FORCE_N = STANDARD_GRAVITY_mPers2;
export const POUND_FORCE_FOOT_Nm = POUND_FORCE_N * FOOT_m;
export const POUND_FORCE_INCH_Nm = POUND_FORCE_N * INCH_m;
export const KILOGRAM_FORCE_METRE_Nm = KILOGRAM_FORCE_N;

/** Mechanical horsepower, 550 ft·lbf/s: not the electric (746 W) nor the U.K. one (745.7 W). */
export const HORSEPOWER_W = 550 * POUND_FORCE_FOOT_Nm;
/** Metric horsepower (PS, CV), 75 kgf·m/s. */
export const METRIC_HORSEPOWER_W = 75 * KILOGRAM_FORCE_N;

export const PSI_Pa = POUND_FORCE_N / (INCH_m * INCH_m);
/** Conventional inch of mercury: SP 811 gives seven digits, the definition behind it is not exact. */
export const INCH_OF_MERCURY_Pa = 3386.389;
/** Conventional millimetre of mercury, as printed in SP 811. */
export const MILLIMETRE_OF_MERCURY_Pa = 133.3224;

export const US_GALLON_m3 = 231 * INCH_m ** 3;
export const IMPERIAL_GALLON_m3 = 0.00454609;
export const US_FLUID_OUNCE_m3 = US_GALLON_m3 / 128;

/** g/(kW·h) of one lb/(hp·h). */
export const POUND_PER_HORSEPOWER_HOUR_gPerkWh = (POUND_kg * 1000) / (HORSEPOWER_W / 1000);
/** kg/m³ of one lb per US gallon. */
export const POUND_PER_US_GALLON_kgPerm3 = POUND_kg / US_GALLON_m3;

/** rad/s of one revolution per minute. */
export const REVOLUTION_PER_MINUTE_radPers = (2 * Math.PI) / 60;
