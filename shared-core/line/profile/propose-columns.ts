/**
 * What each column of captured lines is: time, running number, tag, numbers
 * with their decimals and marks for "no reading", or text that is left out.
 */
import { RAW_MAX } from '../../channels/quality.ts';
import { keyFor, nameParts, readName, unitOf } from './column-names.ts';
import type { FieldPlace, LineProfile, ProfileColumn, ProfileTime } from './line-profile.ts';
import { decimalsOf, isNumber, numberOf } from './number-field.ts';
import { clockSeconds } from './profile-clock.ts';
import { type LaidOut, missingMarks, type RawColumn, shareOf } from './propose-layout.ts';

export interface ColumnProposal {
  readonly column: ProfileColumn;
  /** As the bench names it; null where it does not. */
  readonly name: string | null;
  /** At most five texts as they came. */
  readonly examples: readonly string[];
  readonly least: number;
  readonly most: number;
  readonly why: string;
}

export interface ColumnsProposal {
  readonly columns: readonly ColumnProposal[];
  readonly tag: string | null;
  readonly time: ProfileTime;
  readonly sequence: LineProfile['sequence'];
  readonly rate_mHz: number;
  readonly reasons: readonly string[];
  readonly certainty: number;
}

const NUMERIC = 0.6;
const DECIMALS_MAX = 6;
const microseconds = { us: 1, ms: 1000, s: 1_000_000 } as const;
const EXAMPLES = 5;

export function proposeColumns(laidOut: LaidOut, measured: { readonly linesPerSecond: number }): ColumnsProposal {
  const { decimal, layout } = laidOut;
  const reasons: string[] = [];
  const left = [...laidOut.columns];
  const tag = layout.kind === 'delimited' ? tagOf(left[0]) : null;
  if (tag !== null) {
    left.shift();
    reasons.push(`The first field is always "${tag}": lines with another are of another kind.`);
  }
  const sequence = taken(left, (column) => isSequence(column));
  if (sequence !== null) reasons.push(`${titleOf(sequence)} counts the lines: missing ones are found by it.`);
  const time = timeIn(left, decimal, measured.linesPerSecond);
  if (time !== null) left.splice(left.indexOf(time.column), 1);
  reasons.push(time?.reason ?? 'No column is surely a time: the host takes the time when a line comes.');

  const keys = new Set<string>();
  const columns: ColumnProposal[] = [];
  for (const column of left) {
    const proposal = numbersIn(column, decimal, keys);
    if (proposal === null) reasons.push(`${titleOf(column)} is text and left out.`);
    else columns.push(proposal);
  }
  const linesPerSecond = time?.linesPerSecond ?? measured.linesPerSecond;
  const isRateKnown = linesPerSecond > 0 && Number.isFinite(linesPerSecond);
  if (!isRateKnown) reasons.push('The rate is not known: set the lines per second that the bench sends.');
  return {
    columns,
    tag,
    time: time?.time ?? { kind: 'arrival' },
    sequence: sequence === null ? null : { at: sequence.at, modulus: modulusOf(sequence) },
    rate_mHz: isRateKnown ? Math.min(10_000_000, Math.max(1, Math.round(1000 * linesPerSecond))) : 1000,
    reasons,
    certainty: columns.every((each) => each.name !== null) ? 1 : 0.9,
  };
}

// ---------------------------------------------------------------- numbers --

function numbersIn(column: RawColumn, decimal: '.' | ',', keys: Set<string>): ColumnProposal | null {
  const suffix = suffixOf(column.texts, decimal);
  const bare = column.texts.map((text) =>
    text.endsWith(suffix) ? text.slice(0, text.length - suffix.length).trimEnd() : text,
  );
  if (shareOf(bare, (text) => isNumber(text, decimal)) < NUMERIC) return null;
  const numeric = bare.filter((text) => isNumber(text, decimal));
  const values = numeric.map((text) => numberOf(text, decimal));
  const least = Math.min(...values);
  const most = Math.max(...values);
  const decimals = Math.min(DECIMALS_MAX, Math.max(...numeric.map((text) => decimalsOf(text, decimal))));
  const missing = [...new Set(column.texts)].flatMap((text) => {
    if (text.endsWith(suffix) && isNumber(text.slice(0, text.length - suffix.length).trimEnd(), decimal)) return [];
    const mark = missingMarks.find(([form]) => form.test(text));
    return mark === undefined ? [] : [{ text, state: mark[1] }];
  });
  const reading =
    column.name === null
      ? undefined
      : readName(suffix === '' ? column.name : `${nameParts(column.name).name} (${suffix})`);
  const number = /\d+/.exec(column.name ?? '')?.[0] ?? '';
  const key = keyFor(reading === undefined ? (column.name ?? 'c') : reading.stem + number, keys);
  keys.add(key);
  const unit =
    reading?.unit ?? unitOf(suffix) ?? (column.name === null ? undefined : nameParts(column.name).unit) ?? '1';
  const range = rangeOf(reading, least, most, decimals);
  return {
    column: {
      at: column.at,
      key,
      quantity: reading?.quantity ?? 'other',
      unit,
      scale: 1,
      offset: 0,
      decimals,
      ...range,
      suffix,
      missing: missing.slice(0, 16),
    },
    name: column.name,
    examples: [...new Set(column.texts)].slice(0, EXAMPLES),
    least,
    most,
    why:
      reading === undefined
        ? `Numbers with ${decimals} decimals; what they measure is for you to say.`
        : `Called "${column.name}"${reading.isUnitSaid ? ', with its unit' : `; the unit ${unit} is assumed`}.`,
  };
}

