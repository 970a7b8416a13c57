/**
 * What every calibration leaves behind: one record of the same shape whatever
 * was calibrated, kept in the rig sheet with the terms that follow from it.
 * Its zod schema is `record-schema.ts`; the procedures are in the files beside.
 */
import type { ChannelKey } from '../channels/channel.ts';
import type { ChannelCalibration } from '../rig/rig-sheet.ts';
import type { ThrottleTravel } from './throttle-map.ts';

export const calibrationKinds = [
  'thrust',
  'torque',
  'thermocouple',
  'rpm-pickup',
  'fuel-zero',
  'fuel-scale',
  'throttle-travel',
] as const;
export type CalibrationKind = (typeof calibrationKinds)[number];

/** Figures that could not be had leave a calibration incomplete: neither good nor bad. */
export const verdicts = ['pass', 'fail', 'incomplete'] as const;
export type Verdict = (typeof verdicts)[number];

/** One number that the calibration found, with the limit that the user set for it. */
export interface CalibrationFigure {
  readonly name: string;
  /** Null where the data do not tell. */
  readonly value: number | null;
  readonly unit: string;
  /** The figure's magnitude must not be above it; null where none was set. */
  readonly limit: number | null;
  readonly isMet: boolean | null;
}

export interface ExpandedUncertainty {
  readonly U: number;
  readonly unit: string;
  /** Coverage factor, and the level of confidence it stands for. */
  readonly k: number;
  readonly p: number;
  /** What it is made of, standard uncertainties in the same unit, largest first. */
  readonly parts: readonly { readonly name: string; readonly u: number }[];
}

/** The readings as they were taken, as one table that any screen can show. */
export interface CalibrationData {
  readonly columns: readonly { readonly name: string; readonly unit: string }[];
  readonly rows: readonly (readonly (number | string | null)[])[];
}

export interface CalibrationRecord {
  readonly id: string;
  readonly kind: CalibrationKind;
  readonly channels: readonly ChannelKey[];
  /** Day, `2026-03-14`. */
  readonly date: string;
  /** A role: "technician 1". */
  readonly who: string;
  readonly method: string;
  /** Weights, arm, scales, thermometer: what it was held against, with numbers of certificates. */
  readonly reference: string;
  readonly data: CalibrationData;
  readonly figures: readonly CalibrationFigure[];
  readonly verdict: Verdict;
  /** What a person must know of it, plain sentences. */
  readonly findings: readonly string[];
  /** Null where the procedure gives none (throttle travel). */
  readonly uncertainty: ExpandedUncertainty | null;
  /** Day, or empty: not set. */
  readonly dueDate: string;
  /** Terms for the rig sheet; empty where the record changes none. */
  readonly calibrations: readonly ChannelCalibration[];
  readonly throttle?: ThrottleTravel | undefined;
}

/** What the person fills in, whatever is calibrated. */
export interface RecordHead {
  readonly id: string;
  readonly date: string;
  readonly who: string;
  readonly reference: string;
  /** Months until it is due again; 0: not set. */
  readonly dueAfter_months: number;
}

/** A figure against its limit; without a limit it is shown and not judged. */
export function figure(name: string, value: number, unit: string, limit: number | null): CalibrationFigure {
  const isKnown = Number.isFinite(value);
  return {
    name,
    value: isKnown ? value : null,
    unit,
    limit,
    isMet: limit === null || !isKnown ? null : Math.abs(value) <= limit,
  };
}

/** Fail if a limit is not met; incomplete if one is set and its figure is not known. */
export function verdictOf(figures: readonly CalibrationFigure[]): Verdict {
  if (figures.some((each) => each.isMet === false)) return 'fail';
  return figures.some((each) => each.limit !== null && each.isMet === null) ? 'incomplete' : 'pass';
}

/**
 * The day so many months later; on a day that the month lacks, its last.
 * @param date `2026-01-31`
 * @returns empty for 0 months or a date that is none
 */
export function dueDate(date: string, months: number): string {
  const parts = /^(\d{4})-(\d{2})-(\d{2})$/.exec(date);
  if (parts === null || !(months > 0)) return '';
  const index = Number(parts[1]) * 12 + Number(parts[2]) - 1 + Math.round(months);
  const year = Math.floor(index / 12);
  const month = (index % 12) + 1;
  const day = Math.min(Number(parts[3]), daysIn(year, month));
  return `${year}-${String(month).padStart(2, '0')}-${String(day).padStart(2, '0')}`;
}

/** Due, overdue or good, for lists; `today` as `2026-03-14`. Days of this form sort as text. */
export function isOverdue(record: { readonly dueDate: string }, today: string): boolean {
  return record.dueDate !== '' && record.dueDate < today;
}

/** The newest record of each kind and channel set: those in force. */
export function recordsInForce(records: readonly CalibrationRecord[]): readonly CalibrationRecord[] {
  const newest = new Map<string, CalibrationRecord>();
  for (const record of records) {
    const place = `${record.kind} ${record.channels.join(' ')}`;
    const known = newest.get(place);
    // A later entry of the same day supersedes.
    if (known === undefined || record.date >= known.date) newest.set(place, record);
  }
  return [...newest.values()];
}

function daysIn(year: number, month: number): number {
  if (month === 2) return year % 4 === 0 && (year % 100 !== 0 || year % 400 === 0) ? 29 : 28;
  return [4, 6, 9, 11].includes(month) ? 30 : 31;
}
