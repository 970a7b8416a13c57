import { describe, expect, test } from 'vitest';
import {
  type DeadWeight,
  deadWeight,
  degreeAdvice,
  type LoadPoint,
  loadFigures,
  loadOf,
  plainClass,
  withLoad,
  withoutLast,
} from '../../shared-core/calibration/dead-weight.ts';
import { deadWeightRecord } from '../../shared-core/calibration/dead-weight-record.ts';
import { calibrationRecordSchema } from '../../shared-core/calibration/record-schema.ts';
import { normalGravity_mPers2 } from '../../shared-core/derive/gravity.ts';

const setup = {
  kind: 'thrust' as const,
  channel: 'thrust',
  span: 400,
  gravity_mPers2: 10,
  gravityU_mPers2: 1e-4,
  arm_m: 1,
  armU_m: 0,
  massU_relative: 1e-4,
  loadClass: plainClass(0.5),
};
const head = { id: 'thrust-1', date: '2026-11-25', who: 'technician 1', reference: 'weights M1', dueAfter_months: 12 };

function taken(points: readonly Partial<LoadPoint>[], of = setup): DeadWeight {
  return points.reduce<DeadWeight>((state, point) => {
    const next = withLoad(state, { series: 1, direction: 'up', mass_kg: 0, reading: 0, readingU: 0.01, ...point });
    if (!next.ok) throw new Error(next.error.sentence);
    return next.value;
  }, deadWeight(of));
}

/** Reads half the load, 0.8 more on the way down, and 0.4 at the end: figures that can be worked out by hand. */
const series = (number: number, more = 0): Partial<LoadPoint>[] => [
  { series: number, mass_kg: 0, reading: 0 },
  { series: number, mass_kg: 20, reading: 100 + more },
  { series: number, mass_kg: 40, reading: 200 },
  { series: number, direction: 'down', mass_kg: 20, reading: 100.8 + more },
  { series: number, direction: 'down', mass_kg: 0, reading: 0.4 },
];

describe('given a series up and down that reads half of what hangs on it', () => {
  const state = taken(series(1));
  const got = loadFigures(state, 1);
  if (!got.ok) throw new Error(got.error.kind);
  const slope = got.value.fit.coefficients[1]!;

  test('then slope, hysteresis and zero return are those worked out by hand', () => {
    expect(slope).toBeCloseTo(2, 2);
    expect(got.value.hysteresis_percent).toBeCloseTo((100 * 0.8 * slope) / 400, 9);
    expect(got.value.zeroReturn_percent).toBeCloseTo((100 * 0.4 * slope) / 400, 9);
    expect(got.value.repeatability_percent).toBeNaN();
    expect(got.value.residual_percent).toBeCloseTo((100 * Math.max(...got.value.errors.map(Math.abs))) / 400, 12);
  });

  test('then the record is incomplete: repeatability is not known', () => {
    const record = deadWeightRecord(state, 1, head);
    expect(record).toMatchObject({ ok: true, value: { verdict: 'incomplete', dueDate: '2027-11-25' } });
    expect(record.ok && record.value.findings.join()).toContain('Repeatability is not known');
  });
});

describe('given a second series', () => {
  test.each([
    { more: 0.5, verdict: 'pass', why: 'within 0.5 %' },
    { more: 1.5, verdict: 'fail', why: 'the spread of 3 N is 0.75 %' },
  ])('when its middle reads $more more, then the verdict is $verdict: $why', ({ more, verdict }) => {
    const state = taken([...series(1), ...series(2, more)]);
    const record = deadWeightRecord(state, 1, head);
    if (!record.ok) throw new Error(record.error);
    expect(record.value.verdict).toBe(verdict);
    expect(record.value.calibrations).toMatchObject([{ channel: 'thrust', tare: 0 }]);
    expect(calibrationRecordSchema.safeParse(JSON.parse(JSON.stringify(record.value))).success).toBe(true);
    const { uncertainty } = record.value;
    // Expanded is the coverage factor times the root sum of squares of the parts listed.
    const u = Math.hypot(...uncertainty!.parts.map((each) => each.u));
    expect(uncertainty!.U).toBeCloseTo(uncertainty!.k * u, 9);
    expect(uncertainty!.parts.map((each) => each.name)).toContain('air buoyancy');
  });
});

