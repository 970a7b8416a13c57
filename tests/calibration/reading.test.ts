import { describe, expect, test } from 'vitest';
import { beforeCalibration, driftSince, type Sample, settledReading } from '../../shared-core/calibration/reading.ts';
import { type CalibrationRecord, dueDate, isOverdue, recordsInForce } from '../../shared-core/calibration/record.ts';
import { calibrated } from '../../shared-core/channels/calibration.ts';

const rule = { window_s: 2, spread: 0.5, leastSamples: 5 };
const every100ms = (values: readonly number[]): Sample[] => values.map((value, i) => ({ t_us: i * 100_000, value }));

describe('given readings at rest', () => {
  const still = Array.from({ length: 31 }, (_, i) => 10 + 0.1 * (i % 2));
  test.each([
    { name: 'nothing yet', values: [], isSettled: false, says: 'Waiting' },
    { name: 'too short a time', values: still.slice(0, 10), isSettled: false, says: '1.1 s more' },
    { name: 'still within the spread', values: still, isSettled: true, says: 'settled' },
    { name: 'just at the spread', values: [...still, 10.5], isSettled: true, says: 'settled' },
    { name: 'just past it', values: [...still, 10.51], isSettled: false, says: 'moves' },
    { name: 'a sensor that failed', values: [...still, NaN], isSettled: false, says: 'no good reading' },
    { name: 'movement that is over', values: [50, 40, 30, 20, ...still], isSettled: true, says: 'settled' },
  ])('when there is $name, then settled is $isSettled', ({ values, isSettled, says }) => {
    const got = settledReading(every100ms(values), rule);
    expect(got.isSettled).toBe(isSettled);
    expect(got.sentence).toContain(says);
  });
  test('when neighbours are alike, then their mean is less certain than that of as many independent ones', () => {
    const slow = settledReading(every100ms(Array.from({ length: 21 }, (_, i) => 10 + 0.1 * Math.sin(i / 3))), rule);
    expect(slow.u).toBeGreaterThan((1.5 * slow.sd) / Math.sqrt(slow.count));
  });
});

test('given a tare, then its drift is told in the unit, of the span, and whether it is real', () => {
  const tare = { at_us: 0, reading: 1, u: 0.05 };
  const later = driftSince(tare, { at_us: 7.2e9, reading: 3, u: 0.05 }, 400);
  expect(later).toEqual({ drift: 2, percentOfSpan: 0.5, since_h: 2, isReal: true });
  expect(driftSince(tare, { at_us: 1, reading: 1.1, u: 0.05 }, 400).isReal).toBe(false);
});

describe('given a calibrated value', () => {
  test.each([
    { a0: 0, a1: 1, a2: 0, tare: 0 },
    { a0: 3, a1: -2, a2: 0, tare: 1 },
    { a0: 1, a1: 2, a2: 1e-5, tare: -4 },
    { a0: 1, a1: -2, a2: -1e-5, tare: 0 },
    { a0: 0, a1: 1, a2: 1e-18, tare: 0 },
  ])('when calibrated by %o, then the value before comes back', (terms) => {
    for (const value of [-100, 0, 0.5, 300]) {
      expect(beforeCalibration(terms, calibrated(terms, value))).toBeCloseTo(value, 9);
    }
    expect(beforeCalibration(terms, NaN)).toBeNaN();
  });
  test('when no reading gives it, then NaN', () => {
    expect(beforeCalibration({ a0: 0, a1: 0, a2: 0, tare: 0 }, 5)).toBeNaN();
    expect(beforeCalibration({ a0: 0, a1: 1, a2: -1, tare: 0 }, 5)).toBeNaN();
  });
});

test.each([
  ['2026-11-25', 12, '2027-11-25'],
  ['2026-01-31', 1, '2026-02-28'],
  ['2027-12-31', 2, '2028-02-29'],
  ['2026-12-01', 1, '2027-01-01'],
  ['2026-12-01', 0, ''],
  ['soon', 3, ''],
])('%s and %i months is %s', (date, months, due) => expect(dueDate(date, months)).toBe(due));

test('given records, then overdue is the day after, and the newest of each kind is in force', () => {
  expect(isOverdue({ dueDate: '2026-11-25' }, '2026-11-25')).toBe(false);
  expect(isOverdue({ dueDate: '2026-11-25' }, '2026-11-26')).toBe(true);
  expect(isOverdue({ dueDate: '' }, '2026-11-26')).toBe(false);
  const record = (id: string, date: string, channels: string[]) =>
    ({ id, date, kind: 'thermocouple', channels }) as unknown as CalibrationRecord;
  const inForce = recordsInForce([
    record('a', '2026-02-01', ['cht1']),
    record('b', '2026-01-01', ['cht1']),
    record('c', '2025-01-01', ['cht2']),
  ]);
  expect(inForce.map((each) => each.id)).toEqual(['a', 'c']);
});
