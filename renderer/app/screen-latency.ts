/**
 * How long values take from the bench's byte to this screen, measured by the
 * page: the host's stamp of arrival (same machine, same clock) against the
 * moment after the paint. Alarms have their own measure, reported to the host
 * (`latency-report.tsx`); this one is the page's own and is not recorded.
 */
import { create } from 'zustand';
import type { DisplayBatch } from '../../shared-core/bridge/contract.ts';

export interface ScreenLatency {
  /** Of the newest `KEPT` measured steps; NaN before the first. */
  readonly p50_ms: number;
  readonly p99_ms: number;
  readonly measured: number;
}

const KEPT = 200;
/** Five a second tell enough, and cost nothing. */
const MEASURE_EVERY_MS = 200;
/** A page that loads is late with all of it: that says nothing of the way. */
const PAGE_LOADS_MS = 4000;
const LEAST_MEASURED = 10;
/** The figures are read by a person. */
const TELL_EVERY_MS = 2000;
/** A page that slept paints late: that says nothing of the way. */
const MOST_MS = 60_000;

export const useScreenLatency = create<ScreenLatency>(() => ({ p50_ms: NaN, p99_ms: NaN, measured: 0 }));

/**
 * Nearest-rank quantile: the smallest value that at least `share` of all do not exceed; NaN for none.
 * @param share 0 to 1
 */
export function quantileOf(values: readonly number[], share: number): number {
  if (values.length === 0) return NaN;
  const sorted = [...values].sort((a, b) => a - b);
  return sorted[Math.min(sorted.length - 1, Math.max(0, Math.ceil(share * sorted.length) - 1))] ?? NaN;
}

const kept_ms: number[] = [];
let measured = 0;
let measuredAt_ms = -Infinity;
let toldAt_ms = -Infinity;

/** To be called with each step as it comes; most are let pass. */
export function measureStep(batch: DisplayBatch): void {
  const now_ms = performance.now();
  if (now_ms < PAGE_LOADS_MS || batch.stream !== 'live' || document.hidden || now_ms - measuredAt_ms < MEASURE_EVERY_MS)
    return;
  measuredAt_ms = now_ms;
  const { arrivedAt_epochMs } = batch;
  // Two frames: the first draws it, the second begins when that has been handed to the screen.
  requestAnimationFrame(() => requestAnimationFrame(() => painted(Date.now() - arrivedAt_epochMs)));
}

function painted(took_ms: number): void {
  if (!(took_ms >= 0 && took_ms < MOST_MS)) return;
  kept_ms[measured++ % KEPT] = took_ms;
  const now_ms = performance.now();
  if (measured < LEAST_MEASURED || now_ms - toldAt_ms < TELL_EVERY_MS) return;
  toldAt_ms = now_ms;
  useScreenLatency.setState({ p50_ms: quantileOf(kept_ms, 0.5), p99_ms: quantileOf(kept_ms, 0.99), measured });
}
