/** The retention rules (store-contract.ts) on one session, and what may be put into the bin, for every store alike. */
import type { SessionRow } from '../../../shared-core/bridge/contract.ts';
import { BIN_DAYS, RETENTION_DAYS, type StoreError } from './store-contract.ts';

const DAY_MS = 86_400_000;

export function mayLetGo(row: SessionRow, now_epochMs: number): boolean {
  if (row.isKept || row.isOpen) return false;
  if (row.binnedAt_epochMs !== null) return now_epochMs - row.binnedAt_epochMs > BIN_DAYS * DAY_MS;
  if (row.runs.length > 0 || row.aborts > 0) return false;
  return now_epochMs - row.startedAt_epochMs > RETENTION_DAYS * DAY_MS;
}

/** Why the session may not be put into the bin, or null. Taking it out is always right. */
export function binRefusal(row: SessionRow, binnedAt_epochMs: number | null): StoreError | null {
  if (binnedAt_epochMs === null) return null;
  if (row.isOpen) return { kind: 'session-in-use', id: row.id, why: 'recording' };
  return row.isKept ? { kind: 'session-in-use', id: row.id, why: 'kept' } : null;
}

/** Trimmed, none empty, each once. */
export function tidyTags(tags: readonly string[]): string[] {
  return [...new Set(tags.map((tag) => tag.trim()).filter((tag) => tag !== ''))];
}
