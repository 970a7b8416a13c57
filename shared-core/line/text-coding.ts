/**
 * Free text in a `T` line (PROTOCOL.md, part 11): UTF-8, with everything that
 * a body cannot hold, and `%`, as `%` and two hex digits per byte.
 */

const escapeForm = /%([0-9A-Fa-f]{2})?/g;
const REPLACEMENT = 0xfffd;

/**
 * The text as it stands in a body. Spaces that would stand at an end or in a
 * row become `%20`, because a body holds single spaces only. Lone surrogates
 * become U+FFFD.
 */
export function encodedText(text: string): string {
  let encoded = '';
  for (const character of text) {
    const code = character.codePointAt(0) ?? 0;
    if (code === 0x20) {
      const mayStand = encoded !== '' && !encoded.endsWith(' ');
      encoded += mayStand ? ' ' : '%20';
    } else if (code > 0x20 && code < 0x7e && code !== 0x25) {
      encoded += character;
    } else {
      for (const byte of utf8Of(code)) encoded += `%${byte.toString(16).toUpperCase().padStart(2, '0')}`;
    }
  }
  return encoded.endsWith(' ') ? `${encoded.slice(0, -1)}%20` : encoded;
}

/**
 * The text that was encoded; undefined if a `%` stands without its two digits.
 * Bytes that are no UTF-8 become U+FFFD: better a warning with a damaged
 * letter than no warning.
 */
export function decodedText(encoded: string): string | undefined {
  const bytes: number[] = [];
  let at = 0;
  for (const match of encoded.matchAll(escapeForm)) {
    const digits = match[1];
    if (digits === undefined) return undefined;
    for (; at < match.index; at++) bytes.push(encoded.charCodeAt(at));
    bytes.push(Number.parseInt(digits, 16));
    at += 3;
  }
  for (; at < encoded.length; at++) bytes.push(encoded.charCodeAt(at));
  return textOfUtf8(bytes);
}

function utf8Of(code: number): number[] {
  const scalar = code >= 0xd800 && code <= 0xdfff ? REPLACEMENT : code;
  if (scalar < 0x80) return [scalar];
  if (scalar < 0x800) return [0xc0 | (scalar >> 6), 0x80 | (scalar & 0x3f)];
  if (scalar < 0x10000) return [0xe0 | (scalar >> 12), 0x80 | ((scalar >> 6) & 0x3f), 0x80 | (scalar & 0x3f)];
  return [0xf0 | (scalar >> 18), 0x80 | ((scalar >> 12) & 0x3f), 0x80 | ((scalar >> 6) & 0x3f), 0x80 | (scalar & 0x3f)];
}

/** Well-formed UTF-8 as in RFC 3629, section 4; each byte that starts no such sequence gives one U+FFFD. */
export function textOfUtf8(bytes: readonly number[]): string {
  let text = '';
  let at = 0;
  while (at < bytes.length) {
    const lead = bytes[at] ?? 0;
    const length = lead < 0x80 ? 1 : lead >= 0xc2 && lead < 0xe0 ? 2 : lead >= 0xe0 && lead < 0xf0 ? 3 : 4;
    let code = length === 1 ? lead : lead & (0xff >> (length + 1));
    let isGood = lead < 0x80 || (lead >= 0xc2 && lead <= 0xf4);
    for (let i = 1; i < length && isGood; i++) {
      const next = bytes[at + i] ?? 0;
      isGood = (next & 0xc0) === 0x80;
      code = (code << 6) | (next & 0x3f);
    }
    // Overlong forms, surrogates and what lies past U+10FFFF are no UTF-8.
    if (length === 3 && (code < 0x800 || (code >= 0xd800 && code <= 0xdfff))) isGood = false;
    if (length === 4 && (code < 0x10000 || code > 0x10ffff)) isGood = false;
    text += String.fromCodePoint(isGood ? code : REPLACEMENT);
    at += isGood ? length : 1;
  }
  return text;
}
