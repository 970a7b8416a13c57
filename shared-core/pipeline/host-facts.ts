/**
 * What the journal says of things that no channel shows: the two clocks, the
 * recorder, and the hours of the engine. The rules on them are in `limits/`.
 */
import type { JournalInput } from '../journal.ts';
import type { RunState } from '../limits/rules.ts';
import type { FoldMemory } from './fold-memory.ts';

export interface RecorderFacts {
  readonly state: 'recording' | 'holding' | 'stopped';
  readonly held_s: number;
  readonly freeBytes: number;
}

export interface EngineHours {
  readonly total_h: number;
  readonly sinceLocked_h: number;
  /** Longest single run since last locked, the present one included. */
  readonly longestRun_h: number;
  /** Of the present run; 0 at rest. */
  readonly run_h: number;
}

const HOUR_us = 3_600_000_000;
/** Two notes further apart than this part and this much are of different clocks (a reboot, a wall clock set anew). */
const SAME_CLOCK_PART = 0.05;
const SAME_CLOCK_us = 1_000_000;

export class HostFacts {
  recorder: RecorderFacts | null = null;
  /** Bench against host since the bench's clock began; NaN before the second note. */
  readonly clock = { span_s: 0, drift_ppm: NaN };
  /** First and last note of the present bench clock. */
  #clockFrom_us = NaN;
  #clockFrom_epochMs = 0;
  #clockLast_us = NaN;
  #clockLast_epochMs = 0;
  #carriedTotal_h = 0;
  #carriedSince_h = 0;
  #longestBefore_h = 0;
  /** Running time of this session, of it since locked, and of the present run. */
  #ran_us = 0;
  #since_us = 0;
  #run_us = 0;
  #last_us = NaN;
  #wasRunning = false;

  get hours(): EngineHours {
    return {
      total_h: this.#carriedTotal_h + this.#ran_us / HOUR_us,
      sinceLocked_h: this.#carriedSince_h + this.#since_us / HOUR_us,
      longestRun_h: Math.max(this.#longestBefore_h, this.#run_us / HOUR_us),
      run_h: this.#run_us / HOUR_us,
    };
  }

  /** Time goes by in this run state. No allocation. */
  passed(t_us: number, state: RunState): void {
    const isRunning = state === 'running';
    if (this.#wasRunning && t_us > this.#last_us) {
      const run_us = t_us - this.#last_us;
      this.#ran_us += run_us;
      this.#since_us += run_us;
      this.#run_us += run_us;
    }
    if (!isRunning && this.#wasRunning) {
      this.#longestBefore_h = Math.max(this.#longestBefore_h, this.#run_us / HOUR_us);
      this.#run_us = 0;
    }
    this.#wasRunning = isRunning;
    this.#last_us = t_us;
  }

  hoursCarried(body: Extract<JournalInput, { kind: 'hours' }>): void {
    this.#carriedTotal_h = body.total_h;
    this.#carriedSince_h = body.sinceLocked_h;
    this.#longestBefore_h = body.longestRun_h;
  }

  /** Fasteners secured and torqued: a run that goes on is counted from here. */
  locked(): void {
    this.#carriedSince_h = 0;
    this.#since_us = 0;
    this.#longestBefore_h = 0;
    this.#run_us = 0;
  }

  remember(memory: FoldMemory): void {
    memory.part('facts');
    this.recorder = memory.data(this.recorder);
    this.clock.span_s = memory.number(this.clock.span_s);
    this.clock.drift_ppm = memory.number(this.clock.drift_ppm);
    this.#clockFrom_us = memory.number(this.#clockFrom_us);
    this.#clockFrom_epochMs = memory.number(this.#clockFrom_epochMs);
    this.#clockLast_us = memory.number(this.#clockLast_us);
    this.#clockLast_epochMs = memory.number(this.#clockLast_epochMs);
    this.#carriedTotal_h = memory.number(this.#carriedTotal_h);
    this.#carriedSince_h = memory.number(this.#carriedSince_h);
    this.#longestBefore_h = memory.number(this.#longestBefore_h);
    this.#ran_us = memory.number(this.#ran_us);
    this.#since_us = memory.number(this.#since_us);
    this.#run_us = memory.number(this.#run_us);
    this.#last_us = memory.number(this.#last_us);
    this.#wasRunning = memory.flag(this.#wasRunning);
  }

  /** The bench's clock read `bench_us` when the host's read `host_epochMs`. */
  clockNoted(bench_us: number, host_epochMs: number): void {
    const apart_us = bench_us - this.#clockLast_us;
    const hostApart_us = (host_epochMs - this.#clockLast_epochMs) * 1000;
    this.#clockLast_us = bench_us;
    this.#clockLast_epochMs = host_epochMs;
    const isSame =
      apart_us > 0 && Math.abs(apart_us - hostApart_us) <= SAME_CLOCK_us + SAME_CLOCK_PART * Math.abs(hostApart_us);
    if (!isSame) {
      this.#clockFrom_us = bench_us;
      this.#clockFrom_epochMs = host_epochMs;
      this.clock.span_s = 0;
      this.clock.drift_ppm = NaN;
      return;
    }
    const host_us = (host_epochMs - this.#clockFrom_epochMs) * 1000;
    this.clock.span_s = (bench_us - this.#clockFrom_us) / 1e6;
    this.clock.drift_ppm = host_us > 0 ? ((bench_us - this.#clockFrom_us) / host_us - 1) * 1e6 : NaN;
  }
}
