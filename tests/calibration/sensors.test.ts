import { describe, expect, test } from 'vitest';
import {
  AIR_IN_THE_LINE,
  fuelScaleRecord,
  fuelZeroCheck,
  fuelZeroRecord,
  weighedVolume_mL,
} from '../../shared-core/calibration/fuel-meter.ts';
import { calibrationRecordSchema } from '../../shared-core/calibration/record-schema.ts';
import {
  markerFinding,
  PICKUP_GAP_ADVICE,
  pulseFaults,
  rpmPickupRecord,
} from '../../shared-core/calibration/rpm-pickup.ts';
import { thermocoupleRecord, warmedChannel } from '../../shared-core/calibration/thermocouple.ts';

const head = { id: 'c-1', date: '2026-11-25', who: 'technician 1', reference: '', dueAfter_months: 6 };
const isRecord = (value: unknown) => calibrationRecordSchema.safeParse(JSON.parse(JSON.stringify(value))).success;

describe('given a thermocouple in ice and in boiling water at 941 hPa', () => {
  // Water boils at 97.94 °C there (IAPWS R7-97).
  const check = {
    channel: 'cht1',
    ice: { mean_degC: 0.8, u_degC: 0.05 },
    boiling: { mean_degC: 99.14, u_degC: 0.05 },
    pressure_hPa: 941,
    tolerance_degC: 2.5,
    terms: 'offset-and-slope' as const,
  };
  test('when it reads 0.8 and 99.14 °C, then both are within 2.5 °C and the terms bring both to their place', () => {
    const record = thermocoupleRecord(check, head);
    if (!record.ok) throw new Error(record.error);
    expect(record.value.verdict).toBe('pass');
    expect(record.value.figures[0]!.value).toBeCloseTo(0.8, 9);
    expect(record.value.figures[1]!.value).toBeCloseTo(1.2, 1);
    const [{ a0, a1 } = { a0: NaN, a1: NaN }] = record.value.calibrations;
    expect(a0 + a1 * 0.8).toBeCloseTo(0, 9);
    expect(a0 + a1 * 99.14).toBeCloseTo(97.94, 1);
    expect(isRecord(record.value)).toBe(true);
  });
  test('when only an offset is wanted, then the slope stays 1 and the error is split', () => {
    const record = thermocoupleRecord({ ...check, terms: 'offset' }, head);
    expect(record.ok && record.value.calibrations[0]).toMatchObject({ a1: 1 });
    expect(record.ok && record.value.calibrations[0]!.a0).toBeCloseTo(-1, 1);
  });
  test.each([
    {
      name: 'swapped leads',
      change: { ice: { mean_degC: 40, u_degC: 0 }, boiling: { mean_degC: -50, u_degC: 0 } },
      says: 'swapped',
    },
    {
      name: 'another probe in the bath',
      change: { boiling: { mean_degC: 18, u_degC: 0 } },
      says: 'not the one on this channel',
    },
    { name: 'a broken lead', change: { ice: { mean_degC: NaN, u_degC: 0 } }, says: 'broken lead' },
    { name: 'a pressure in bar', change: { pressure_hPa: 0.941 }, says: '500 to 1,100 hPa' },
    { name: 'no pressure', change: { pressure_hPa: NaN }, says: '500 to 1,100 hPa' },
  ])('when there is $name, then no record is made and it says so', ({ change, says }) => {
    const record = thermocoupleRecord({ ...check, ...change }, head);
    expect(!record.ok && record.error).toContain(says);
  });
  test('when it is more than the tolerance off, then it fails', () => {
    const record = thermocoupleRecord({ ...check, ice: { mean_degC: 2.6, u_degC: 0 } }, head);
    expect(record.ok && record.value.verdict).toBe('fail');
  });
});

describe('given a probe that is warmed', () => {
  test.each([
    { name: 'the right one', rises: [8, 0.3], moved: 'cht1', says: 'is on its channel' },
    { name: 'the other', rises: [0.2, 7], moved: 'cht2', says: 'swapped' },
    { name: 'none yet', rises: [0.2, 0.1], moved: null, says: 'longer' },
    { name: 'both', rises: [8, 6], moved: null, says: 'one probe only' },
    { name: 'one that falls', rises: [-6, 0], moved: 'cht1', says: 'leads are swapped' },
    { name: 'a dead one', rises: [NaN, 0], moved: null, says: 'open or short' },
  ])('when $name moves, then it says so', ({ rises, moved, says }) => {
    const got = warmedChannel(
      rises.map((rise_K, i) => ({ channel: `cht${i + 1}`, rise_K })),
      'cht1',
      3,
    );
    expect(got.moved).toBe(moved);
    expect(got.sentence).toContain(says);
  });
});

