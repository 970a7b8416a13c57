/** The retention rule (store-contract.ts) on one session, for every store alike. */
import type { SessionRow } from '../../../shared-core/bridge/contract.ts';
import { RETENTION_DAYS } from './store-contract.ts';

const DAY_MS = 86_400_000;

export function mayLetGo(row: SessionRow, now_epochMs: number): boolean {
  if (row.isKept || row.isOpen) return false;
  if (row.runs.length > 0 || row.aborts > 0) return false;
  return now_epochMs - row.startedAt_epochMs > RETENTION_DAYS * DAY_MS;
}
