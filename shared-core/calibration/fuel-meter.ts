/**
 * The fuel meter: its zero after bleeding, and its scale by what was weighed
 * against what the totaliser counted.
 */
import { err, ok, type Result } from '../base/result.ts';
import type { ChannelKey } from '../channels/channel.ts';
import { combined, distributions, expanded } from '../fit/uncertainty.ts';
import { univariate } from '../fit/univariate.ts';
import type { Sample, SettledReading } from './reading.ts';
import { settledReading } from './reading.ts';
import { type CalibrationRecord, dueDate, figure, type RecordHead, verdictOf } from './record.ts';

export const AIR_IN_THE_LINE =
  'The zero will not settle: there is air in the line. Bleed again, and look for a loose joint on the suction side.';

export interface ZeroRule {
  /** Largest reading at no flow that counts as zero, L/h. */
  readonly tolerance_LPerh: number;
  readonly window_s: number;
  /** Reading may move by so much within the window, L/h. */
  readonly spread_LPerh: number;
  /** If it has not settled by then, it will not. */
  readonly giveUpAfter_s: number;
}

export interface ZeroCheck {
  readonly state: 'waiting' | 'zero' | 'offset' | 'not-settling' | 'no-reading';
  readonly reading: SettledReading;
  readonly sentence: string;
}

/** @param samples of the flow since bleeding ended with the valve shut, in order of time */
export function fuelZeroCheck(samples: readonly Sample[], rule: ZeroRule): ZeroCheck {
  const reading = settledReading(samples, { window_s: rule.window_s, spread: rule.spread_LPerh, leastSamples: 5 });
  const seen_s = ((samples.at(-1)?.t_us ?? 0) - (samples[0]?.t_us ?? 0)) / 1e6;
  if (reading.isSettled) {
    return Math.abs(reading.mean) <= rule.tolerance_LPerh
      ? { state: 'zero', reading, sentence: 'Zero within tolerance.' }
      : {
          state: 'offset',
          reading,
          sentence: `Settled at ${reading.mean.toFixed(3)} L/h with no flow: shut the valve fully, or zero the meter.`,
        };
  }
  if (samples.length > 0 && samples.every((each) => !Number.isFinite(each.value))) {
    return { state: 'no-reading', reading, sentence: 'The fuel meter gives no good reading.' };
  }
  return seen_s >= rule.giveUpAfter_s
    ? { state: 'not-settling', reading, sentence: AIR_IN_THE_LINE }
    : { state: 'waiting', reading, sentence: reading.sentence };
}

export function fuelZeroRecord(
  channel: ChannelKey,
  check: ZeroCheck,
  rule: ZeroRule,
  head: RecordHead,
): Result<CalibrationRecord, string> {
  if (check.state === 'waiting' || check.state === 'no-reading') return err(check.sentence);
  const isSettled = check.state !== 'not-settling';
  const figures = [
    figure('Reading at no flow', isSettled ? check.reading.mean : NaN, 'L/h', rule.tolerance_LPerh),
    figure('Spread', check.reading.spread, 'L/h', rule.spread_LPerh),
  ];
  return ok({
    id: head.id,
    kind: 'fuel-zero',
    channels: [channel],
    date: head.date,
    who: head.who,
    method: `Bled, valve shut, ${rule.window_s} s at rest.`,
    reference: head.reference,
    data: {
      columns: [
        { name: 'Mean', unit: 'L/h' },
        { name: 'Standard deviation', unit: 'L/h' },
        { name: 'Samples', unit: '1' },
      ],
      rows: [[finiteOrNull(check.reading.mean), finiteOrNull(check.reading.sd), check.reading.count]],
    },
    figures,
    verdict: verdictOf(figures),
    findings: [check.sentence],
    uncertainty: null,
    dueDate: dueDate(head.date, head.dueAfter_months),
    // The zero is set at the meter (ZERO-FUEL), not hidden in the sheet.
    calibrations: [],
  });
}

/** One weighed delivery. */
export interface WeighedRun {
  /** Of the can before and after, kg. */
  readonly before_kg: number;
  readonly after_kg: number;
  /** Totaliser before and after, mL, before any calibration. */
  readonly counterBefore_mL: number;
  readonly counterAfter_mL: number;
  /** Of the fuel as it was, kg/m³ at its temperature (`mixDensity_kgPerm3`). */
  readonly density_kgPerm3: number;
}

