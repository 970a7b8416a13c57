/**
 * Reads the body of a bench line that is not a sample line and whose CRC was
 * right. Says what the line says, or that its form is bad; whether it fits
 * what came before is judged by `decoder.ts`.
 */
import { fieldsOf, hex4Of, isKey, isKind, isVersion, isWord, numberOf, seqOf, timeOf } from './fields.ts';
import type { Answer, ChannelRow, GroupRow, Identity, InputRow, InputState, TextWeight } from './messages.ts';
import { decodedText } from './text-coding.ts';

/** The major version that we read. */
export const MAJOR_VERSION = 1;
export const COLUMNS_MAX = 64;
/** 9 groups of 64 columns. */
export const CHANNELS_MAX = 9 * COLUMNS_MAX;

/** A row of the channel table and the layout it belongs to. */
export type TableRow =
  | { readonly kind: 'G'; readonly layout: string; readonly row: GroupRow }
  | { readonly kind: 'C'; readonly layout: string; readonly row: ChannelRow }
  | { readonly kind: 'D'; readonly layout: string; readonly row: InputRow };

export type LineContent =
  | { readonly kind: 'I'; readonly identity: Identity }
  /** An identity of another major version: nothing behind the version is read. */
  | { readonly kind: 'other-version'; readonly version: string }
  | TableRow
  | { readonly kind: 'E'; readonly input: number; readonly state: InputState }
  | { readonly kind: 'T'; readonly weight: TextWeight; readonly text: string }
  | { readonly kind: 'A'; readonly answer: Answer }
  | { readonly kind: 'unknown' };

export interface CheckedLine {
  /** The letter. */
  readonly kind: string;
  readonly seq: number;
  readonly time_us32: number;
  readonly content: LineContent;
}

/** The line, or undefined if it breaks a rule of form. An `S` line that comes here does (see `sample-line.ts`). */
export function checkedLine(body: string): CheckedLine | undefined {
  const fields = fieldsOf(body);
  const kind = fields?.[0];
  if (fields === undefined || !isKind(kind)) return undefined;
  const seq = seqOf(fields[1]);
  const time_us32 = timeOf(fields[2]);
  if (Number.isNaN(seq) || Number.isNaN(time_us32)) return undefined;
  const content = contentOf(kind, fields.slice(3));
  return content && { kind, seq, time_us32, content };
}

function contentOf(kind: string, fields: readonly string[]): LineContent | undefined {
  switch (kind) {
    case 'I':
      return identityOf(fields);
    case 'G':
      return groupOf(fields);
    case 'C':
      return channelOf(fields);
    case 'D':
      return inputOf(fields);
    case 'E':
      return eventOf(fields);
    case 'T':
      return textOf(fields);
    case 'A':
    case 'R':
      return answerOf(kind, fields);
    case 'S':
      return undefined;
    default:
      return { kind: 'unknown' };
  }
}

function identityOf(fields: readonly string[]): LineContent | undefined {
  const [version, bench, firmware] = fields;
  if (!isVersion(version)) return undefined;
  if (Number.parseInt(version, 10) !== MAJOR_VERSION) return { kind: 'other-version', version };
  const boot = hex4Of(fields[3]);
  const layout = hex4Of(fields[4]);
  const groups = numberOf(fields[5], 0, 9);
  const channels = numberOf(fields[6], 0, CHANNELS_MAX);
  const inputs = numberOf(fields[7], 0);
  if (!isWord(bench) || !isWord(firmware) || boot === undefined || layout === undefined) return undefined;
  if (Number.isNaN(groups + channels + inputs)) return undefined;
  return { kind: 'I', identity: { version, bench, firmware, boot, layout, groups, channels, inputs } };
}

function groupOf(fields: readonly string[]): LineContent | undefined {
  const layout = hex4Of(fields[0]);
  const group = numberOf(fields[1], 1, 9);
  const rate_mHz = numberOf(fields[2], 0);
  const columns = numberOf(fields[3], 1, COLUMNS_MAX);
  if (layout === undefined || Number.isNaN(group + rate_mHz + columns)) return undefined;
  return { kind: 'G', layout, row: { group, rate_mHz, columns } };
}

function channelOf(fields: readonly string[]): LineContent | undefined {
  const layout = hex4Of(fields[0]);
  const channel = numberOf(fields[1], 0, CHANNELS_MAX - 1);
  const group = numberOf(fields[2], 1, 9);
  const column = numberOf(fields[3], 0, COLUMNS_MAX - 1);
  const [key, quantity, unit] = fields.slice(4);
  const decimals = numberOf(fields[7], 0, 6);
  const low = numberOf(fields[8]);
  const high = numberOf(fields[9]);
  if (layout === undefined || !isKey(key) || !isWord(quantity) || !isWord(unit)) return undefined;
  if (Number.isNaN(channel + group + column + decimals) || !(low < high)) return undefined;
  return { kind: 'C', layout, row: { channel, group, column, key, quantity, unit, decimals, low, high } };
}

function inputOf(fields: readonly string[]): LineContent | undefined {
  const layout = hex4Of(fields[0]);
  const input = numberOf(fields[1], 0);
  const [key, word0, word1] = fields.slice(2);
  if (layout === undefined || Number.isNaN(input) || !isKey(key) || !isWord(word0) || !isWord(word1)) return undefined;
  return { kind: 'D', layout, row: { input, key, word0, word1 } };
}

function eventOf(fields: readonly string[]): LineContent | undefined {
  const input = numberOf(fields[0], 0);
  const state = fields[1];
  if (Number.isNaN(input) || (state !== '0' && state !== '1' && state !== 'X')) return undefined;
  return { kind: 'E', input, state: state === 'X' ? 'X' : state === '1' ? 1 : 0 };
}

function textOf(fields: readonly string[]): LineContent | undefined {
  const weight = fields[0];
  if (weight !== 'N' && weight !== 'W' && weight !== 'F') return undefined;
  const text = decodedText(fields.slice(1).join(' '));
  return text === undefined || text === '' ? undefined : { kind: 'T', weight, text };
}

function answerOf(kind: 'A' | 'R', fields: readonly string[]): LineContent | undefined {
  const host = hex4Of(fields[0]);
  const id = hex4Of(fields[1]);
  if (host === undefined || id === undefined) return undefined;
  if (kind === 'A') return { kind: 'A', answer: { kind: 'accepted', host, id, fields: fields.slice(2) } };
  const reason = fields[2];
  if (!isWord(reason)) return undefined;
  return { kind: 'A', answer: { kind: 'refused', host, id, reason, words: fields.slice(3) } };
}
