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
import type { FoldMemory } from '../pipeline/fold-memory.ts';
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
  /** Since when the speed has been that of a running engine, or of one at rest; NaN when it is not. */
  #runningSince_us = NaN;
  #restSince_us = NaN;

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
        return this.#maybeRun(t_us, evidence) || this.#maybeStop(t_us, evidence);
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

  #maybeRun(t_us: number, evidence: RunEvidence): boolean {
    const isFast = evidence.speed_rpm >= this.#detection.running_rpm;
    this.#runningSince_us = sinceWhen(this.#runningSince_us, t_us, isFast);
    if (!(t_us - this.#runningSince_us >= this.#detection.runningHold_s * 1e6)) return false;
    this.#lastRun = this.#run;
    this.#lastRunStartedAt_us = this.#runStartedAt_us;
    return this.#become('running', t_us);
  }

  #maybeStop(t_us: number, evidence: RunEvidence): boolean {
    const isAtRest = evidence.speed_rpm < this.#detection.rest_rpm && !evidence.isStarterEngaged;
    this.#restSince_us = sinceWhen(this.#restSince_us, t_us, isAtRest);
    if (!(t_us - this.#restSince_us >= STOP_HOLD_s * 1e6)) return false;
    this.#run = this.#lastRun;
    this.#runStartedAt_us = this.#lastRunStartedAt_us;
    return this.#become(this.#isHot(evidence) ? 'cooling' : 'standing', t_us);
  }

  remember(memory: FoldMemory): void {
    memory.part('runs');
    this.#state = memory.data(this.#state);
    this.#since_us = memory.number(this.#since_us);
    this.#run = memory.number(this.#run);
    this.#runStartedAt_us = memory.data(this.#runStartedAt_us);
    this.#lastRun = memory.number(this.#lastRun);
    this.#lastRunStartedAt_us = memory.data(this.#lastRunStartedAt_us);
    this.#runningSince_us = memory.number(this.#runningSince_us);
    this.#restSince_us = memory.number(this.#restSince_us);
  }

  #isHot(evidence: RunEvidence): boolean {
    return evidence.hasHeads && !(evidence.hottest_degC < this.#detection.cool_degC);
  }

  #become(state: RunState, t_us: number): true {
    this.#state = state;
    this.#since_us = t_us;
    this.#runningSince_us = NaN;
    this.#restSince_us = NaN;
    return true;
  }
}

function sinceWhen(since_us: number, t_us: number, isSo: boolean): number {
  if (!isSo) return NaN;
  return Number.isNaN(since_us) ? t_us : since_us;
}
