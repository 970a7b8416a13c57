/**
 * One reading taken at rest: has it settled, what is its mean, and how sure is
 * that. Also the tare and its drift, and the way back from a calibrated value
 * to the one before, which is what a new calibration starts from.
 */
import type { CalibrationTerms } from '../channels/calibration.ts';
import { univariate } from '../fit/univariate.ts';

export interface Sample {
  readonly t_us: number;
  readonly value: number;
}

export interface SettleRule {
  /** How long the reading must have held still. */
  readonly window_s: number;
  /** Largest difference of two samples in it, unit of the channel. */
  readonly spread: number;
  readonly leastSamples: number;
}

export interface SettledReading {
  readonly isSettled: boolean;
  /** Of the samples in the window; NaN where there are too few or one is not good. */
  readonly mean: number;
  readonly sd: number;
  readonly count: number;
  readonly spread: number;
  /** Standard uncertainty of the mean, widened where neighbours are alike. */
  readonly u: number;
  /** What is the matter, or that nothing is. */
  readonly sentence: string;
}

/**
 * Looks at the newest `window_s` of the samples (in order of time).
 * A sample that is NaN (sensor open, stale) is never settled.
 */
export function settledReading(samples: readonly Sample[], rule: SettleRule): SettledReading {
  const last = samples.at(-1);
  const from_us = (last?.t_us ?? 0) - rule.window_s * 1e6;
  const values = samples.filter((each) => each.t_us >= from_us).map((each) => each.value);
  const { mean, sd, count, lag1 } = univariate(values);
  const spread =
    values.reduce((high, each) => Math.max(high, each), -Infinity) -
    values.reduce((low, each) => Math.min(low, each), Infinity);
  const seen_s = ((last?.t_us ?? 0) - (samples[0]?.t_us ?? 0)) / 1e6;
  const base = { mean, sd, count, spread: count > 0 ? spread : NaN, u: uncertaintyOf(sd, count, lag1) };
  if (values.some((each) => !Number.isFinite(each))) {
    return { ...base, isSettled: false, sentence: 'The sensor gives no good reading.' };
  }
  if (count < rule.leastSamples || seen_s < rule.window_s * 0.95) {
    return {
      ...base,
      isSettled: false,
      sentence: `Waiting: ${Math.max(0, rule.window_s - seen_s).toFixed(1)} s more at rest are needed.`,
    };
  }
  if (!(spread <= rule.spread)) {
    return { ...base, isSettled: false, sentence: 'The reading still moves.' };
  }
  return { ...base, isSettled: true, sentence: 'The reading has settled.' };
}

export interface Tare {
  readonly at_us: number;
  /** Reading at no load. */
  readonly reading: number;
  readonly u: number;
}

export interface TareDrift {
  /** Reading at no load now, less that of the tare. */
  readonly drift: number;
  readonly percentOfSpan: number;
  readonly since_h: number;
  /** Whether it is more than the readings' own scatter explains (two standard uncertainties). */
  readonly isReal: boolean;
}

/** @param span of the channel, its unit, above 0 */
export function driftSince(tare: Tare, now: Tare, span: number): TareDrift {
  const drift = now.reading - tare.reading;
  return {
    drift,
    percentOfSpan: (100 * drift) / span,
    since_h: (now.at_us - tare.at_us) / 3.6e9,
    isReal: Math.abs(drift) > 2 * Math.hypot(tare.u, now.u),
  };
}

/**
 * The value before calibration that gives this calibrated one: of the two
 * roots of a quadratic, the one on the branch through `near`.
 * NaN where there is none.
 */
export function beforeCalibration(terms: CalibrationTerms, calibratedValue: number, near = 0): number {
  const { a0, a1, a2, tare } = terms;
  const c = a0 - tare - calibratedValue;
  if (a2 === 0) return a1 === 0 ? NaN : -c / a1;
  const root = Math.sqrt(a1 * a1 - 4 * a2 * c);
  // The slope's sign at `near` says which branch the readings are on; this form loses no digits for small a2.
  const slope = a1 + 2 * a2 * near >= 0 ? root : -root;
  const sum = a1 + slope;
  return sum === 0 ? -a1 / (2 * a2) : (-2 * c) / sum;
}

/** Neighbouring samples of a filtered channel are alike: n of them tell less than n. First-order, r from 0. */
function uncertaintyOf(sd: number, count: number, lag1: number): number {
  const r = Number.isFinite(lag1) ? Math.min(0.99, Math.max(0, lag1)) : 0;
  return (sd / Math.sqrt(count)) * Math.sqrt((1 + r) / (1 - r));
}
