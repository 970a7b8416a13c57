/**
 * The run state, found from the data: standing, cranking, running, cooling.
 *
 *   standing, cooling -> cranking   starter engaged, or the shaft turns (swung by hand)
 *   cranking -> running             at or above `running_rpm` for `runningHold_s`
 *   cranking, running -> cooling    shaft at rest for `STOP_HOLD_s` with the starter off, a head still hot
 *   cranking, running -> standing   the same, all heads cool
 *   cooling -> standing             hottest head below `cool_degC`
 *
 * A run is from crank to stop. Its number is given when cranking begins, and
 * taken back when the attempt fails, so that the next attempt has it again: a
 * run's start is the crank that led to it.
 *
 * A shaft speed that is not known (failed pickup, silent link) is evidence of
 * nothing: it neither starts nor stops a run, so an engine that was running is
 * taken to run until its pickup says otherwise. Only the starter still leads
 * from standing or cooling to cranking. A head that is not known is not cool;
 * on a stand without head sensors a stop leads straight to standing.
 */
import type { RunState } from '../limits/rules.ts';
import type { RunClock } from '../pipeline-contract.ts';
import type { RunDetection } from '../rig/rig-sheet.ts';

/** One missed pulse of the pickup reads as 0 rpm and is no stop. */
export const STOP_HOLD_s = 0.5;

/** What one instant of the data shows. */
export interface RunEvidence {
  /** NaN when not known. */
  readonly speed_rpm: number;
  readonly isStarterEngaged: boolean;
  readonly hasHeads: boolean;
  /** Of the good head sensors; NaN when none is good. */
  readonly hottest_degC: number;
}

export class RunTracker {
  readonly #detection: RunDetection;
  #state: RunState = 'standing';
  #since_us = 0;
  #run = 0;
  #runStartedAt_us: number | null = null;
  /** Of the last run that ran: restored when an attempt fails. */
  #lastRun = 0;
  #lastRunStartedAt_us: number | null = null;
  /** Since when the speed has been in reach of the next state; NaN when it is not. */
  #pending_us = NaN;

  constructor(detection: RunDetection) {
    this.#detection = detection;
  }

  get state(): RunState {
    return this.#state;
  }
  get run(): number {
    return this.#run;
  }
  get clock(): RunClock {
    return { state: this.#state, since_us: this.#since_us, run: this.#run, runStartedAt_us: this.#runStartedAt_us };
  }

  /** Takes the data at one instant; returns whether the state has changed. */
  step(t_us: number, evidence: RunEvidence): boolean {
    switch (this.#state) {
      case 'standing':
        return this.#maybeCrank(t_us, evidence);
      case 'cooling':
        if (this.#maybeCrank(t_us, evidence)) return true;
        if (this.#isHot(evidence)) return false;
        return this.#become('standing', t_us);
      case 'cranking':
        if (this.#holds(t_us, evidence.speed_rpm >= this.#detection.running_rpm, this.#detection.runningHold_s)) {
          this.#lastRun = this.#run;
          this.#lastRunStartedAt_us = this.#runStartedAt_us;
          return this.#become('running', t_us);
        }
        if (evidence.speed_rpm >= this.#detection.running_rpm) return false;
        return this.#maybeStop(t_us, evidence);
      case 'running':
        return this.#maybeStop(t_us, evidence);
    }
  }

  #maybeCrank(t_us: number, evidence: RunEvidence): boolean {
    if (!evidence.isStarterEngaged && !(evidence.speed_rpm >= this.#detection.rest_rpm)) return false;
    this.#run = this.#lastRun + 1;
    this.#runStartedAt_us = t_us;
    return this.#become('cranking', t_us);
  }

  #maybeStop(t_us: number, evidence: RunEvidence): boolean {
    const isAtRest = evidence.speed_rpm < this.#detection.rest_rpm && !evidence.isStarterEngaged;
    if (!this.#holds(t_us, isAtRest, STOP_HOLD_s)) return false;
    this.#run = this.#lastRun;
    this.#runStartedAt_us = this.#lastRunStartedAt_us;
    return this.#become(this.#isHot(evidence) ? 'cooling' : 'standing', t_us);
  }

  #isHot(evidence: RunEvidence): boolean {
    return evidence.hasHeads && !(evidence.hottest_degC < this.#detection.cool_degC);
  }

  #holds(t_us: number, isSo: boolean, hold_s: number): boolean {
    if (!isSo) {
      this.#pending_us = NaN;
      return false;
    }
    if (Number.isNaN(this.#pending_us)) this.#pending_us = t_us;
    return t_us - this.#pending_us >= hold_s * 1e6;
  }

  #become(state: RunState, t_us: number): true {
    this.#state = state;
    this.#since_us = t_us;
    this.#pending_us = NaN;
    return true;
  }
}
