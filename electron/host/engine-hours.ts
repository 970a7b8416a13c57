/**
 * Hours of the engine from earlier sessions: the newest one of the same rig
 * says what it began with and what ran in it, so that each needs to know only
 * the one before. Simulated hours and real ones are never added.
 *
 * A session that is pruned takes with it what only it knew. It has no run in
 * it; at worst fasteners that were locked in it count as not locked.
 */
import type { JournalInput } from '../../shared-core/journal.ts';
import { type EngineHours, HostFacts } from '../../shared-core/pipeline/host-facts.ts';
import type { RigSheet } from '../../shared-core/rig/rig-sheet.ts';
import type { SessionStore, StoredSession } from './store/store-contract.ts';

/** Sessions looked through for one of this rig. */
const MOST_LOOKED_AT = 20;

export function carriedHours(
  store: SessionStore,
  rig: RigSheet,
  provenance: 'LIVE' | 'SIMULATED',
): Extract<JournalInput, { kind: 'hours' }> {
  const none = { kind: 'hours', total_h: 0, sinceLocked_h: 0, longestRun_h: 0 } as const;
  const listed = store.list();
  if (!listed.ok) return none;
  const rows = listed.value
    .filter((row) => row.rigName === rig.name && row.provenance === provenance)
    .sort((a, b) => b.startedAt_epochMs - a.startedAt_epochMs)
    .slice(0, MOST_LOOKED_AT);
  for (const row of rows) {
    const session = store.load(row.id);
    if (!session.ok || session.value.rig.id !== rig.id) continue;
    const { total_h, sinceLocked_h, longestRun_h } = hoursAtEnd(session.value);
    return { kind: 'hours', total_h, sinceLocked_h, longestRun_h };
  }
  return none;
}

/** As the fold counted them, from the events alone. */
export function hoursAtEnd(session: StoredSession): EngineHours {
  const facts = new HostFacts();
  let state: Parameters<HostFacts['passed']>[1] = 'standing';
  for (const { t_us, side, body } of session.events) {
    if (side === 'in') {
      if (body.kind === 'hours') facts.hoursCarried(body);
      if (body.kind === 'operator' && body.action.kind === 'fasteners-locked') {
        facts.passed(t_us, state);
        facts.locked();
      }
    } else if (body.kind === 'run-state') {
      facts.passed(t_us, body.state);
      state = body.state;
    }
  }
  facts.passed(session.row.duration_us, state);
  return facts.hours;
}
