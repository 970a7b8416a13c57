/** Link health over the last ten minutes, one look a second, kept in the page for as long as it is open. */
import { create } from 'zustand';
import { streamStore } from '../app/stream-store.ts';

export interface LinkLook {
  readonly linesPerSecond: number;
  readonly loss_percent: number;
  readonly hostLatency_ms: number;
  readonly drift_ppm: number;
  /** Faults and missing lines in this second. */
  readonly faults: number;
}

export const LOOKS_KEPT = 600;

export const useLinkHistory = create<{ readonly looks: readonly LinkLook[] }>(() => ({ looks: [] }));

let faultsBefore = 0;

function look(): void {
  const snapshot = streamStore('live').getState().snapshot;
  if (!snapshot || snapshot.source.kind === 'none') return;
  const { link } = snapshot;
  const faults = Object.values(link.counts.faults).reduce((sum, each) => sum + each, link.counts.missing);
  const next: LinkLook = {
    linesPerSecond: link.linesPerSecond,
    loss_percent: link.loss_percent,
    hostLatency_ms: link.hostLatency_ms,
    drift_ppm: link.drift_ppm,
    // Less than before: the counts began anew with another session.
    faults: faults >= faultsBefore ? faults - faultsBefore : faults,
  };
  faultsBefore = faults;
  useLinkHistory.setState(({ looks }) => ({ looks: [...looks, next].slice(-LOOKS_KEPT) }));
}

let isKept = false;

/** From the first look at Rig on. */
export function keepLinkHistory(): void {
  if (isKept) return;
  isKept = true;
  setInterval(look, 1000);
}
