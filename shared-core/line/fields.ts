/**
 * The fields that lines are made of (PROTOCOL.md, parts 2, 3 and 5), as text:
 * one definition for those who read lines and those who write them. Sample
 * lines are read without text, in `sample-line.ts`.
 */
import { RAW_MAX } from '../channels/quality.ts';

const numberForm = /^(?:0|-?[1-9][0-9]{0,9})$/;
const wordForm = /^[A-Za-z0-9._\-/%[\]]{1,24}$/;
const keyForm = /^[a-z][a-z0-9_]{0,15}$/;
const versionForm = /^[0-9]+\.[0-9]+$/;
const hex4Form = /^[0-9A-Fa-f]{4}$/;
const seqForm = /^[0-9A-F]{4}$/;
const timeForm = /^[0-9A-F]{8}$/;
const letterForm = /^[A-Z]$/;
/** Printable ASCII without space and `~`. */
const fieldForm = /^[\x21-\x7D]+$/;

/** A line's number within `least` to `most`; NaN if it is none. */
export function numberOf(field: string | undefined, least = -RAW_MAX, most = RAW_MAX): number {
  if (field === undefined || !numberForm.test(field)) return NaN;
  const value = Number(field);
  return value >= least && value <= most ? value : NaN;
}

/** 4 hex digits in upper case, whichever they came in; undefined if it is none. */
export function hex4Of(field: string | undefined): string | undefined {
  return field !== undefined && hex4Form.test(field) ? field.toUpperCase() : undefined;
}

/** Running number, exactly 4 upper-case digits; NaN if it is none. */
export function seqOf(field: string | undefined): number {
  return field !== undefined && seqForm.test(field) ? Number.parseInt(field, 16) : NaN;
}

/** Bench time in microseconds, exactly 8 upper-case digits; NaN if it is none. */
export function timeOf(field: string | undefined): number {
  return field !== undefined && timeForm.test(field) ? Number.parseInt(field, 16) : NaN;
}

export function isWord(field: string | undefined): field is string {
  return field !== undefined && wordForm.test(field);
}

export function isKey(field: string | undefined): field is string {
  return field !== undefined && keyForm.test(field);
}

export function isVersion(field: string | undefined): field is string {
  return field !== undefined && versionForm.test(field);
}

export function isKind(field: string | undefined): field is string {
  return field !== undefined && letterForm.test(field);
}

export function isField(field: string): boolean {
  return fieldForm.test(field);
}

/** The fields of a body; undefined if spaces are not single and between fields, or a `~` stands in it. */
export function fieldsOf(body: string): readonly string[] | undefined {
  const fields = body.split(' ');
  return fields.every(isField) ? fields : undefined;
}
