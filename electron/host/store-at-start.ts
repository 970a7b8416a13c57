/**
 * The store when the host starts. Damaged recordings are set aside, named and
 * kept; where the file may not be touched (newer, foreign, read-only, in use)
 * this start records in memory only, and says so on every screen.
 */
import type { Trouble } from '../../shared-core/bridge/contract.ts';
import { wordsOf } from './store/error-words.ts';
import { MemoryStore } from './store/memory-store.ts';
import { openStoreSettingAside } from './store/open-store.ts';
import type { SessionStore } from './store/store-contract.ts';

export function openStoreOrSetAside(folder: string, now: Date): { store: SessionStore; troubles: Trouble[] } {
  const opened = openStoreSettingAside(folder, now);
  if (opened.ok) {
    const { store, setAside } = opened.value;
    return { store, troubles: setAside === null ? [] : [{ id: 'database', ...wordsOf(setAside) }] };
  }
  const { sentence, remedy } = wordsOf(opened.error);
  return {
    store: new MemoryStore(),
    troubles: [
      {
        id: 'database',
        sentence: `${sentence} Sessions of this start are held in memory only and are gone when Runstand ends.`,
        remedy,
      },
    ],
  };
}
