/**
 * The record of a calibration with dead weights: figures against the class,
 * uncertainty, and the terms for the rig sheet. Points and figures are in
 * `dead-weight.ts`.
 */
import { err, ok, type Result } from '../base/result.ts';
import { isMonotone } from '../channels/calibration.ts';
import { fitErrorWords } from '../fit/least-squares.ts';
import { combined, distributions, expanded } from '../fit/uncertainty.ts';
import { type DeadWeight, type DeadWeightSetup, type LoadFigures, loadFigures, loadOf } from './dead-weight.ts';
import {
  type CalibrationRecord,
  dueDate,
  type ExpandedUncertainty,
  figure,
  type RecordHead,
  verdictOf,
} from './record.ts';

/** Air carries 1.2/8000 of a steel weight; as we do not correct for it, it is a part of the uncertainty. */
const BUOYANCY_RELATIVE = 1.5e-4;
const CERTAIN = Number.POSITIVE_INFINITY;
const CONFIDENCE = 0.95;

/** The record; an error is one sentence, and nothing is recorded. */
export function deadWeightRecord(
  state: DeadWeight,
  degree: 1 | 2,
  head: RecordHead,
): Result<CalibrationRecord, string> {
  const { setup, points } = state;
  const got = loadFigures(state, degree);
  if (!got.ok) return err(fitErrorWords(got.error));
  const figures = got.value;
  const unit = setup.kind === 'thrust' ? 'N' : 'N·m';
  const [a0 = NaN, a1 = NaN, a2 = 0] = figures.fit.coefficients;
  const readings = points.map((each) => each.reading);
  if (!isMonotone({ a0, a1, a2, tare: 0 }, Math.min(...readings), Math.max(...readings))) {
    return err(
      'The fitted curve turns round between the points: one of them is wrong, or the quadratic does not suit.',
    );
  }
  const { loadClass } = setup;
  const judged = [
    figure('Largest error', figures.residual_percent, '% of span', loadClass.residual_percent),
    figure('Repeatability', figures.repeatability_percent, '% of span', loadClass.repeatability_percent),
    figure('Hysteresis', figures.hysteresis_percent, '% of span', loadClass.hysteresis_percent),
    figure('Zero return', figures.zeroReturn_percent, '% of span', loadClass.zeroReturn_percent),
  ];
  return ok({
    id: head.id,
    kind: setup.kind,
    channels: [setup.channel],
    date: head.date,
    who: head.who,
    method: methodOf(setup, points.length, degree),
    reference: head.reference,
    data: dataOf(state, figures, unit),
    figures: [...judged, figure('Residual scatter', figures.fit.residualSd, unit, null)],
    verdict: verdictOf(judged),
    findings: findingsOf(state, figures),
    uncertainty: uncertaintyOf(state, figures, unit),
    dueDate: dueDate(head.date, head.dueAfter_months),
    calibrations: [{ channel: setup.channel, a0, a1, a2, tare: 0, note: `${head.id}, ${loadClass.name}` }],
  });
}

/** At full span: the worst place. */
function uncertaintyOf(state: DeadWeight, figures: LoadFigures, unit: string): ExpandedUncertainty {
  const { setup, points } = state;
  const { span } = setup;
  const known = (percent: number): number => (Number.isFinite(percent) ? (Math.abs(percent) * span) / 100 : 0);
  const slope = Math.abs(figures.fit.coefficients[1]!);
  const { degreesOfFreedom } = figures.fit;
  const scatter = Number.isFinite(figures.fit.residualSd) ? figures.fit.residualSd : 0;
  const parts = [
    { name: 'fit', u: scatter, degreesOfFreedom: Math.max(1, degreesOfFreedom) },
    {
      name: 'readings',
      u: slope * Math.max(...points.map((each) => (Number.isFinite(each.readingU) ? each.readingU : 0))),
      degreesOfFreedom: CERTAIN,
    },
    // Half of what was seen, taken as equally likely anywhere within (GUM 4.3.7).
    {
      name: 'repeatability',
      u: distributions.rectangular(known(figures.repeatability_percent) / 2),
      degreesOfFreedom: CERTAIN,
    },
    {
      name: 'hysteresis',
      u: distributions.rectangular(known(figures.hysteresis_percent) / 2),
      degreesOfFreedom: CERTAIN,
    },
    { name: 'zero', u: distributions.rectangular(known(figures.zeroReturn_percent)), degreesOfFreedom: CERTAIN },
    { name: 'weights', u: setup.massU_relative * span, degreesOfFreedom: CERTAIN },
    { name: 'gravity', u: (setup.gravityU_mPers2 / setup.gravity_mPers2) * span, degreesOfFreedom: CERTAIN },
    { name: 'air buoyancy', u: distributions.rectangular(BUOYANCY_RELATIVE * span), degreesOfFreedom: CERTAIN },
    ...(setup.kind === 'torque'
      ? [{ name: 'arm', u: (setup.armU_m / setup.arm_m) * span, degreesOfFreedom: CERTAIN }]
      : []),
  ];
  const sum = combined(parts);
  const { U, k } = expanded(sum, CONFIDENCE);
  return {
    U,
    unit,
    k,
    p: CONFIDENCE,
    parts: sum.contributions.map(({ name, u }) => ({ name, u })).sort((a, b) => b.u - a.u),
  };
}

function findingsOf({ setup, points }: DeadWeight, figures: LoadFigures): string[] {
  const findings: string[] = [];
  if (Number.isNaN(figures.hysteresis_percent)) {
    findings.push('Hysteresis is not known: no load between the ends was read going up and coming down.');
  }
  if (Number.isNaN(figures.repeatability_percent)) {
    findings.push('Repeatability is not known: only one series was taken.');
  }
  if (Number.isNaN(figures.zeroReturn_percent)) {
    findings.push('Zero return is not known: no series begins and ends without a weight.');
  }
  const top = Math.max(...points.map((each) => loadOf(setup, each.mass_kg)));
  if (top < 0.8 * setup.span) {
    findings.push(
      `The heaviest load is ${((100 * top) / setup.span).toFixed(0)} % of the span; above it the calibration is a guess.`,
    );
  }
  if (figures.fit.coefficients[1]! < 0)
    findings.push('The channel reads the wrong way round; the terms turn its sign.');
  return findings;
}

function methodOf(setup: DeadWeightSetup, points: number, degree: 1 | 2): string {
  const arm = setup.kind === 'torque' ? ` at ${setup.arm_m} m` : '';
  const curve = degree === 1 ? 'straight line' : 'quadratic';
  return `Dead weights${arm}, gravity ${setup.gravity_mPers2.toFixed(5)} m/s², ${points} points, ${curve} by least squares.`;
}

function dataOf({ setup, points }: DeadWeight, figures: LoadFigures, unit: string): CalibrationRecord['data'] {
  return {
    columns: [
      { name: 'Series', unit: '' },
      { name: 'Direction', unit: '' },
      { name: 'Mass', unit: 'kg' },
      { name: 'Load', unit },
      { name: 'Reading', unit },
      { name: 'Error', unit },
      { name: 'Error of span', unit: '%' },
    ],
    rows: points.map((each, i) => [
      each.series,
      each.direction,
      each.mass_kg,
      loadOf(setup, each.mass_kg),
      each.reading,
      figures.errors[i]!,
      (100 * figures.errors[i]!) / setup.span,
    ]),
  };
}
