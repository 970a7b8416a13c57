/**
 * Thrust and torque by dead weights: masses go on one by one and come off
 * again, in one or more series. Force = mass × local gravity; torque = force ×
 * arm. Here are the points and the figures; the record that follows from them
 * is in `dead-weight-record.ts`.
 *
 * The fit gives the load from the reading (that is how the channel uses it).
 * All figures are in percent of the span.
 */
import { err, ok, type Result } from '../base/result.ts';
import type { ChannelKey } from '../channels/channel.ts';
import { type FitError, type LeastSquaresFit, polynomialAt, polynomialFit } from '../fit/least-squares.ts';
import { tFactor } from '../fit/student-t.ts';

/** The class that the user sets: largest allowed figure each, percent of span; null: not judged. */
export interface LoadClass {
  readonly name: string;
  readonly residual_percent: number | null;
  readonly repeatability_percent: number | null;
  readonly hysteresis_percent: number | null;
  readonly zeroReturn_percent: number | null;
}

/** A class with the same limit for all four, as a start to edit: our own, of no standard. */
export function plainClass(limit_percent: number): LoadClass {
  return {
    name: `${limit_percent} % of span`,
    residual_percent: limit_percent,
    repeatability_percent: limit_percent,
    hysteresis_percent: limit_percent,
    zeroReturn_percent: limit_percent,
  };
}

export interface DeadWeightSetup {
  readonly kind: 'thrust' | 'torque';
  readonly channel: ChannelKey;
  /** Full load of the channel in N or N·m, to which the percentages refer. */
  readonly span: number;
  readonly gravity_mPers2: number;
  /** Standard uncertainty of the local gravity, m/s². */
  readonly gravityU_mPers2: number;
  /** Lever arm, m; 1 for thrust pulled straight. */
  readonly arm_m: number;
  readonly armU_m: number;
  /** Standard uncertainty of the weights, relative: 0.0001 is 0.01 %. */
  readonly massU_relative: number;
  readonly loadClass: LoadClass;
}

export interface LoadPoint {
  /** From 1: each time the weights go on and come off again. */
  readonly series: number;
  readonly direction: 'up' | 'down';
  readonly mass_kg: number;
  /** Mean at rest, channel's unit, before any calibration (`beforeCalibration`). */
  readonly reading: number;
  /** Standard uncertainty of that mean. */
  readonly readingU: number;
}

export interface DeadWeight {
  readonly setup: DeadWeightSetup;
  readonly points: readonly LoadPoint[];
}

export function deadWeight(setup: DeadWeightSetup): DeadWeight {
  return { setup, points: [] };
}

export type PointRefused = { readonly sentence: string };

/** The calibration with one more point, or why it is not taken. */
export function withLoad(state: DeadWeight, point: LoadPoint): Result<DeadWeight, PointRefused> {
  if (!Number.isFinite(point.reading)) return err({ sentence: 'Not taken: the sensor gives no good reading.' });
  if (!(point.mass_kg >= 0)) return err({ sentence: 'Not taken: the mass must be 0 kg or more.' });
  const before = state.points.at(-1);
  if (before !== undefined && before.series === point.series) {
    if (before.direction === 'up' && point.direction === 'up' && point.mass_kg <= before.mass_kg) {
      return err({
        sentence: `Not taken: loading goes up, and ${point.mass_kg} kg is not above ${before.mass_kg} kg. Coming back from above would hide the hysteresis.`,
      });
    }
    if (before.direction === 'down' && point.direction === 'up') {
      return err({ sentence: 'Not taken: this series is unloading already; begin a new series.' });
    }
    if (point.direction === 'down' && point.mass_kg > before.mass_kg) {
      return err({
        sentence: `Not taken: unloading goes down, and ${point.mass_kg} kg is above ${before.mass_kg} kg.`,
      });
    }
  }
  if (before !== undefined && point.series < before.series) {
    return err({ sentence: `Not taken: series ${point.series} is over.` });
  }
  return ok({ ...state, points: [...state.points, point] });
}

/** Without its last point, to take it again. */
export function withoutLast(state: DeadWeight): DeadWeight {
  return { ...state, points: state.points.slice(0, -1) };
}

/** N or N·m of a mass. */
export function loadOf(setup: DeadWeightSetup, mass_kg: number): number {
  return mass_kg * setup.gravity_mPers2 * (setup.kind === 'torque' ? setup.arm_m : 1);
}

