/**
 * A condition with an on-delay and an off-delay: trips after it has held
 * without a break for the one, returns after its opposite has held without a
 * break for the other. What lies between (the deadband) keeps the state and
 * breaks neither delay's rule: it begins the running delay anew.
 */
import type { FoldMemory } from '../pipeline/fold-memory.ts';

export interface Delayed {
  isTripped: boolean;
  /** Since when the pending change has held, session µs; NaN when none is pending. */
  since_us: number;
}

export function newDelayed(isTripped = false): Delayed {
  return { isTripped, since_us: NaN };
}

export function rememberDelayed(memory: FoldMemory, delayed: Delayed): void {
  delayed.isTripped = memory.flag(delayed.isTripped);
  delayed.since_us = memory.number(delayed.since_us);
}

/** Takes one judgement, in place (this is the sample path), and returns the new state. */
export function stepDelayed(
  delayed: Delayed,
  t_us: number,
  isBeyond: boolean,
  isInside: boolean,
  onDelay_ms: number,
  offDelay_ms: number,
): boolean {
  const isTurning = delayed.isTripped ? isInside : isBeyond;
  if (!isTurning) {
    delayed.since_us = NaN;
    return delayed.isTripped;
  }
  if (Number.isNaN(delayed.since_us)) delayed.since_us = t_us;
  const delay_ms = delayed.isTripped ? offDelay_ms : onDelay_ms;
  if (t_us - delayed.since_us >= delay_ms * 1000) {
    delayed.isTripped = !delayed.isTripped;
    delayed.since_us = NaN;
  }
  return delayed.isTripped;
}

/** Nothing is known for the moment: the state stays, a pending delay starts anew afterwards. */
export function holdDelayed(delayed: Delayed): boolean {
  delayed.since_us = NaN;
  return delayed.isTripped;
}
