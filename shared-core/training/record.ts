/** One line of a trainee's record, and all lines as rows for a table or a file. Pure. */
import type { Debrief } from './debrief.ts';
import type { LessonMode } from './lesson.ts';

export interface TrainingRecord {
  readonly format: 1;
  readonly session: string;
  readonly trainee: string;
  readonly lesson: string;
  readonly lessonVersion: number;
  readonly title: string;
  readonly mode: LessonMode;
  readonly seed: number;
  readonly at_epochMs: number;
  readonly duration_s: number;
  readonly ended: Debrief['ended'];
  readonly score: number;
  readonly pass: number;
  readonly isPassed: boolean;
  readonly verdict: string;
  readonly rewinds: number;
  readonly fastestSpeed: number;
  /** Absent in records of older programs. */
  readonly slowestSpeed?: number;
  readonly panelOpened?: number;
  readonly panelRefused?: number;
}

export function recordOf(debrief: Debrief, session: string, at_epochMs: number): TrainingRecord {
  const {
    trainee,
    lesson,
    lessonVersion,
    title,
    mode,
    seed,
    ended,
    score,
    pass,
    isPassed,
    verdict,
    rewinds,
    fastestSpeed,
    slowestSpeed,
    panelOpened,
    panelRefused,
  } = debrief;
  return {
    ...{ format: 1, session, trainee, lesson, lessonVersion, title, mode, seed, at_epochMs },
    ...{ duration_s: Math.round(debrief.duration_s), ended, score, pass, isPassed, verdict, rewinds },
    ...{ fastestSpeed, slowestSpeed, panelOpened, panelRefused },
  };
}

/** A record from a parsed line of the file, or null where it is none. */
export function parseRecord(value: unknown): TrainingRecord | null {
  if (typeof value !== 'object' || value === null) return null;
  const from = value as Record<string, unknown>;
  const texts = ['session', 'trainee', 'lesson', 'title', 'mode', 'ended', 'verdict'];
  const numbers = ['lessonVersion', 'seed', 'at_epochMs', 'duration_s', 'score', 'pass', 'rewinds', 'fastestSpeed'];
  const fits =
    from.format === 1 &&
    texts.every((key) => typeof from[key] === 'string') &&
    numbers.every((key) => Number.isFinite(from[key])) &&
    typeof from.isPassed === 'boolean';
  return fits ? (value as TrainingRecord) : null;
}

const heads = [
  'ended at (UTC)',
  'trainee',
  'lesson',
  'mode',
  'score of 100',
  'pass mark',
  'passed',
  'verdict',
  'duration (s)',
  'ended',
  'rewinds',
  'fastest speed',
  'slowest speed',
  "instructor's panel opened",
  'wrong words',
  'seed',
  'session',
  'provenance',
] as const;

/**
 * RFC 4180, CR LF. Text that a spreadsheet would take for a formula gets an
 * apostrophe: a name is written by whoever sits there.
 *
 * @param utc a wall time in words
 */
export function recordsCsv(records: readonly TrainingRecord[], utc: (epochMs: number) => string): string {
  const rows = records.map((r) => [
    ...[utc(r.at_epochMs), r.trainee, r.title, r.mode, r.score, r.pass, r.isPassed ? 'yes' : 'no', r.verdict],
    ...[
      r.duration_s,
      r.ended,
      r.rewinds,
      r.fastestSpeed,
      r.slowestSpeed ?? 1,
      r.panelOpened ?? 0,
      r.panelRefused ?? 0,
      r.seed,
      r.session,
      'SIMULATED',
    ],
  ]);
  return [heads, ...rows].map((row) => `${row.map(cell).join(',')}\r\n`).join('');
}

function cell(value: string | number): string {
  if (typeof value === 'number') return String(value);
  const safe = /^[=+\-@\t\r]/.test(value) ? `'${value}` : value;
  return /[",\r\n]/.test(safe) ? `"${safe.replaceAll('"', '""')}"` : safe;
}
