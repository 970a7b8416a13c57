/** Which sessions of the log book a filter lets through, and what can be chosen in it. Pure. */
import type { SessionRow } from '../../shared-core/bridge/contract.ts';

export interface SessionFilter {
  readonly text: string;
  /** Empty: any, as in all below. */
  readonly rig: string;
  readonly engine: string;
  readonly tag: string;
  /** Days of this machine's calendar, 2026-03-04; both included. */
  readonly fromDay: string;
  readonly toDay: string;
  readonly onlyWithRuns: boolean;
  readonly onlyWithAlarms: boolean;
  readonly onlyKept: boolean;
}

export const noFilter: SessionFilter = {
  text: '',
  rig: '',
  engine: '',
  tag: '',
  fromDay: '',
  toDay: '',
  onlyWithRuns: false,
  onlyWithAlarms: false,
  onlyKept: false,
};

/**
 * Every word of the text must stand somewhere in the row: id, date, source,
 * rig, engine, tags, note. Case does not matter.
 * @param dateOf date and time as the log book shows them, the day first
 */
export function filterSessions(
  rows: readonly SessionRow[],
  filter: SessionFilter,
  dateOf: (epochMs: number) => string,
): readonly SessionRow[] {
  const words = filter.text.toLowerCase().split(/\s+/).filter(Boolean);
  return rows.filter((row) => {
    if (filter.onlyWithRuns && row.runs.length === 0) return false;
    if (filter.onlyWithAlarms && row.alarms === 0) return false;
    if (filter.onlyKept && !row.isKept) return false;
    if (filter.rig !== '' && row.rigName !== filter.rig) return false;
    if (filter.engine !== '' && row.engine !== filter.engine) return false;
    if (filter.tag !== '' && !row.tags.includes(filter.tag)) return false;
    const date = dateOf(row.startedAt_epochMs);
    const day = date.slice(0, 10);
    // Days written like this are in the order of their text.
    if (filter.fromDay !== '' && day < filter.fromDay) return false;
    if (filter.toDay !== '' && day > filter.toDay) return false;
    if (words.length === 0) return true;
    const text = [
      row.id,
      date,
      row.provenance,
      row.detail,
      `${row.rigName} ${row.rigVersion}`,
      row.engine,
      ...row.tags,
      row.note,
      row.breakNote,
    ]
      .join(' ')
      .toLowerCase();
    return words.every((word) => text.includes(word));
  });
}

export interface FilterChoices {
  readonly rigs: readonly string[];
  readonly engines: readonly string[];
  readonly tags: readonly string[];
}

/** What the sessions have that can be chosen, each once, in alphabetical order. */
export function choicesOf(rows: readonly SessionRow[]): FilterChoices {
  const sorted = (all: readonly string[]): string[] =>
    [...new Set(all.filter((each) => each !== ''))].sort((a, b) => a.localeCompare(b));
  return {
    rigs: sorted(rows.map((row) => row.rigName)),
    engines: sorted(rows.map((row) => row.engine)),
    tags: sorted(rows.flatMap((row) => row.tags)),
  };
}
