/**
 * One line's bytes as text. Headers may hold ° or µ in UTF-8; what is no UTF-8
 * becomes U+FFFD, the same one whenever the same line comes.
 */
import { textOfUtf8 } from '../text-coding.ts';

const CR = 0x0d;
const TAB = 0x09;

/** Text from `from` up to, not including, `lf`, without the CR before it. */
export function lineText(bytes: Uint8Array, from: number, lf: number): string {
  const end = lf > from && bytes[lf - 1] === CR ? lf - 1 : lf;
  const line = bytes.subarray(from, end);
  return line.every((byte) => byte < 0x80) ? String.fromCharCode(...line) : textOfUtf8([...line]);
}

/** A control character other than tab: nothing that a bench prints. */
export function hasControl(text: string): boolean {
  for (let i = 0; i < text.length; i++) {
    const code = text.charCodeAt(i);
    if ((code < 0x20 && code !== TAB) || code === 0x7f) return true;
  }
  return false;
}

/** Printable ASCII and tabs only: the form of a line with values. */
export function isPlain(text: string): boolean {
  for (let i = 0; i < text.length; i++) {
    const code = text.charCodeAt(i);
    if ((code < 0x20 && code !== TAB) || code > 0x7e) return false;
  }
  return true;
}

/** For lists of faults: at most 80 characters, tabs as arrows, the unprintable as dots. */
export function excerptOfText(text: string): string {
  return text
    .slice(0, 80)
    .replaceAll('\t', '→')
    .replaceAll(/[^\x20-\x7e→]/g, '.');
}
