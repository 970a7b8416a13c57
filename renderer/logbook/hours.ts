/**
 * Engine hours from the runs of sessions. Simulated runs are added up apart:
 * they never count as engine hours. Pure.
 */
import type { RunRow, SessionRow } from '../../shared-core/bridge/contract.ts';

export interface RunTime {
  readonly runs: number;
  readonly time_s: number;
  /** Runs without a recorded stop; each counted to the end of its session. */
  readonly unended: number;
}

export interface EngineHours {
  readonly engine: RunTime;
  readonly simulated: RunTime;
}

/** Length of one run. One that has no stop is counted to the end of its session. */
export function runTime_s(run: RunRow, session: Pick<SessionRow, 'duration_us'>): number {
  return Math.max(0, ((run.to_us ?? session.duration_us) - run.from_us) / 1e6);
}

export function engineHours(rows: readonly SessionRow[]): EngineHours {
  return {
    engine: added(rows.filter((row) => row.provenance === 'LIVE')),
    simulated: added(rows.filter((row) => row.provenance === 'SIMULATED')),
  };
}

function added(rows: readonly SessionRow[]): RunTime {
  let runs = 0;
  let time_s = 0;
  let unended = 0;
  for (const row of rows) {
    for (const run of row.runs) {
      runs++;
      time_s += runTime_s(run, row);
      if (run.to_us === null) unended++;
    }
  }
  return { runs, time_s, unended };
}

/** Hours to a tenth, as an engine log book has them: 5400 s → "1.5 h". Below a tenth, minutes and seconds. */
export function hoursWords(time_s: number): string {
  if (time_s === 0) return '0\u2009h';
  if (time_s < 360) return `${Math.floor(time_s / 60)}\u2009min ${Math.floor(time_s % 60)}\u2009s`;
  return `${(time_s / 3600).toFixed(1)}\u2009h`;
}