/** The usual range of the quantity, widened to what was seen; without one, twice what was seen. */
function rangeOf(
  reading: { readonly low: number; readonly high: number } | undefined,
  least: number,
  most: number,
  decimals: number,
): { readonly low: number; readonly high: number } {
  const widest = Math.floor(RAW_MAX / 10 ** decimals);
  const size = Math.max(1, Math.abs(least), Math.abs(most));
  const low = reading === undefined ? (least < 0 ? -2 * size : 0) : Math.min(reading.low, least);
  const high = reading === undefined ? 2 * size : Math.max(reading.high, most);
  return { low: Math.max(-widest, Math.floor(low)), high: Math.min(widest, Math.ceil(high)) };
}

/** The same letters behind every number: "187.4C". */
function suffixOf(texts: readonly string[], decimal: '.' | ','): string {
  const found = texts.map((text) => /^[+-]?[\d.,]+(\s*)([^\d.,\s].*)$/.exec(text)).filter((each) => each !== null);
  if (found.length < NUMERIC * texts.length) return '';
  const suffix = found[0]![2]!;
  const isSame = found.every((each) => each[2] === suffix);
  const isBare = found.every((each) => isNumber(each[0].slice(0, -suffix.length).trimEnd(), decimal));
  return isSame && isBare && suffix.length <= 16 ? suffix : '';
}

// ------------------------------------------------------------ tag, count --

function tagOf(column: RawColumn | undefined): string | null {
  if (column === undefined || column.texts.length === 0) return null;
  const first = column.texts.find((text) => /^[A-Za-z][\w.-]{0,39}$/.test(text));
  if (first === undefined || missingMarks.some(([form]) => form.test(first))) return null;
  return shareOf(column.texts, (text) => text === first) >= 0.7 ? first : null;
}

