/**
 * Two display batches made one, for a page that has given no credit: nothing
 * is queued without bound, no extreme is lost, and `merged` says how many
 * went in.
 */
import type { DisplayBatch } from './contract.ts';

/**
 * @param older the batch that waits
 * @param newer the next one of the same stream
 * @returns both as one; only the newer where the layout changed between them,
 *   since the columns no longer mean the same
 */
export function mergeBatches(older: DisplayBatch, newer: DisplayBatch): DisplayBatch {
  if (older.layoutVersion !== newer.layoutVersion) return { ...newer, merged: older.merged + newer.merged };
  const n = newer.last.length;
  const min = new Float64Array(n);
  const max = new Float64Array(n);
  const last = new Float64Array(n);
  for (let i = 0; i < n; i++) {
    min[i] = lesser(older.min[i]!, newer.min[i]!);
    max[i] = greater(older.max[i]!, newer.max[i]!);
    // A channel of the slow group may have no sample in the newer step: its last stays.
    last[i] =
      newer.updated_us[i]! > older.updated_us[i]! || Number.isNaN(older.last[i]!) ? newer.last[i]! : older.last[i]!;
  }
  return { ...newer, from_us: older.from_us, merged: older.merged + newer.merged, min, max, last };
}

/** The smaller of two, where NaN means no sample. */
function lesser(a: number, b: number): number {
  if (Number.isNaN(a)) return b;
  return Number.isNaN(b) ? a : Math.min(a, b);
}

function greater(a: number, b: number): number {
  if (Number.isNaN(a)) return b;
  return Number.isNaN(b) ? a : Math.max(a, b);
}
