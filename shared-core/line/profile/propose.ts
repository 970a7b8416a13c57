/**
 * The guide's pure part: from some seconds of what a bench prints, a profile
 * that reads it, with reasons and a confidence, for a person to look at and
 * name the columns. Nothing is proposed that does not then read the capture
 * itself: the proposal is tried on it by the decoder that would be used.
 *
 * Cutting and weeding is in `capture-lines.ts`, checksums in
 * `propose-checksum.ts`, layout in `propose-layout.ts`, columns in
 * `propose-columns.ts`.
 */
import { crc16 } from '../crc16.ts';
import { hex4 } from '../hex.ts';
import type { FaultKind, LineSink } from '../messages.ts';
import { captureLines } from './capture-lines.ts';
import type { LineProfile } from './line-profile.ts';
import { ProfileDecoder } from './profile-decoder.ts';
import { lineProfileSchema } from './profile-schema.ts';
import { proposeChecksum } from './propose-checksum.ts';
import { type ColumnProposal, proposeColumns } from './propose-columns.ts';
import { proposeLayout } from './propose-layout.ts';

export interface ProposeOptions {
  /** How long was listened; with it the rate, and the unit of a time column, are measured rather than guessed. */
  readonly listened_s?: number;
  /** Name of the bench in the profile; by default "bench". */
  readonly name?: string;
}

export interface Misfit {
  readonly fault: FaultKind;
  readonly excerpt: string;
}

export type Proposal =
  /** The bench speaks our line protocol: no profile is needed. */
  | { readonly kind: 'native'; readonly sentence: string }
  /** No profile can be proposed in good conscience. */
  | { readonly kind: 'refused'; readonly reason: string; readonly remedy: string }
  | {
      readonly kind: 'profile';
      readonly profile: LineProfile;
      readonly columns: readonly ColumnProposal[];
      /** Why each part is as it is, plain sentences. */
      readonly reasons: readonly string[];
      /** 0 to 1: share of the lines read, lowered for each thing that had to be assumed. */
      readonly confidence: number;
      readonly linesRead: number;
      readonly linesMisfit: number;
      /** At most ten. */
      readonly misfits: readonly Misfit[];
    };

const LEAST_LINES = 3;
/** Below this share of lines that fit, nothing is proposed. */
const LEAST_SHARE = 0.8;

export function proposeProfile(captured: Uint8Array, options: ProposeOptions = {}): Proposal {
  if (captured.length === 0) {
    return refused('Nothing was heard.', 'Check that the bench is powered, the cable is in, and it prints by itself.');
  }
  if (speaksOurLine(captured)) {
    return { kind: 'native', sentence: 'This bench speaks the line protocol itself: connect without a profile.' };
  }
  const capture = captureLines(captured);
  if (!capture.ok) return refused(capture.error.reason, capture.error.remedy);
  const { lines, comment, reasons } = capture.value;
  if (lines.length < LEAST_LINES) {
    return refused(
      `Only ${lines.length} whole lines were heard; at least ${LEAST_LINES} are needed.`,
      'Listen longer, or make the bench send faster.',
    );
  }
  const checked = proposeChecksum(lines);
  if (!checked.ok) return refused(checked.error.reason, checked.error.remedy);
  const kind = mainKind(checked.value.bodies);
  const laidOut = proposeLayout(kind.places.map((place) => checked.value.bodies[place]!));
  if (!laidOut.ok) return refused(laidOut.error.reason, laidOut.error.remedy);
  const columns = proposeColumns(laidOut.value, {
    linesPerSecond: options.listened_s === undefined ? NaN : kind.places.length / options.listened_s,
  });
  if (columns.columns.length === 0) {
    return refused('The lines hold text, but no column of numbers.', 'Make the bench print its readings as numbers.');
  }
  const profile: LineProfile = {
    name: options.name ?? 'bench',
    layout: laidOut.value.layout,
    decimal: laidOut.value.decimal,
    header: laidOut.value.header === null ? null : checked.value.wholeLine(kind.places[laidOut.value.header.index]!),
    comment,
    prefix: checked.value.prefix,
    tag: columns.tag,
    checksum: checked.value.checksum,
    time: columns.time,
    sequence: columns.sequence,
    rate_mHz: columns.rate_mHz,
    columns: columns.columns.map((each) => each.column),
  };
  const valid = lineProfileSchema.safeParse(profile);
  if (!valid.success) {
    const issue = valid.error.issues[0];
    return refused(
      `The lines cannot be read by a profile (${issue?.path.join('.')}: ${issue?.message}).`,
      'Write the profile by hand.',
    );
  }
  return tried(
    profile,
    captured,
    columns.columns,
    [...reasons, ...checked.value.reasons, ...kind.reasons, ...laidOut.value.reasons, ...columns.reasons],
    laidOut.value.certainty * columns.certainty,
  );
}

