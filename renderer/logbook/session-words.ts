/** Short facts of a recorded session in words. Pure. */
import type { SessionProof, SessionRow, TakenSession } from '../../shared-core/bridge/contract.ts';
import { formatNumber } from '../ui/format.ts';

/** "2 runs", "1 run", "no run". */
export function runsWords(row: Pick<SessionRow, 'runs'>): string {
  const n = row.runs.length;
  return n === 0 ? 'no run' : n === 1 ? '1 run' : `${n} runs`;
}

/** "3 alarms, 1 abort", "no alarm". */
export function alarmsWords(row: Pick<SessionRow, 'alarms' | 'aborts'>): string {
  if (row.alarms === 0) return 'no alarm';
  const alarms = row.alarms === 1 ? '1 alarm' : `${row.alarms} alarms`;
  if (row.aborts === 0) return alarms;
  return `${alarms}, ${row.aborts === 1 ? '1 abort' : `${row.aborts} aborts`}`;
}

export const retentionSentence =
  'A session is let go 14 days after it began if it holds no run and no abort alarm, and was not kept by hand. All others stay until they are deleted; what is deleted stays in the bin for 30 days, and can be restored until then.';

const BIN_DAYS = 30;

/** "in the bin since 2026-03-04, gone after 2026-04-03". */
export function binWords(binnedAt_epochMs: number, dateOf: (epochMs: number) => string): string {
  const day = (epochMs: number): string => dateOf(epochMs).slice(0, 10);
  return `In the bin since ${day(binnedAt_epochMs)}; gone for good after ${day(binnedAt_epochMs + BIN_DAYS * 86_400_000)}.`;
}

/** What was read of a recording to prove that it is whole. */
export function proofWords({ isWhole, blocks, frames, events }: SessionProof): string {
  const read = `${formatNumber(frames, 0)} frames in ${formatNumber(blocks, 0)} blocks and ${formatNumber(events, 0)} events`;
  return isWhole
    ? `${read}; the checksum of each block and event holds.`
    : `Read were ${read}. On the command line, "salvage" saves what is whole.`;
}

/** What came of a session file. */
export function takenWords(name: string, sessions: readonly TakenSession[]): string {
  const known = sessions.filter((each) => each.wasThere).length;
  const taken = sessions.length - known;
  if (sessions.length === 0) return `${name} holds no session.`;
  if (taken === 0) {
    return `${name}: ${known === 1 ? 'its session was' : `its ${known} sessions were`} in the log book already, the same in every number.`;
  }
  const rest = known === 0 ? '' : `; ${known} more ${known === 1 ? 'was' : 'were'} there already`;
  return `${name}: ${taken === 1 ? '1 session' : `${taken} sessions`} verified and taken in${rest}.`;
}
