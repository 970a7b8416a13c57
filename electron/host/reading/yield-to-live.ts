/**
 * Reading takes only what acquisition leaves of the processor. On Linux a nice
 * value belongs to one thread, so that a worker can step back alone; elsewhere
 * it would be the whole host's, which must not wait, and nothing is done.
 */
import { constants, setPriority } from 'node:os';

/** To be called once at the start of a worker that reads recorded sessions. */
export function yieldToLive(): void {
  if (process.platform !== 'linux') return;
  // A system that refuses it costs some delay and nothing else.
  try {
    setPriority(0, constants.priority.PRIORITY_BELOW_NORMAL);
  } catch {}
}
