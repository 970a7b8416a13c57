/** The address of the page as a hook, and the way to another place. */
import { useMemo, useSyncExternalStore } from 'react';
import { type Address, addressOf, type Place, parseAddress } from './places.ts';

function subscribe(changed: () => void): () => void {
  window.addEventListener('hashchange', changed);
  return () => window.removeEventListener('hashchange', changed);
}

export function useAddress(): Address {
  const hash = useSyncExternalStore(subscribe, () => location.hash);
  return useMemo(() => parseAddress(hash), [hash]);
}

/** Goes to a place, `goTo('review', sessionId)`. */
export function goTo(place: Place, ...rest: readonly string[]): void {
  location.hash = addressOf(place, ...rest);
}