describe('given an rpm pickup and a second source', () => {
  test.each([
    { markers: 1, ratio: 1.004, likely: 1, says: 'is right' },
    { markers: 1, ratio: 2.01, likely: 2, says: '2 go by per revolution, 1 are set' },
    { markers: 2, ratio: 0.5, likely: 1, says: '1 go by' },
    { markers: 1, ratio: 1.3, likely: null, says: 'no number of markers' },
    { markers: 1, ratio: 0.01, likely: null, says: 'no number of markers' },
  ])(
    'when it reads $ratio times as much with $markers set, then likely markers are $likely',
    ({ markers, ratio, likely, says }) => {
      const got = markerFinding(markers, [{ channel_rpm: 3000 * ratio, reference_rpm: 3000 }]);
      expect(got.likelyMarkers).toBe(likely);
      expect(got.sentence).toContain(says);
    },
  );

  const steady = Array.from({ length: 60 }, (_, i) => 3000 + 10 * Math.sin(i));
  const withAt = (changes: Record<number, number>) => steady.map((each, i) => changes[i] ?? each);
  test.each([
    { name: 'a steady trace', trace: steady, missing: 0, extra: 0, isInconclusive: false },
    { name: 'one sample at half', trace: withAt({ 20: 1500 }), missing: 1, extra: 0, isInconclusive: false },
    {
      name: 'two dips and a spike',
      trace: withAt({ 0: 1500, 30: 1500, 31: 1500, 45: 6000 }),
      missing: 2,
      extra: 1,
      isInconclusive: false,
    },
    { name: 'a dip to 0', trace: withAt({ 20: 0 }), missing: 1, extra: 0, isInconclusive: false },
    { name: 'a dip of 11 %', trace: withAt({ 20: 2670 }), missing: 0, extra: 0, isInconclusive: false },
    { name: 'samples that are not good', trace: withAt({ 20: NaN }), missing: 0, extra: 0, isInconclusive: false },
    { name: 'too few', trace: steady.slice(0, 19), missing: 0, extra: 0, isInconclusive: true },
    {
      name: 'a speed that changes',
      trace: steady.map((each, i) => each + 20 * i),
      missing: 0,
      extra: 0,
      isInconclusive: true,
    },
    { name: 'nothing', trace: [], missing: 0, extra: 0, isInconclusive: true },
  ])('when the trace has $name, then missing $missing, extra $extra', ({ trace, missing, extra, isInconclusive }) => {
    expect(pulseFaults(trace)).toMatchObject({ missing, extra, isInconclusive });
  });

  test('then the record judges the worst speed and the missing pulses, and says the gap', () => {
    const check = {
      channel: 'rpm',
      markers: 1,
      pairs: [
        { channel_rpm: 2010, reference_rpm: 2000 },
        { channel_rpm: 3964, reference_rpm: 4000 },
      ],
      secondSource: 'tachometer, by hand',
      referenceHalfWidth_relative: 0.01,
      tolerance_percent: 1,
      faults: pulseFaults(steady),
    };
    const record = rpmPickupRecord(check, head);
    if (!record.ok) throw new Error(record.error);
    expect(record.value).toMatchObject({ verdict: 'pass', calibrations: [] });
    expect(record.value.figures[0]!.value).toBeCloseTo(-0.9, 9);
    expect(record.value.findings).toContain(PICKUP_GAP_ADVICE);
    expect(isRecord(record.value)).toBe(true);
    expect(rpmPickupRecord({ ...check, faults: null }, head)).toMatchObject({ value: { verdict: 'incomplete' } });
    expect(rpmPickupRecord({ ...check, faults: pulseFaults(withAt({ 20: 1500 })) }, head)).toMatchObject({
      value: { verdict: 'fail' },
    });
    expect(rpmPickupRecord({ ...check, tolerance_percent: 0.89 }, head)).toMatchObject({ value: { verdict: 'fail' } });
    for (const change of [{ pairs: [] }, { pairs: [{ channel_rpm: 0, reference_rpm: 1 }] }, { markers: 0 }]) {
      expect(rpmPickupRecord({ ...check, ...change }, head).ok).toBe(false);
    }
  });
});

