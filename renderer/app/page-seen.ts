/**
 * Tells the host whether this page can be seen: outputs are live only while
 * somebody could see the engine's values. `bridge-client.ts` carries it.
 */
export function watchPageSeen(say: (isSeen: boolean) => void): { readonly sayNow: () => void } {
  const sayNow = (): void => say(document.visibilityState === 'visible');
  document.addEventListener('visibilitychange', sayNow);
  return { sayNow };
}