export interface FuelScaleCheck {
  readonly totaliser: ChannelKey;
  /** Gets the same factor; null where there is none. */
  readonly flow: ChannelKey | null;
  readonly runs: readonly WeighedRun[];
  /** Half-width of one weighing, kg. */
  readonly scaleHalfWidth_kg: number;
  /** Half-width of the density, relative. */
  readonly densityHalfWidth_relative: number;
  /** Largest error of the meter as found that still passes, percent. */
  readonly tolerance_percent: number;
  /** Largest spread of the factor over the runs, percent. */
  readonly repeatability_percent: number;
}

/** Volume that was weighed out, mL. */
export function weighedVolume_mL(run: WeighedRun): number {
  return (1e6 * (run.before_kg - run.after_kg)) / run.density_kgPerm3;
}

export function fuelScaleRecord(check: FuelScaleCheck, head: RecordHead): Result<CalibrationRecord, string> {
  const { runs } = check;
  if (runs.length === 0) return err('Weigh at least one delivery.');
  for (const [i, run] of runs.entries()) {
    if (!(run.density_kgPerm3 > 600 && run.density_kgPerm3 < 1100)) {
      return err(`Run ${i + 1}: a density of ${run.density_kgPerm3} kg/m³ is that of no fuel.`);
    }
    if (!(run.before_kg > run.after_kg)) return err(`Run ${i + 1}: the can did not get lighter.`);
    if (!(run.counterAfter_mL > run.counterBefore_mL)) {
      return err(`Run ${i + 1}: the totaliser did not count. It may have been reset in between.`);
    }
  }
  const factors = runs.map((run) => weighedVolume_mL(run) / (run.counterAfter_mL - run.counterBefore_mL));
  const { mean: factor, sd } = univariate(factors);
  const spread_percent = runs.length > 1 ? (100 * (Math.max(...factors) - Math.min(...factors))) / factor : NaN;
  const figures = [
    figure('Error of the meter as found', 100 * (1 / factor - 1), '%', check.tolerance_percent),
    figure('Spread over the runs', spread_percent, '%', check.repeatability_percent),
  ];
  const least_kg = Math.min(...runs.map((run) => run.before_kg - run.after_kg));
  const sum = combined([
    // Two weighings make one delivery.
    {
      name: 'weighing',
      u: (100 * Math.SQRT2 * distributions.rectangular(check.scaleHalfWidth_kg)) / least_kg,
      degreesOfFreedom: Number.POSITIVE_INFINITY,
    },
    {
      name: 'density',
      u: 100 * distributions.rectangular(check.densityHalfWidth_relative),
      degreesOfFreedom: Number.POSITIVE_INFINITY,
    },
    {
      name: 'scatter',
      u: runs.length > 1 ? (100 * sd) / factor / Math.sqrt(runs.length) : 0,
      degreesOfFreedom: Math.max(1, runs.length - 1),
    },
  ]);
  const { U, k } = expanded(sum, 0.95);
  const terms = { a0: 0, a1: factor, a2: 0, tare: 0, note: head.id };
  return ok({
    id: head.id,
    kind: 'fuel-scale',
    channels: check.flow === null ? [check.totaliser] : [check.totaliser, check.flow],
    date: head.date,
    who: head.who,
    method: `${runs.length} weighed deliveries against the totaliser.`,
    reference: head.reference,
    data: {
      columns: [
        { name: 'Weighed', unit: 'kg' },
        { name: 'Density', unit: 'kg/m³' },
        { name: 'Volume', unit: 'mL' },
        { name: 'Counted', unit: 'mL' },
        { name: 'Factor', unit: '1' },
      ],
      rows: runs.map((run, i) => [
        run.before_kg - run.after_kg,
        run.density_kgPerm3,
        weighedVolume_mL(run),
        run.counterAfter_mL - run.counterBefore_mL,
        factors[i]!,
      ]),
    },
    figures,
    verdict: verdictOf(figures),
    findings: runs.length > 1 ? [] : ['Repeatability is not known: only one delivery was weighed.'],
    uncertainty: { U, unit: '%', k, p: 0.95, parts: sum.contributions.map(({ name, u }) => ({ name, u })) },
    dueDate: dueDate(head.date, head.dueAfter_months),
    calibrations: [
      { channel: check.totaliser, ...terms },
      ...(check.flow === null ? [] : [{ channel: check.flow, ...terms }]),
    ],
  });
}

function finiteOrNull(value: number): number | null {
  return Number.isFinite(value) ? value : null;
}
