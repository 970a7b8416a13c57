/**
 * The rig sheet as saved last, which may be newer than the one in force, and
 * the one way to save it. Parts of Rig edit a copy and hand the whole sheet
 * back; what was said on saving stands until the next saving.
 */
import { create } from 'zustand';
import type { BridgeError } from '../../shared-core/bridge/contract.ts';
import type { RigSheet } from '../../shared-core/rig/rig-sheet.ts';
import { request } from '../app/bridge-client.ts';
import { signedOn } from '../app/settings.ts';

export interface SavedSheet {
  readonly sheet: RigSheet | null;
  /** Version of the running session; null while there is none. */
  readonly inForce: number | null;
  /** What the host said when it was saved. */
  readonly told: string;
}

export const useSavedSheet = create<SavedSheet>(() => ({ sheet: null, inForce: null, told: '' }));

/** Asks the host again. Errors leave what is known. */
export async function loadSheet(): Promise<void> {
  const answer = await request('rig.get', {});
  if (answer.ok) useSavedSheet.setState({ sheet: answer.value.rig, inForce: answer.value.inForce });
}

/**
 * Saves an edited sheet as the next version.
 * @param change in the words of who changed it; cut at 200 characters
 * @returns null when it was saved
 */
export async function saveSheet(sheet: RigSheet, change: string): Promise<BridgeError | null> {
  const answer = await request('rig.save', { sheet, by: signedOn(), change: change.trim().slice(0, 200) });
  if (!answer.ok) return answer.error;
  useSavedSheet.setState({ told: answer.value.sentence });
  await loadSheet();
  return null;
}

/** A sheet that came from elsewhere (file, older version) as an edit of the present one. */
export function asEditOf(present: RigSheet, taken: RigSheet): RigSheet {
  return taken.id === present.id
    ? { ...taken, version: present.version, ...(present.history ? { history: present.history } : {}) }
    : taken;
}
