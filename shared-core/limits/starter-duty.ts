/**
 * Duty of the starter: at most `attempt_s` of cranking in one attempt, then at
 * least `rest_s` off. Letting go for up to `ATTEMPT_GRACE_s` does not end an
 * attempt: engaged again, it counts on. Engaging before the rest is over, or
 * cranking beyond the attempt, trips; letting go returns.
 *
 *
 * Two limits more, where the rule has them: attempts begun within one hour, and
 * heat carried over. Heat is in seconds of cranking: it rises by one in each
 * second engaged and decays with a time constant, at all times.
 *
 * Common practice, not a maker's figure: 8 s and 2 min in the demo rig sheet.
 */
import type { FoldMemory } from '../pipeline/fold-memory.ts';
import type { StarterDuty } from '../pipeline-contract.ts';
import type { StarterDutyRule } from './rules.ts';

export const ATTEMPT_GRACE_s = 2;

const HOUR_us = 3_600_000_000;

export type DutyLimits = Pick<StarterDutyRule, 'attempt_s' | 'rest_s' | 'attemptsPerHour' | 'heat'>;

/** Why the duty is exceeded; `early`: the rest was cut short. */
export type DutyExcess = 'early' | 'attempt' | 'attempts' | 'heat';

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
  /** Seconds of cranking that have not cooled away, at `last_us`. */
  heat_s: number;
  /** Begins of the attempts of the last hour, the present one included. */
  attempts_us: number[];
}

export function newDuty(): DutyState {
  return {
    isEngaged: false,
    attempt_us: 0,
    isEarly: false,
    rested_us: Number.POSITIVE_INFINITY,
    releasedAt_us: Number.NEGATIVE_INFINITY,
    last_us: 0,
    heat_s: 0,
    attempts_us: [],
  };
}

export function rememberDuty(memory: FoldMemory, duty: DutyState): void {
  duty.isEngaged = memory.flag(duty.isEngaged);
  duty.attempt_us = memory.number(duty.attempt_us);
  duty.isEarly = memory.flag(duty.isEarly);
  duty.rested_us = memory.number(duty.rested_us);
  duty.releasedAt_us = memory.number(duty.releasedAt_us);
  duty.last_us = memory.number(duty.last_us);
  duty.heat_s = memory.number(duty.heat_s);
  duty.attempts_us = [...memory.data(duty.attempts_us)];
}

/** Takes the state of the starter at one instant, in place; returns whether the duty is exceeded now. */
export function stepDuty(limits: DutyLimits, duty: DutyState, t_us: number, isEngaged: boolean): boolean {
  if (duty.isEngaged) duty.attempt_us += t_us - duty.last_us;
  if (limits.heat !== undefined) duty.heat_s = heatAfter_s(limits.heat.tau_s, duty, t_us);
  duty.last_us = t_us;
  if (isEngaged && !duty.isEngaged) {
    const off_us = t_us - duty.releasedAt_us;
    if (off_us > ATTEMPT_GRACE_s * 1e6) {
      duty.attempt_us = 0;
      duty.rested_us = off_us;
      duty.isEarly = off_us < limits.rest_s * 1e6;
      duty.attempts_us.push(t_us);
    }
  } else if (!isEngaged && duty.isEngaged) {
    duty.releasedAt_us = t_us;
  }
  duty.isEngaged = isEngaged;
  if (duty.attempts_us.length > 0) forgetOld(duty, t_us);
  return isEngaged && dutyExcess(limits, duty) !== null;
}

/** What is exceeded by the present attempt; null when nothing is. */
export function dutyExcess(limits: DutyLimits, duty: DutyState): DutyExcess | null {
  if (duty.isEarly) return 'early';
  if (duty.attempt_us > limits.attempt_s * 1e6) return 'attempt';
  if (limits.attemptsPerHour !== undefined && duty.attempts_us.length > limits.attemptsPerHour) return 'attempts';
  return limits.heat !== undefined && duty.heat_s > limits.heat.most_s ? 'heat' : null;
}

/** Heat at `t_us`: decay towards 0 at rest, towards `tau_s` while engaged (where gain and decay are even). */
function heatAfter_s(tau_s: number, duty: DutyState, t_us: number): number {
  const even_s = duty.isEngaged ? tau_s : 0;
  return even_s + (duty.heat_s - even_s) * Math.exp(-(t_us - duty.last_us) / (tau_s * 1e6));
}

function forgetOld(duty: DutyState, t_us: number): void {
  while (duty.attempts_us.length > 0 && t_us - duty.attempts_us[0]! >= HOUR_us) duty.attempts_us.shift();
}

/**
 * What the operator is told. Within the grace after letting go, `left_s` is
 * what remains of the attempt although rest is owed; after it, nothing is left
 * until the rest is over.
 */
export function starterView(limits: DutyLimits, duty: DutyState, t_us: number): StarterDuty {
  const running_us = duty.isEngaged ? t_us - duty.last_us : 0;
  const attempt_s = (duty.attempt_us + running_us) / 1e6;
  const heat_s = limits.heat === undefined ? 0 : heatAfter_s(limits.heat.tau_s, duty, t_us);
  const heatLeft_s = limits.heat === undefined ? Number.POSITIVE_INFINITY : Math.max(0, limits.heat.most_s - heat_s);
  const begun = duty.attempts_us.filter((begun_us) => t_us - begun_us < HOUR_us);
  const most = limits.attemptsPerHour;
  const attemptsLeft = most === undefined ? null : Math.max(0, most - begun.length);
  const more = {
    ...(limits.heat === undefined ? {} : { heat_s }),
    ...(most === undefined ? {} : { attemptsLeft }),
  };
  const isOver = duty.isEarly || (most !== undefined && begun.length > most);
  const remaining_s = isOver ? 0 : Math.min(heatLeft_s, Math.max(0, limits.attempt_s - attempt_s));
  if (duty.isEngaged) {
    return { isEngaged: true, attempt_s, left_s: remaining_s, restLeft_s: duty.isEarly ? limits.rest_s : 0, ...more };
  }
  const off_s = (t_us - duty.releasedAt_us) / 1e6;
  const rest_s = Math.max(0, limits.rest_s - off_s);
  if (off_s <= ATTEMPT_GRACE_s)
    return { isEngaged: false, attempt_s, left_s: remaining_s, restLeft_s: rest_s, ...more };
  // All attempts of the hour are used: the oldest must have become an hour old.
  const hourLeft_s = attemptsLeft === 0 ? (HOUR_us - (t_us - begun[begun.length - most!]!)) / 1e6 : 0;
  const restLeft_s = Math.max(rest_s, hourLeft_s);
  const left_s = restLeft_s > 0 ? 0 : Math.min(heatLeft_s, limits.attempt_s);
  return { isEngaged: false, attempt_s: 0, left_s, restLeft_s, ...more };
}
