/** Keeps two builds from writing into one folder: tests that need the build run side by side. */
import { mkdirSync, rmSync, statSync } from 'node:fs';
import { dirname } from 'node:path';
import { setTimeout as wait } from 'node:timers/promises';

/** No build takes so long; a lock of this age was left by one that was killed. */
const STALE_MS = 180_000;
const LOOK_EVERY_MS = 100;

/** @param lock path of a folder that exists while `work` goes on */
export async function oneAtATime<T>(lock: string, work: () => Promise<T>): Promise<T> {
  mkdirSync(dirname(lock), { recursive: true });
  while (!isTaken(lock)) await wait(LOOK_EVERY_MS);
  try {
    return await work();
  } finally {
    rmSync(lock, { recursive: true, force: true });
  }
}

/** Making a folder either makes it or fails: of two, one has it. */
function isTaken(lock: string): boolean {
  try {
    mkdirSync(lock);
    return true;
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code !== 'EEXIST') throw error;
    const age_ms = Date.now() - (statSync(lock, { throwIfNoEntry: false })?.mtimeMs ?? Date.now());
    if (age_ms > STALE_MS) rmSync(lock, { recursive: true, force: true });
    return false;
  }
}
