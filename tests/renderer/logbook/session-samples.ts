/** Made-up rows of the log book. */
import type { RunRow, SessionRow } from '../../../shared-core/bridge/contract.ts';

export function run(from_s: number, to_s: number | null): RunRow {
  return { run: 1, from_us: from_s * 1e6, to_us: to_s === null ? null : to_s * 1e6, peakSpeed_rpm: 6000 };
}

export function session(change: Partial<SessionRow>): SessionRow {
  return {
    id: '20260304-140509-ab12',
    startedAt_epochMs: Date.UTC(2026, 2, 4, 14, 5, 9),
    duration_us: 600e6,
    provenance: 'LIVE',
    rigName: 'Lapwing 120',
    rigVersion: 1,
    engine: 'Lapwing 120',
    detail: '/dev/ttyUSB0',
    runs: [],
    alarms: 0,
    aborts: 0,
    marks: 0,
    isKept: false,
    isOpen: false,
    breakNote: '',
    note: '',
    bytes: 1000,
    tags: [],
    binnedAt_epochMs: null,
    ...change,
  };
}