/** Figures of one fit; NaN where the points do not tell. */
export interface LoadFigures {
  readonly degree: 1 | 2;
  readonly fit: LeastSquaresFit;
  /** Load by the fit less load by the weights, in N or N·m, in the order of the points. */
  readonly errors: readonly number[];
  /** Largest error. */
  readonly residual_percent: number;
  /** Largest spread over series at the same load and direction. */
  readonly repeatability_percent: number;
  /** Largest difference between unloading and loading at the same load of a series. */
  readonly hysteresis_percent: number;
  /** Largest change of the no-load reading over a series. */
  readonly zeroReturn_percent: number;
}

/** Straight line (1) or quadratic (2) through the points so far. */
export function loadFigures(state: DeadWeight, degree: 1 | 2): Result<LoadFigures, FitError> {
  const { setup, points } = state;
  const readings = points.map((each) => each.reading);
  const loads = points.map((each) => loadOf(setup, each.mass_kg));
  const fitted = polynomialFit(readings, loads, degree);
  if (!fitted.ok) return fitted;
  const fit = fitted.value;
  const byFit = readings.map((each) => polynomialAt(fit.coefficients, each));
  const errors = byFit.map((each, i) => each - loads[i]!);
  const percent = (load: number): number => (100 * load) / setup.span;
  return ok({
    degree,
    fit,
    errors,
    residual_percent: percent(largest(errors)),
    repeatability_percent: percent(largest(spreadsOverSeries(points, byFit))),
    hysteresis_percent: percent(largest(differencesDownUp(points, byFit))),
    zeroReturn_percent: percent(largest(zeroReturns(points, byFit))),
  });
}

export interface DegreeAdvice {
  readonly degree: 1 | 2;
  readonly why: string;
}

/**
 * Straight line unless the curvature is certain (99 %) and worth having (it
 * halves the largest error): a term that only follows the noise makes the
 * channel worse outside the points.
 */
export function degreeAdvice(line: LoadFigures, quadratic: LoadFigures | null): DegreeAdvice {
  if (quadratic === null || !(quadratic.fit.degreesOfFreedom > 0)) {
    return { degree: 1, why: 'There are too few points to tell a curve from a straight line.' };
  }
  const t = Math.abs(quadratic.fit.coefficients[2]! / quadratic.fit.standardErrors[2]!);
  const isCertain = t > tFactor(0.99, quadratic.fit.degreesOfFreedom);
  if (!isCertain) return { degree: 1, why: 'The points show no certain curvature.' };
  if (quadratic.residual_percent * 2 > line.residual_percent) {
    return { degree: 1, why: 'The curvature is real, but too small to be worth a second term.' };
  }
  return { degree: 2, why: 'The curvature is certain, and with it the largest error is less than half.' };
}

function spreadsOverSeries(points: readonly LoadPoint[], byFit: readonly number[]): number[] {
  const groups = new Map<string, number[]>();
  points.forEach((point, i) => {
    const place = `${point.direction} ${point.mass_kg}`;
    groups.set(place, [...(groups.get(place) ?? []), byFit[i]!]);
  });
  return [...groups.values()]
    .filter((values) => values.length > 1)
    .map((values) => Math.max(...values) - Math.min(...values));
}

function differencesDownUp(points: readonly LoadPoint[], byFit: readonly number[]): number[] {
  const differences: number[] = [];
  points.forEach((down, i) => {
    if (down.direction !== 'down' || down.mass_kg === 0) return;
    const k = points.findIndex(
      (up) => up.direction === 'up' && up.series === down.series && up.mass_kg === down.mass_kg,
    );
    // At the top load both directions are one reading: it says nothing of hysteresis.
    if (k >= 0 && down.mass_kg !== topOf(points, down.series)) differences.push(byFit[i]! - byFit[k]!);
  });
  return differences;
}

function topOf(points: readonly LoadPoint[], series: number): number {
  return Math.max(...points.filter((each) => each.series === series).map((each) => each.mass_kg));
}

function zeroReturns(points: readonly LoadPoint[], byFit: readonly number[]): number[] {
  const returns: number[] = [];
  points.forEach((point, i) => {
    if (point.direction !== 'down' || point.mass_kg !== 0) return;
    const k = points.findIndex((up) => up.direction === 'up' && up.series === point.series && up.mass_kg === 0);
    if (k >= 0) returns.push(byFit[i]! - byFit[k]!);
  });
  return returns;
}

/** Of largest magnitude, as magnitude; NaN of none. */
function largest(values: readonly number[]): number {
  return values.length === 0 ? NaN : Math.max(...values.map(Math.abs));
}
