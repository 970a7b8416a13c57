/** Prefix and checksum of captured lines. Both come off before the layout is looked at. */
import { err, ok, type Result } from '../../base/result.ts';
import type { Refusal } from './capture-lines.ts';
import { checksumDigits } from './checksum.ts';
import { checksumKinds, type ProfileChecksum } from './line-profile.ts';
import { withoutChecksum } from './split-line.ts';

export interface CheckedLines {
  readonly prefix: string;
  readonly checksum: ProfileChecksum | null;
  /** Lines without prefix and checksum; those whose checksum is wrong are left out. */
  readonly bodies: readonly string[];
  /** The line as it came, by index into `bodies`. */
  wholeLine(index: number): string;
  readonly reasons: readonly string[];
}

const MARKS = ['*', '~', ',', ';', '|', ' ', '\t'] as const;
/** Share of the lines that must have it. */
const MOST = 0.7;
/** With fewer a short checksum might fit by chance. */
const LEAST_MATCHES = 3;

export function proposeChecksum(lines: readonly string[]): Result<CheckedLines, Refusal> {
  const prefix = ['$', '!', '@', '>', ':'].find(
    (mark) => lines.filter((line) => line.startsWith(mark)).length > MOST * lines.length,
  );
  const kept = lines
    .filter((line) => prefix === undefined || line.startsWith(prefix))
    .map((line) => line.slice(prefix?.length ?? 0));
  const whole = lines.filter((line) => prefix === undefined || line.startsWith(prefix));
  const reasons = prefix === undefined ? [] : [`Lines begin with "${prefix}".`];
  const found = checksumIn(kept, prefix ?? '');
  if (found !== null) {
    const good = kept.map((line, i) => ({ line, i })).filter(({ line }) => isRight(found, prefix ?? '', line));
    return ok({
      prefix: prefix ?? '',
      checksum: found,
      bodies: good.map(({ line }) => line.slice(0, -checksumDigits(found.kind) - 1)),
      wholeLine: (index) => whole[good[index]!.i]!,
      reasons: [
        ...reasons,
        `Lines end with "${found.mark}" and a checksum (${found.kind}), right in ${good.length} of ${kept.length}.`,
      ],
    });
  }
  const looksChecked = kept.filter((line) => /[*~][0-9A-Fa-f]{2}([0-9A-Fa-f]{2})?$/.test(line)).length;
  if (looksChecked > MOST * kept.length) {
    return err({
      reason: 'The lines end in what looks like a checksum, and none of the kinds that we know fits it.',
      remedy: 'Look up the checksum in the manual of the bench, or switch it off there.',
    });
  }
  return ok({
    prefix: prefix ?? '',
    checksum: null,
    bodies: kept,
    wholeLine: (index) => whole[index]!,
    reasons: [...reasons, 'No checksum: damage that looks like a number cannot be told.'],
  });
}

function checksumIn(bodies: readonly string[], prefix: string): ProfileChecksum | null {
  // A header has none: it does not count against it.
  const least = Math.max(LEAST_MATCHES, MOST * (bodies.length - 1));
  for (const mark of MARKS) {
    if (bodies.filter((line) => /[0-9A-Fa-f]{2}$/.test(line) && line.includes(mark)).length < least) continue;
    for (const kind of checksumKinds) {
      for (const coversMark of [false, true]) {
        for (const coversPrefix of prefix === '' ? [false] : [false, true]) {
          const candidate = { kind, mark, coversMark, coversPrefix };
          const right = bodies.filter((line) => isRight(candidate, prefix, line));
          if (right.length >= least && new Set(right).size >= LEAST_MATCHES) return candidate;
        }
      }
    }
  }
  return null;
}

function isRight(checksum: ProfileChecksum, prefix: string, line: string): boolean {
  return typeof withoutChecksum(checksum, prefix, line) === 'string';
}