describe('given torque', () => {
  test('then the load is mass × local gravity × arm', () => {
    const gravity_mPers2 = normalGravity_mPers2(45, 640);
    const torque = { ...setup, kind: 'torque' as const, gravity_mPers2, arm_m: 0.5, armU_m: 0.0005, span: 20 };
    expect(loadOf(torque, 4)).toBeCloseTo(4 * 0.5 * 9.8042, 3);
    // An arm that is uncertain by 0.1 % makes the torque so.
    const points = [0, 1, 2, 3, 4].map((mass_kg) => ({ mass_kg, reading: loadOf(torque, mass_kg), readingU: 0 }));
    const record = deadWeightRecord(taken(points, torque as unknown as typeof setup), 1, head);
    expect(record.ok && record.value.uncertainty?.parts[0]).toMatchObject({ name: 'arm', u: 0.02 });
    expect(record.ok && record.value.uncertainty?.unit).toBe('N·m');
  });
});

describe('given a curved channel', () => {
  const bent = (curve: number) =>
    [0, 10, 20, 30, 40].map((mass_kg) => {
      const load = mass_kg * 10;
      return { mass_kg, reading: load / 2 + curve * load * load };
    });
  const advice = (points: readonly Partial<LoadPoint>[]) => {
    const state = taken(points);
    const [line, quadratic] = [loadFigures(state, 1), loadFigures(state, 2)];
    if (!line.ok || !quadratic.ok) throw new Error('no fit');
    return degreeAdvice(line.value, quadratic.value).degree;
  };
  test('when the curvature is certain, then a quadratic is advised', () => expect(advice(bent(1e-5))).toBe(2));
  test('when there is only noise, then a straight line', () =>
    expect(advice(bent(0).map((each, i) => ({ ...each, reading: each.reading + [0, 0.1, -0.1, 0.1, 0][i]! })))).toBe(
      1,
    ));
  test('when a wrong point makes the quadratic turn round, then no record is made', () => {
    const record = deadWeightRecord(
      taken([0, 10, 20, 30].map((mass_kg, i) => ({ mass_kg, reading: [0, 50, 51, 10][i]! }))),
      2,
      head,
    );
    expect(record).toMatchObject({ ok: false });
    expect(!record.ok && record.error).toContain('turns round');
  });
});

describe('given a point that would spoil the calibration, then it is not taken and says why', () => {
  const state = taken([{ mass_kg: 0 }, { mass_kg: 10, reading: 50 }]);
  const down = taken([{ mass_kg: 0 }, { mass_kg: 10, reading: 50 }, { direction: 'down', mass_kg: 5, reading: 25 }]);
  const point: LoadPoint = { series: 1, direction: 'up', mass_kg: 20, reading: 100, readingU: 0 };
  test.each([
    { name: 'a broken sensor', from: state, change: { reading: NaN }, says: 'no good reading' },
    { name: 'a negative mass', from: state, change: { mass_kg: -1 }, says: '0 kg or more' },
    { name: 'NaN kg', from: state, change: { mass_kg: NaN }, says: '0 kg or more' },
    { name: 'the same load again on the way up', from: state, change: { mass_kg: 10 }, says: 'loading goes up' },
    {
      name: 'more weight on the way down',
      from: state,
      change: { direction: 'down', mass_kg: 11 },
      says: 'unloading goes down',
    },
    { name: 'up again after down', from: down, change: {}, says: 'unloading already' },
    { name: 'an old series', from: state, change: { series: 0 }, says: 'is over' },
  ] as const)('$name', ({ from, change, says }) => {
    const next = withLoad(from, { ...point, ...change });
    expect(next.ok).toBe(false);
    if (!next.ok) expect(next.error.sentence).toContain(says);
  });
  test('the last point can be taken back', () => expect(withoutLast(state).points).toHaveLength(1));
});

test('given points that determine no line, then there is no record and a sentence', () => {
  expect(deadWeightRecord(taken([{ mass_kg: 5, reading: 1 }]), 1, head)).toEqual({
    ok: false,
    error: '1 points are too few: this fit needs at least 2.',
  });
});
