/** A capture cut into whole lines, and what says that it is no text at all. */
import { err, ok, type Result } from '../../base/result.ts';
import { LINE_BYTES_MAX } from '../line-buffer.ts';
import { hasControl, lineText } from './line-text.ts';

export interface Refusal {
  readonly reason: string;
  readonly remedy: string;
}

export interface CaptureLines {
  /** Whole lines without the first (which may have lost its head) unless it is a header, without comments and empty ones. */
  readonly lines: readonly string[];
  /** What begins lines that carry no values; empty for none. */
  readonly comment: string;
  readonly reasons: readonly string[];
}

const LF = 0x0a;
const CR = 0x0d;
const WRONG_RATE: Refusal = {
  reason: 'Most of what was heard is no text.',
  remedy:
    'This is how a wrong rate looks: try 115,200, 57,600, 38,400, 19,200 or 9,600 Bd. Or the bench sends binary, which no profile reads.',
};

export function captureLines(bytes: Uint8Array): Result<CaptureLines, Refusal> {
  const noise = bytes.filter((byte) => byte !== LF && byte !== CR && byte !== 9 && (byte < 0x20 || byte > 0x7e)).length;
  if (noise > 0.3 * bytes.length) return err(WRONG_RATE);
  const texts: string[] = [];
  let tooLong = 0;
  let from = 0;
  for (let lf = bytes.indexOf(LF); lf >= 0; lf = bytes.indexOf(LF, from)) {
    if (lf + 1 - from > LINE_BYTES_MAX) tooLong++;
    else texts.push(lineText(bytes, from, lf));
    from = lf + 1;
  }
  if (tooLong > 0 && tooLong >= texts.length) {
    return err({
      reason: `The lines are longer than ${LINE_BYTES_MAX} bytes.`,
      remedy: 'Make the bench print fewer columns.',
    });
  }
  if (texts.length === 0) return err(noLineEnd(bytes));
  const bad = texts.filter(hasControl).length;
  if (bad > 0.3 * texts.length) return err(WRONG_RATE);
  const clean = texts.map((text) => (hasControl(text) ? '' : text));
  // The first may have lost its head; as a header it would show by its letters.
  if (!/[A-Za-z]{2}/.test(clean[0]!)) clean[0] = '';
  const filled = clean.filter((text) => text.trim() !== '');
  const comment = commentOf(filled);
  const lines = comment === '' ? filled : filled.filter((text) => !text.startsWith(comment));
  const reasons = comment === '' ? [] : [`Lines that begin with "${comment}" carry no values.`];
  return ok({ lines, comment, reasons });
}

function noLineEnd(bytes: Uint8Array): Refusal {
  const returns = bytes.filter((byte) => byte === CR).length;
  return returns > 1
    ? {
        reason: 'The lines end with CR alone; a line must end with LF.',
        remedy: 'Set the line end of the bench to LF or CR LF.',
      }
    : { reason: 'No line has ended: there is no LF in what was heard.', remedy: 'Listen longer, and check the rate.' };
}

/** A mark that begins some lines, but not the most. */
function commentOf(lines: readonly string[]): string {
  for (const mark of ['#', '//', '%', '!']) {
    const marked = lines.filter((text) => text.startsWith(mark)).length;
    if (marked > 0 && marked < lines.length / 2) return mark;
  }
  return '';
}