/** Reads the capture by the profile, as a session would. */
function tried(
  profile: LineProfile,
  captured: Uint8Array,
  columns: readonly ColumnProposal[],
  reasons: readonly string[],
  certainty: number,
): Proposal {
  const misfits: Misfit[] = [];
  let linesRead = 0;
  const decoder = new ProfileDecoder(profile);
  const ignore = () => {};
  const sink: LineSink = {
    samples: () => {
      linesRead++;
    },
    fault: (fault, excerpt) => misfits.push({ fault, excerpt }),
    identity: ignore,
    table: ignore,
    input: ignore,
    answer: ignore,
    text: ignore,
    missing: ignore,
    wrongVersion: ignore,
  };
  decoder.push(captured, sink, 0);
  // Lines of another kind are no misfits: the profile is not for them.
  const meant = linesRead + misfits.filter((each) => each.fault !== 'unknown-kind').length;
  const share = linesRead / Math.max(1, meant);
  if (share < LEAST_SHARE || linesRead < 2) {
    const worst = misfits[0];
    return refused(
      `Only ${linesRead} of ${meant} lines fit the best reading${
        worst === undefined ? '' : `; the first that does not (${worst.fault}): ${worst.excerpt}`
      }.`,
      'Check rate and cable; if the bench prints several kinds of lines, make it print one.',
    );
  }
  return {
    kind: 'profile',
    profile,
    columns,
    reasons,
    confidence: Math.round(100 * share * certainty) / 100,
    linesRead,
    linesMisfit: misfits.length,
    misfits: misfits.slice(0, 10),
  };
}

/** Benches that begin each line with its kind may send several; a profile reads one, the most common. */
function mainKind(bodies: readonly string[]): {
  readonly places: readonly number[];
  readonly reasons: readonly string[];
} {
  const kinds = bodies.map((body) => /^[A-Za-z][\w.-]*(?=[,;\t|])/.exec(body)?.[0] ?? '');
  const counts = new Map<string, number>();
  for (const kind of kinds) counts.set(kind, (counts.get(kind) ?? 0) + 1);
  const all = bodies.map((_, place) => place);
  const [main, count] = [...counts].sort((a, b) => b[1] - a[1])[0] ?? ['', 0];
  const others = [...counts.keys()].filter((kind) => kind !== main && kind !== '' && (counts.get(kind) ?? 0) > 1);
  if (main === '' || others.length === 0 || count < 3) return { places: all, reasons: [] };
  return {
    places: all.filter((place) => kinds[place] === main),
    reasons: [`Lines of several kinds come (${[main, ...others].join(', ')}); only "${main}" is read.`],
  };
}

/** More than one whole line whose own CRC is right is no chance. */
function speaksOurLine(bytes: Uint8Array): boolean {
  let good = 0;
  let from = 0;
  for (let lf = bytes.indexOf(0x0a); lf >= 0; lf = bytes.indexOf(0x0a, from)) {
    const end = lf > from && bytes[lf - 1] === 0x0d ? lf - 1 : lf;
    const tilde = end - 5;
    if (tilde > from && bytes[tilde] === 0x7e && hex4(bytes, tilde + 1) === crc16(bytes, from, tilde)) good++;
    from = lf + 1;
  }
  return good >= 2;
}

function refused(reason: string, remedy: string): Proposal {
  return { kind: 'refused', reason, remedy };
}
