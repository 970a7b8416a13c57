/**
 * A made-up journal for tests of recorders and stores: two rate groups that
 * interleave, ticks, inputs and outputs. The same seed gives the same journal.
 */

import type { SessionStart, SessionSummary, SessionWriter } from '../../electron/host/store/store-contract.ts';
import { quality, rawOfQuality } from '../../shared-core/channels/quality.ts';
import type { JournalEvent, JournalInput, JournalOutput, JournalSink } from '../../shared-core/journal.ts';
import { lapwing120 } from '../../shared-core/rig/lapwing.ts';

export type Entry =
  | {
      readonly kind: 'frame';
      readonly ord: number;
      readonly t_us: number;
      readonly group: number;
      readonly raw: readonly number[];
    }
  | { readonly kind: 'tick'; readonly ord: number; readonly t_us: number }
  | { readonly kind: 'event'; readonly event: JournalEvent };

export function sessionStart(id: string, startedAt_epochMs = 1_760_000_000_000): SessionStart {
  return { id, startedAt_epochMs, source: 'simulator', detail: 'a made-up journal', rig: lapwing120 };
}

export const noSummary: SessionSummary = { duration_us: 0, runs: [], alarms: 0, aborts: 0, marks: 0 };

/** @param seconds of a 100 Hz and a 4 Hz group; a tick each half second, an alarm with NaN each second */
export function madeUpJournal(seconds: number, seed = 1, fromOrd = 0, from_us = 0): Entry[] {
  const random = mulberry32(seed);
  const entries: Entry[] = [];
  let ord = fromOrd;
  let speed = 6100;
  for (let step = 0; step < seconds * 100; step++) {
    const t_us = from_us + step * 10_000 + Math.floor(random() * 50);
    speed += Math.round((random() - 0.5) * 8);
    const thrust = random() < 0.02 ? rawOfQuality(quality.open) : Math.round(31_000 + random() * 100);
    entries.push({ kind: 'frame', ord: ord++, t_us, group: 1, raw: [speed, thrust, -Math.round(random() * 1e9)] });
    if (step % 25 === 3)
      entries.push({ kind: 'frame', ord: ord++, t_us, group: 2, raw: [1874, rawOfQuality(quality.stale)] });
    if (step % 50 === 7) entries.push({ kind: 'tick', ord: ord++, t_us });
    if (step % 100 === 11) {
      const body: JournalInput = {
        kind: 'operator',
        by: 'operator 1',
        action: { kind: 'mark', text: `mark ${step} µ"\\` },
      };
      entries.push({ kind: 'event', event: { ord, t_us, side: 'in', body } });
      const alarm: JournalOutput = {
        kind: 'alarm',
        id: 'cht',
        rule: 'cht',
        level: 'caution',
        title: 'CHT 1 high',
        change: 'tripped',
        state: 'active-unacknowledged',
        value: Number.NaN,
        limit: null,
        isFirstOut: true,
      };
      entries.push({ kind: 'event', event: { ord, t_us, side: 'out', body: alarm } });
      ord++;
    }
  }
  return entries;
}

export function record(writer: SessionWriter, entries: readonly Entry[]): void {
  const raw = new Int32Array(8);
  for (const entry of entries) {
    if (entry.kind === 'frame') {
      raw.set(entry.raw);
      writer.frame(entry.ord, entry.t_us, entry.group, raw, entry.raw.length);
    } else if (entry.kind === 'tick') writer.tick(entry.ord, entry.t_us);
    else writer.event(entry.event);
  }
}

/** Keeps what a replay feeds it, in the form of the entries above. */
export class EntrySink implements JournalSink {
  readonly entries: Entry[] = [];

  frame(ord: number, t_us: number, group: number, raw: Int32Array, columns: number): void {
    this.entries.push({ kind: 'frame', ord, t_us, group, raw: [...raw.subarray(0, columns)] });
  }
  tick(ord: number, t_us: number): void {
    this.entries.push({ kind: 'tick', ord, t_us });
  }
  event(ord: number, t_us: number, body: JournalInput): void {
    this.entries.push({ kind: 'event', event: { ord, t_us, side: 'in', body } });
  }
}

/** What a replay must feed: everything but the outputs. */
export function inputsOf(entries: readonly Entry[]): Entry[] {
  return entries.filter((entry) => entry.kind !== 'event' || entry.event.side === 'in');
}

export function eventsOf(entries: readonly Entry[]): JournalEvent[] {
  return entries.flatMap((entry) => (entry.kind === 'event' ? [entry.event] : []));
}

/** Public domain generator, 32 bits of state. */
export function mulberry32(seed: number): () => number {
  let state = seed | 0;
  return () => {
    state = (state + 0x6d2b79f5) | 0;
    let t = Math.imul(state ^ (state >>> 15), 1 | state);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 4_294_967_296;
  };
}
