/** Holds what a replay puts out against what was put out, and recorded, live. */
import type { JournalEvent, JournalOutput } from '../../../shared-core/journal.ts';

/**
 * @returns one sentence per difference, at most 20; empty where the replay
 *   equals the recording. Of a session that broke off, the recording may hold
 *   less than the fold makes of its last entries: those at the end are not
 *   held against it.
 */
export function compareReplay(
  recorded: readonly JournalEvent[],
  replayed: readonly { readonly t_us: number; readonly body: JournalOutput }[],
): string[] {
  const was = recorded.flatMap((event) => (event.side === 'out' ? [{ t_us: event.t_us, body: event.body }] : []));
  const findings: string[] = [];
  const count = Math.max(was.length, replayed.length);
  for (let i = 0; i < count && findings.length < 20; i++) {
    const before = was[i] === undefined ? 'nothing' : canonical(was[i]!);
    const now = replayed[i] === undefined ? 'nothing' : canonical(replayed[i]!);
    if (before !== now) findings.push(`output ${i}: recorded ${before}, replayed ${now}`);
  }
  return findings;
}

/** JSON with NaN as null, as the recording holds it, and keys in one order. */
function canonical(output: { readonly t_us: number; readonly body: JournalOutput }): string {
  return JSON.stringify(output, (_key, value: unknown) => {
    if (typeof value === 'number' && !Number.isFinite(value)) return null;
    if (value === null || typeof value !== 'object' || Array.isArray(value)) return value;
    return Object.fromEntries(Object.entries(value).sort(([a], [b]) => (a < b ? -1 : 1)));
  });
}