function isSequence(column: RawColumn): boolean {
  const values = wholeNumbers(column);
  if (values === null || values.length < 4) return false;
  const isNamed =
    column.name !== null &&
    /^(seq|n|no|nr|#|count|cnt|line|frame|idx|index|packet|sample)\.?\d*$/i.test(column.name.trim());
  const steps = stepsOf(values);
  const byOne = steps.filter((each) => each === 1).length / steps.length;
  const isCalledTime = column.name !== null && /time|sec|ms|us|clock|stamp/i.test(column.name);
  return isNamed ? byOne > 0.7 : byOne > 0.95 && !isCalledTime && column.name === null;
}

function modulusOf(column: RawColumn): number {
  const values = wholeNumbers(column) ?? [];
  const steps = stepsOf(values);
  // Where it was seen to begin again, the smallest usual size that holds it.
  const wrapAt = steps.findIndex((each) => each < 0);
  if (wrapAt >= 0) {
    const top = values[wrapAt]! + 1;
    return [10, 100, 256, 1000, 10_000, 65_536].find((each) => each >= top) ?? 2 ** 32;
  }
  return 2 ** 32;
}

// ------------------------------------------------------------------ time --

interface FoundTime {
  readonly column: RawColumn;
  readonly time: ProfileTime;
  readonly linesPerSecond: number | null;
  readonly reason: string;
}

/** Surely a time: named so, or a clock, or a steady count that agrees with the measured rate. */
function timeIn(columns: readonly RawColumn[], decimal: '.' | ',', linesPerSecond: number): FoundTime | null {
  for (const column of columns) {
    const seconds = column.texts.map(clockSeconds);
    if (seconds.every((each) => each >= 0)) {
      return {
        column,
        time: { kind: 'column', at: column.at, unit: 'clock', wrap: null },
        linesPerSecond: rateOf(seconds),
        reason: `${titleOf(column)} is a clock, hh:mm:ss.`,
      };
    }
  }
  for (const column of columns) {
    const values = column.texts.map((text) => numberOf(text, decimal));
    if (values.length < 3 || !values.every((each) => each >= 0)) continue;
    const steps = stepsOf(values);
    const forward = steps.filter((each) => each > 0);
    const isSteady = forward.length >= 0.9 * steps.length && spreadOf(forward) < 0.5;
    if (!isSteady) continue;
    const step = median(forward);
    const named = nameOfTime(column.name);
    const measured = linesPerSecond > 0 ? unitByRate(step, linesPerSecond) : null;
    const unit = named?.unit ?? (named === null ? measured : (measured ?? null));
    if (unit === null) continue;
    const wrap = wrapOf(column, steps, unit);
    return {
      column,
      time: { kind: 'column', at: column.at, unit, wrap },
      linesPerSecond: 1e6 / (step * microseconds[unit]),
      reason:
        named === null
          ? `${titleOf(column)} grows evenly, ${step} from line to line, which fits the measured rate as ${unit}.`
          : `${titleOf(column)} grows evenly and is called a time; read as ${unit}.`,
    };
  }
  return null;
}

/** What the name says: a time, and perhaps its unit; null if it says no time. */
function nameOfTime(name: string | null): { readonly unit: keyof typeof microseconds | null } | null {
  if (name === null) return null;
  const plain = name.toLowerCase();
  if (!/time|^t$|^t[^a-z]|stamp|clock|milli|micro|uptime|^ms$|^us$|^sec/.test(plain)) return null;
  if (/milli|\bms\b|_ms|\(ms\)|\[ms\]|^ms$|msec/.test(plain)) return { unit: 'ms' };
  if (/micro|\bus\b|_us|µs|usec/.test(plain)) return { unit: 'us' };
  if (/sec|\bs\b|_s$/.test(plain)) return { unit: 's' };
  return { unit: null };
}

/** The unit in which the step is the measured period, to a factor of 1.5. */
function unitByRate(step: number, linesPerSecond: number): keyof typeof microseconds | null {
  for (const unit of ['ms', 'us', 's'] as const) {
    const ratio = (step * microseconds[unit] * linesPerSecond) / 1e6;
    if (ratio > 1 / 1.5 && ratio < 1.5) return unit;
  }
  return null;
}

/** Counters of 16 or 32 bits wrap there; a fraction of seconds does not. */
function wrapOf(column: RawColumn, steps: readonly number[], unit: keyof typeof microseconds): number | null {
  const values = column.texts.map(Number);
  if (!values.every(Number.isInteger)) return null;
  const top = Math.max(...values);
  if (steps.some((each) => each < 0) && top <= 65_535) return 65_536;
  return unit === 's' ? null : 2 ** 32;
}

// --------------------------------------------------------------- helpers --

function taken(columns: RawColumn[], is: (column: RawColumn) => boolean): RawColumn | null {
  const at = columns.findIndex(is);
  return at < 0 ? null : columns.splice(at, 1)[0]!;
}

function wholeNumbers(column: RawColumn): number[] | null {
  return column.texts.every((text) => /^\d{1,15}$/.test(text)) ? column.texts.map(Number) : null;
}

function stepsOf(values: readonly number[]): number[] {
  return values.slice(1).map((each, i) => each - values[i]!);
}

function rateOf(seconds: readonly number[]): number | null {
  const elapsed_s = seconds.at(-1)! - seconds[0]!;
  return elapsed_s > 0 ? (seconds.length - 1) / elapsed_s : null;
}

function median(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted[sorted.length >> 1] ?? NaN;
}

/** Median deviation from the median, over the median: a damaged line or two do not move it. */
function spreadOf(values: readonly number[]): number {
  const middle = median(values);
  return median(values.map((each) => Math.abs(each - middle))) / middle;
}

function titleOf(column: RawColumn): string {
  if (column.name !== null) return `"${column.name}"`;
  return `Column ${placeWords(column.at)}`;
}

function placeWords(at: FieldPlace): string {
  if ('field' in at) return String(at.field + 1);
  return 'from' in at ? `at character ${at.from + 1}` : at.key;
}
