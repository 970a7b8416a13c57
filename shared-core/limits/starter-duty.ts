/**
 * Duty of the starter: at most `attempt_s` of cranking in one attempt, then at
 * least `rest_s` off. Letting go for up to `ATTEMPT_GRACE_s` does not end an
 * attempt: engaged again, it counts on. Engaging before the rest is over, or
 * cranking beyond the attempt, trips; letting go returns.
 *
 * Common practice, not a maker's figure: 8 s and 2 min in the demo rig sheet.
 */
import type { StarterDuty } from '../pipeline-contract.ts';
import type { StarterDutyRule } from './rules.ts';

export const ATTEMPT_GRACE_s = 2;

export type DutyLimits = Pick<StarterDutyRule, 'attempt_s' | 'rest_s'>;

export interface DutyState {
  isEngaged: boolean;
  /** Cranking in the present (or last) attempt. */
  attempt_us: number;
  /** The present attempt began before the rest was over. */
  isEarly: boolean;
  /** Rest taken before the present attempt; Infinity before the first. */
  rested_us: number;
  /** −Infinity before the first attempt. */
  releasedAt_us: number;
  last_us: number;
}

export function newDuty(): DutyState {
  return {
    isEngaged: false,
    attempt_us: 0,
    isEarly: false,
    rested_us: Number.POSITIVE_INFINITY,
    releasedAt_us: Number.NEGATIVE_INFINITY,
    last_us: 0,
  };
}

/** Takes the state of the starter at one instant, in place; returns whether the duty is exceeded now. */
export function stepDuty(limits: DutyLimits, duty: DutyState, t_us: number, isEngaged: boolean): boolean {
  if (duty.isEngaged) duty.attempt_us += t_us - duty.last_us;
  duty.last_us = t_us;
  if (isEngaged && !duty.isEngaged) {
    const off_us = t_us - duty.releasedAt_us;
    if (off_us > ATTEMPT_GRACE_s * 1e6) {
      duty.attempt_us = 0;
      duty.rested_us = off_us;
      duty.isEarly = off_us < limits.rest_s * 1e6;
    }
  } else if (!isEngaged && duty.isEngaged) {
    duty.releasedAt_us = t_us;
  }
  duty.isEngaged = isEngaged;
  return isEngaged && (duty.isEarly || duty.attempt_us > limits.attempt_s * 1e6);
}

/**
 * What the operator is told. Within the grace after letting go, `left_s` is
 * what remains of the attempt although rest is owed; after it, nothing is left
 * until the rest is over.
 */
export function starterView(limits: DutyLimits, duty: DutyState, t_us: number): StarterDuty {
  const running_us = duty.isEngaged ? t_us - duty.last_us : 0;
  const attempt_s = (duty.attempt_us + running_us) / 1e6;
  const remaining_s = duty.isEarly ? 0 : Math.max(0, limits.attempt_s - attempt_s);
  if (duty.isEngaged) {
    return { isEngaged: true, attempt_s, left_s: remaining_s, restLeft_s: duty.isEarly ? limits.rest_s : 0 };
  }
  const off_s = (t_us - duty.releasedAt_us) / 1e6;
  const restLeft_s = Math.max(0, limits.rest_s - off_s);
  if (off_s <= ATTEMPT_GRACE_s) return { isEngaged: false, attempt_s, left_s: remaining_s, restLeft_s };
  return { isEngaged: false, attempt_s: 0, left_s: restLeft_s > 0 ? 0 : limits.attempt_s, restLeft_s };
}