describe('given a fuel meter after bleeding', () => {
  const rule = { tolerance_LPerh: 0.02, window_s: 2, spread_LPerh: 0.02, giveUpAfter_s: 20 };
  const flow = (seconds: number, at: (i: number) => number) =>
    Array.from({ length: seconds * 10 + 1 }, (_, i) => ({ t_us: i * 100_000, value: at(i) }));
  test.each([
    { name: 'rests at 0.01', samples: flow(3, () => 0.01), state: 'zero', says: 'within tolerance' },
    { name: 'rests at 0.02', samples: flow(3, () => 0.02), state: 'zero', says: 'within tolerance' },
    { name: 'rests at 0.021', samples: flow(3, () => 0.021), state: 'offset', says: 'Settled at 0.021' },
    { name: 'moves, and it is early', samples: flow(5, (i) => (i % 7) * 0.1), state: 'waiting', says: 'moves' },
    { name: 'never rests', samples: flow(20, (i) => (i % 7) * 0.1), state: 'not-settling', says: 'air in the line' },
    { name: 'is broken', samples: flow(30, () => NaN), state: 'no-reading', says: 'no good reading' },
    { name: 'says nothing', samples: [], state: 'waiting', says: 'Waiting' },
  ])('when it $name, then $state', ({ samples, state, says }) => {
    const check = fuelZeroCheck(samples, rule);
    expect(check.state).toBe(state);
    expect(check.sentence).toContain(says);
    const record = fuelZeroRecord('fuel_flow', check, rule, head);
    const verdict = { zero: 'pass', offset: 'fail', 'not-settling': 'fail' }[check.state as 'zero'];
    expect(record.ok ? record.value.verdict : undefined).toBe(verdict);
    if (record.ok) expect(isRecord(record.value)).toBe(true);
    if (state === 'not-settling') expect(record.ok && record.value.findings).toEqual([AIR_IN_THE_LINE]);
  });

  const run = { before_kg: 2, after_kg: 1.25, counterBefore_mL: 100, counterAfter_mL: 1080, density_kgPerm3: 750 };
  const check = {
    totaliser: 'fuel_total',
    flow: 'fuel_flow',
    runs: [run, { ...run, counterAfter_mL: 1082 }],
    scaleHalfWidth_kg: 0.001,
    densityHalfWidth_relative: 0.002,
    tolerance_percent: 3,
    repeatability_percent: 0.5,
  };
  test('when 0.75 kg at 750 kg/m³ were counted as 980 and 982 mL, then the factor is 1000 over their mean', () => {
    expect(weighedVolume_mL(run)).toBeCloseTo(1000, 9);
    const record = fuelScaleRecord(check, head);
    if (!record.ok) throw new Error(record.error);
    expect(record.value.verdict).toBe('pass');
    expect(record.value.calibrations.map((each) => each.channel)).toEqual(['fuel_total', 'fuel_flow']);
    expect(record.value.calibrations[0]!.a1).toBeCloseTo((1000 / 980 + 1000 / 982) / 2, 12);
    expect(record.value.figures[0]!.value).toBeCloseTo(-1.9, 1);
    expect(isRecord(record.value)).toBe(true);
  });
  test.each([
    { name: 'nothing weighed', runs: [], says: 'at least one' },
    { name: 'a can that got heavier', runs: [{ ...run, after_kg: 3 }], says: 'lighter' },
    { name: 'a totaliser that was reset', runs: [{ ...run, counterAfter_mL: 20 }], says: 'reset' },
    { name: 'a density in kg/L', runs: [{ ...run, density_kgPerm3: 0.75 }], says: 'density' },
    { name: 'NaN kg', runs: [{ ...run, before_kg: NaN }], says: 'lighter' },
  ])('when there is $name, then no record is made', ({ runs, says }) => {
    const record = fuelScaleRecord({ ...check, runs }, head);
    expect(!record.ok && record.error).toContain(says);
  });
  test('when there was one delivery only, then repeatability is not known', () => {
    expect(fuelScaleRecord({ ...check, runs: [run] }, head)).toMatchObject({ value: { verdict: 'incomplete' } });
  });
});
