/**
 * How captured lines are laid out: key=value, delimited, or fixed columns;
 * which sign parts the decimals; which line is the header.
 */
import { err, ok, type Result } from '../../base/result.ts';
import type { Refusal } from './capture-lines.ts';
import { type Delimiter, delimiters, type FieldPlace, type ProfileLayout } from './line-profile.ts';
import { isNumber } from './number-field.ts';
import { cutAt, pairsOf } from './split-line.ts';

export interface RawColumn {
  readonly at: FieldPlace;
  /** From header or key; null where the bench names none. */
  readonly name: string | null;
  /** Text of the field in each line that has the layout. */
  readonly texts: readonly string[];
}

export interface LaidOut {
  readonly layout: ProfileLayout;
  readonly decimal: '.' | ',';
  readonly header: { readonly index: number } | null;
  readonly columns: readonly RawColumn[];
  readonly reasons: readonly string[];
  /** Lowered where something had to be assumed. */
  readonly certainty: number;
}

/** What may stand in a field of numbers without being one. */
export const missingMarks: readonly (readonly [RegExp, 'open' | 'short' | 'over' | 'under' | 'stale'])[] = [
  [/^$/, 'stale'],
  [/^(nan|n\/a|na|null|none|nil|x|\?+|-+|\*+|err|error|inv|invalid|#n\/a)$/i, 'stale'],
  [/^(open|oc|brk|broken)$/i, 'open'],
  [/^(short|sc)$/i, 'short'],
  [/^(ovf|ovl|ol|over|\++|inf|\+inf)$/i, 'over'],
  [/^(unf|under|udr|-inf)$/i, 'under'],
];

const MOST = 0.7;
const words: Readonly<Record<Delimiter, string>> = {
  ',': 'commas',
  ';': 'semicolons',
  '\t': 'tabs',
  '|': 'bars',
  ' ': 'spaces',
};

export function proposeLayout(bodies: readonly string[]): Result<LaidOut, Refusal> {
  const pairs = asPairs(bodies);
  if (pairs !== null) return ok(pairs);
  const delimited = asDelimited(bodies);
  const fixed = asFixed(bodies);
  // Fixed columns with a gap lose a field when they are cut at spaces.
  if (fixed !== null && (delimited === null || (isBySpaces(delimited) && delimited.share < 0.95))) return ok(fixed);
  if (delimited !== null) return ok(delimited.laidOut);
  return err({
    reason: 'The lines have no layout in common: no delimiter gives most of them the same number of fields of numbers.',
    remedy:
      'Check the rate; if the bench prints several kinds of lines, make it print one. Or write the profile by hand.',
  });
}

// ------------------------------------------------------------- key=value --

function asPairs(bodies: readonly string[]): LaidOut | null {
  for (const assign of ['=', ':'] as const) {
    for (const delimiter of [',', ';', '\t', '|', ' '] as const) {
      const read = bodies.map((body) => pairsOf(body, delimiter, assign)).filter((each) => each !== undefined);
      const named = read.filter((each) => [...each.keys()].every((key) => /^[A-Za-z][\w .%/°[\]-]{0,39}$/.test(key)));
      // One pair a line cut at another sign would swallow the rest of the line as its value.
      const whole = named.filter((each) => [...each.values()].every((text) => !text.includes(assign)));
      if (whole.length < MOST * bodies.length) continue;
      const keys = mostCommon(whole.map((each) => JSON.stringify([...each.keys()])));
      const names = JSON.parse(keys) as string[];
      const full = whole.filter((each) => each.size === names.length && names.every((key) => each.has(key)));
      if (full.length < MOST * bodies.length) continue;
      const texts = names.map((key) => full.map((each) => each.get(key)!));
      const decimal = decimalOf(texts, delimiter);
      return {
        layout: { kind: 'pairs', delimiter, assign, keys: names },
        decimal: decimal.sign,
        header: null,
        columns: names.map((key, i) => ({ at: { key }, name: key, texts: texts[i]! })),
        reasons: [
          `Each line is ${names.length} times name${assign}value, parted by ${words[delimiter]}.`,
          decimal.reason,
        ],
        certainty: decimal.certainty,
      };
    }
  }
  return null;
}

// ------------------------------------------------------------- delimited --

interface Delimited {
  readonly laidOut: LaidOut;
  readonly share: number;
  readonly score: number;
}

function isBySpaces({ laidOut }: Delimited): boolean {
  return laidOut.layout.kind === 'delimited' && laidOut.layout.delimiter === ' ';
}

function asDelimited(bodies: readonly string[]): Delimited | null {
  const tries = delimiters.map((delimiter) => cutBy(bodies, delimiter)).filter((each) => each !== null);
  // The first of equals: a sort keeps their order.
  return tries.sort((a, b) => b.score - a.score)[0] ?? null;
}

function cutBy(bodies: readonly string[], delimiter: Delimiter): Delimited | null {
  const cut = bodies.map((body) => cutAt(body, delimiter));
  const fields = Number(mostCommon(cut.map((each) => String(each.length))));
  const isSingle = fields === 1;
  // A single column needs no delimiter; commas stand for "none".
  if (isSingle && delimiter !== ';') return null;
  const fit = cut.map((parts, index) => ({ parts, index })).filter(({ parts }) => parts.length === fields);
  if (fit.length < MOST * bodies.length) return null;
  const headerAt = headerIn(fit.map(({ parts }) => parts));
  const rows = fit.filter((_, i) => i !== headerAt).map(({ parts }) => parts);
  if (rows.length === 0) return null;
  const texts = Array.from({ length: fields }, (_, k) => rows.map((row) => row[k]!));
  const decimal = decimalOf(texts, delimiter);
  const numeric = texts.map((column) => shareOf(column, (text) => isNumber(text, decimal.sign)));
  const best = Math.max(...numeric);
  if (!(best > 0.5)) return null;
  const share = fit.length / bodies.length;
  // Every field should be a number or at least short text; a wrong cut leaves "5;2" and the like.
  const readable =
    texts.filter((column) => shareOf(column, (text) => isValueLike(text, decimal.sign)) > MOST).length / fields;
  const header = headerAt < 0 ? null : { index: fit[headerAt]!.index };
  const names = headerAt < 0 ? null : fit[headerAt]!.parts;
  const reasons = [
    isSingle
      ? 'Each line is one number.'
      : `Most lines (${fit.length} of ${bodies.length}) have ${fields} fields, parted by ${words[delimiter]}.`,
    decimal.reason,
    header === null ? 'No header was heard: the columns have no names yet.' : 'A header names the columns.',
  ];
  return {
    laidOut: {
      layout: { kind: 'delimited', delimiter, fields },
      decimal: decimal.sign,
      header,
      columns: texts.map((column, k) => ({ at: { field: k }, name: nameAt(names, k), texts: column })),
      reasons,
      certainty: decimal.certainty * (header === null ? 0.9 : 1),
    },
    share,
    score: share * readable * readable * (isSingle ? 0.5 : 1),
  };
}

function nameAt(names: readonly string[] | null, k: number): string | null {
  const name = names?.[k] ?? '';
  return name === '' ? null : name;
}

/** A row of names among rows of numbers: letters where all others have digits. −1 for none. */
function headerIn(rows: readonly (readonly string[])[]): number {
  return rows.findIndex((row, i) => {
    const named = row.filter((text) => /[A-Za-z]/.test(text) && !missingMarks.some(([form]) => form.test(text))).length;
    if (named === 0 || named < row.length / 2) return false;
    const other = rows[i === rows.length - 1 ? 0 : i + 1];
    const numbersBelow = other?.filter((text, k) => /\d/.test(text) && !/\d/.test(row[k]!.slice(0, 1))).length ?? 0;
    return numbersBelow >= row.length / 2;
  });
}

function isValueLike(text: string, decimal: '.' | ','): boolean {
  return (
    isNumber(text, decimal) ||
    missingMarks.some(([form]) => form.test(text)) ||
    /^[A-Za-z]{1,8}$/.test(text) ||
    /^\d{1,2}:\d\d:\d\d([.,]\d+)?$/.test(text)
  );
}

// ----------------------------------------------------------------- fixed --

/** All lines of one length, with columns of blanks between the fields. */
function asFixed(bodies: readonly string[]): LaidOut | null {
  const length = Number(mostCommon(bodies.map((body) => String(body.length))));
  const fit = bodies
    .map((body, index) => ({ body, index }))
    .filter(({ body }) => body.length === length && !body.includes('\t'));
  if (fit.length < MOST * bodies.length || length < 3) return null;
  const headerAt = fit.findIndex(({ body }) => (body.match(/[A-Za-z]/g)?.length ?? 0) > length / 4);
  const rows = fit.filter((_, i) => i !== headerAt);
  const spans = spansOf(
    rows.map(({ body }) => body),
    length,
  );
  if (spans.length < 2) return null;
  const texts = spans.map(({ from, width }) => rows.map(({ body }) => body.slice(from, from + width).trim()));
  const decimal = decimalOf(texts, ' ');
  const isReadable = texts.every((column) => shareOf(column, (text) => isValueLike(text, decimal.sign)) > MOST);
  if (!isReadable) return null;
  const header = headerAt < 0 ? null : fit[headerAt]!;
  return {
    layout: { kind: 'fixed', length },
    decimal: decimal.sign,
    header: header === null ? null : { index: header.index },
    columns: spans.map(({ from, width }, k) => ({
      at: { from, width },
      name: header === null ? null : nameAt([header.body.slice(from, from + width).trim()], 0),
      texts: texts[k]!,
    })),
    reasons: [
      `Lines have ${length} characters each, and the fields stand in ${spans.length} fixed columns.`,
      decimal.reason,
    ],
    certainty: decimal.certainty * 0.9,
  };
}

/** Fields with the blanks before them: numbers are set to the right. */
function spansOf(rows: readonly string[], length: number): { readonly from: number; readonly width: number }[] {
  const spans: { from: number; width: number }[] = [];
  let from = 0;
  let isInside = false;
  for (let at = 0; at <= length; at++) {
    const isBlank = at === length || rows.every((row) => row[at] === ' ');
    if (isInside && isBlank) {
      spans.push({ from, width: at - from });
      from = at;
    }
    isInside = !isBlank;
  }
  return spans;
}

// --------------------------------------------------------------- decimal --

interface DecimalProposal {
  readonly sign: '.' | ',';
  readonly reason: string;
  readonly certainty: number;
}

function decimalOf(texts: readonly (readonly string[])[], delimiter: Delimiter): DecimalProposal {
  const all = texts.flat();
  const points = all.filter((text) => /^[+-]?\d*\.\d+/.test(text)).length;
  const commas = delimiter === ',' ? 0 : all.filter((text) => /^[+-]?\d*,\d+/.test(text)).length;
  if (points > 0 && commas > 0.1 * points && points > 0.1 * commas) {
    return {
      sign: points >= commas ? '.' : ',',
      reason: 'Points and commas both part decimals: look closely.',
      certainty: 0.5,
    };
  }
  if (commas > points) return { sign: ',', reason: 'Decimals are parted by a comma.', certainty: 1 };
  if (points > 0) return { sign: '.', reason: 'Decimals are parted by a point.', certainty: 1 };
  const isOpen = delimiter === ',';
  return {
    sign: '.',
    reason: isOpen
      ? 'No decimals were seen. If this bench writes a decimal comma, the commas are not what parts the fields.'
      : 'No decimals were seen; a point is assumed.',
    certainty: isOpen ? 0.7 : 0.95,
  };
}

// --------------------------------------------------------------- helpers --

export function shareOf(texts: readonly string[], is: (text: string) => boolean): number {
  return texts.length === 0 ? 0 : texts.filter(is).length / texts.length;
}

function mostCommon(values: readonly string[]): string {
  const counts = new Map<string, number>();
  for (const value of values) counts.set(value, (counts.get(value) ?? 0) + 1);
  let best = '';
  let most = 0;
  for (const [value, count] of counts) {
    if (count > most) {
      most = count;
      best = value;
    }
  }
  return best === '' ? '[]' : best;
}
