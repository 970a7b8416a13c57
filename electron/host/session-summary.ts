/**
 * Keeps what the session list shows of a session (runs, alarms, marks) as the
 * fold puts it out.
 */
import type { RunRow } from '../../shared-core/bridge/contract.ts';
import type { JournalInput, JournalOutput } from '../../shared-core/journal.ts';
import type { PipelineView } from '../../shared-core/pipeline-contract.ts';
import type { SessionSummary } from './store/store-contract.ts';

interface OpenRun {
  run: number;
  from_us: number;
  to_us: number | null;
  peakSpeed_rpm: number | null;
}

export class SummaryKeeper {
  readonly #runs: OpenRun[] = [];
  #crankedAt_us: number | null = null;
  #alarms = 0;
  #aborts = 0;
  #marks = 0;
  #now_us = 0;
  #speedOrdinal = -1;
  #layoutVersion = -1;

  /** Every frame: time, and the peak speed of the run under way. */
  values(t_us: number, view: PipelineView): void {
    this.#now_us = t_us;
    if (view.layoutVersion !== this.#layoutVersion) {
      this.#layoutVersion = view.layoutVersion;
      this.#speedOrdinal = view.values.channels.findIndex((each) => each.quantity === 'shaft-speed');
    }
    const run = this.#runs.at(-1);
    if (run === undefined || run.to_us !== null || this.#speedOrdinal < 0) return;
    const speed_rpm = view.values.value[this.#speedOrdinal]!;
    if (speed_rpm > (run.peakSpeed_rpm ?? -Infinity)) run.peakSpeed_rpm = speed_rpm;
  }

  time(t_us: number): void {
    this.#now_us = t_us;
  }

  input(body: JournalInput): void {
    if (body.kind === 'operator' && body.action.kind === 'mark') this.#marks += 1;
  }

  output(t_us: number, body: JournalOutput): void {
    if (body.kind === 'alarm' && body.change === 'tripped') {
      this.#alarms += 1;
      if (body.level === 'abort') this.#aborts += 1;
    }
    if (body.kind !== 'run-state') return;
    const last = this.#runs.at(-1);
    if (body.state === 'cranking') this.#crankedAt_us = t_us;
    if (body.state === 'running' && (last === undefined || last.run !== body.run)) {
      this.#runs.push({ run: body.run, from_us: this.#crankedAt_us ?? t_us, to_us: null, peakSpeed_rpm: null });
    }
    if ((body.state === 'cooling' || body.state === 'standing') && last !== undefined && last.to_us === null) {
      last.to_us = t_us;
    }
    if (body.state !== 'cranking') this.#crankedAt_us = null;
  }

  summary(): SessionSummary {
    const runs: RunRow[] = this.#runs.map((each) => ({ ...each }));
    return { duration_us: this.#now_us, runs, alarms: this.#alarms, aborts: this.#aborts, marks: this.#marks };
  }
}
