/**
 * What of the recorder's health is worth a journal entry, so that its rule can
 * be judged and replayed: a change of state, each further second of holding,
 * and room on the disk halved or doubled.
 */
import type { RecorderHealth } from '../../shared-core/bridge/contract.ts';
import type { JournalInput } from '../../shared-core/journal.ts';

type RecorderNote = Extract<JournalInput, { kind: 'recorder' }>;

export class RecorderNotes {
  #noted: RecorderNote | null = null;

  /** The entry to make now; null when nothing has changed that matters. */
  of(health: Pick<RecorderHealth, 'state' | 'held_s' | 'freeBytes'>): RecorderNote | null {
    const { state, held_s, freeBytes } = health;
    const was = this.#noted;
    const isNews =
      was === null ||
      was.state !== state ||
      (state === 'holding' && held_s >= was.held_s + 1) ||
      roomOf(freeBytes) !== roomOf(was.freeBytes);
    if (!isNews) return null;
    this.#noted = { kind: 'recorder', state, held_s: Math.floor(held_s), freeBytes };
    return this.#noted;
  }
}

/** Fine near the end, where it matters: halves. */
function roomOf(freeBytes: number): number {
  return Math.floor(2 * Math.log2(Math.max(1, freeBytes)));
}
