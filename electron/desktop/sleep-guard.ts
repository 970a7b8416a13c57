/** Keeps the computer awake while a session is recorded. */

/** As much of Electron's powerSaveBlocker as is used. */
export interface Blocker {
  start(kind: 'prevent-display-sleep'): number;
  stop(id: number): unknown;
}

/** Told whether a session is open; the display too must stay on, for it shows alarms. */
export function createSleepGuard(blocker: Blocker): (isSessionOpen: boolean) => void {
  let id: number | null = null;
  return (isSessionOpen) => {
    if (isSessionOpen && id === null) id = blocker.start('prevent-display-sleep');
    if (!isSessionOpen && id !== null) {
      blocker.stop(id);
      id = null;
    }
  };
}
