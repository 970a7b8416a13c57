/**
 * A foreign line into its fields: prefix and checksum off, then cut by
 * delimiter, columns or keys. What the fields say is `profile-decoder.ts`.
 */
import type { FaultKind } from '../messages.ts';
import { checksumDigits, checksumOf } from './checksum.ts';
import type { FieldPlace, LineProfile, ProfileChecksum } from './line-profile.ts';

/** Fields by place, trimmed. */
export interface Fields {
  at(place: FieldPlace): string;
}

export type SplitLine =
  | { readonly ok: true; readonly fields: Fields }
  | {
      readonly ok: false;
      readonly fault: Extract<FaultKind, 'no-crc' | 'bad-crc' | 'bad-form' | 'field-count' | 'unknown-kind'>;
    };

/** @param text a plain line without its end */
export function splitLine(profile: LineProfile, text: string): SplitLine {
  if (!text.startsWith(profile.prefix)) return { ok: false, fault: 'unknown-kind' };
  let body = text.slice(profile.prefix.length);
  if (profile.checksum !== null) {
    const checked = withoutChecksum(profile.checksum, profile.prefix, body);
    if (typeof checked !== 'string') return checked;
    body = checked;
  }
  const { layout } = profile;
  switch (layout.kind) {
    case 'delimited': {
      const fields = cutAt(body, layout.delimiter);
      if (profile.tag !== null && fields[0] !== profile.tag) return { ok: false, fault: 'unknown-kind' };
      if (fields.length !== layout.fields) return { ok: false, fault: 'field-count' };
      return { ok: true, fields: { at: (place) => ('field' in place ? (fields[place.field] ?? '') : '') } };
    }
    case 'fixed': {
      if (body.length !== layout.length) return { ok: false, fault: 'field-count' };
      return {
        ok: true,
        fields: { at: (place) => ('from' in place ? body.slice(place.from, place.from + place.width).trim() : '') },
      };
    }
    case 'pairs': {
      const byKey = pairsOf(body, layout.delimiter, layout.assign);
      if (byKey === undefined) return { ok: false, fault: 'bad-form' };
      const isComplete = byKey.size === layout.keys.length && layout.keys.every((key) => byKey.has(key));
      if (!isComplete) return { ok: false, fault: 'field-count' };
      return { ok: true, fields: { at: (place) => ('key' in place ? (byKey.get(place.key) ?? '') : '') } };
    }
  }
}

/** Fields of a body, trimmed; by ' ' they are parted by any number of spaces. */
export function cutAt(body: string, delimiter: string): string[] {
  if (delimiter === ' ') {
    const trimmed = body.trim();
    return trimmed === '' ? [''] : trimmed.split(/ +/);
  }
  return body.split(delimiter).map((each) => each.trim());
}

/** Key to value; undefined if a part has no assignment or a key comes twice. */
export function pairsOf(body: string, delimiter: string, assign: string): Map<string, string> | undefined {
  const byKey = new Map<string, string>();
  const parts = cutAt(body, delimiter);
  // A delimiter at the end parts nothing.
  if (parts.length > 1 && parts.at(-1) === '') parts.pop();
  for (const part of parts) {
    const at = part.indexOf(assign);
    const key = part.slice(0, at).trim();
    if (at < 1 || key === '' || byKey.has(key)) return undefined;
    byKey.set(key, part.slice(at + 1).trim());
  }
  return byKey;
}

/** The body before the checksum's mark, if the checksum is there and right. */
export function withoutChecksum(
  checksum: ProfileChecksum,
  prefix: string,
  body: string,
): string | Exclude<SplitLine, { ok: true }> {
  const digits = checksumDigits(checksum.kind);
  const at = body.length - digits - 1;
  const hex = body.slice(at + 1);
  if (at < 0 || body[at] !== checksum.mark || !/^[0-9A-Fa-f]+$/.test(hex)) return { ok: false, fault: 'no-crc' };
  const covered = (checksum.coversPrefix ? prefix : '') + body.slice(0, checksum.coversMark ? at + 1 : at);
  if (checksumOf(checksum.kind, covered) !== Number.parseInt(hex, 16)) return { ok: false, fault: 'bad-crc' };
  return body.slice(0, at);
}
