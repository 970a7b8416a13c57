/**
 * One pass over a session's journal for the report and the command line: what
 * each channel did, each run's figures, alarms, advisories, points and the
 * trends that the report draws. Everything comes out of the same pipeline as
 * live; nothing is read from stored results.
 */

import type { Quantity } from '../channels/channel.ts';
import {
  type CapturedPoint,
  type JournalInput,
  type JournalOutput,
  type JournalSink,
  REPEAT_GROUP,
} from '../journal.ts';
import { type AlarmStatistics, alarmStatistics } from '../limits/alarm-statistics.ts';
import type { AdvisoryCause, AlarmLevel } from '../limits/rules.ts';
import type { LineCounts } from '../line/messages.ts';
import { Pipeline } from '../pipeline.ts';
import type { RigSheet } from '../rig/rig-sheet.ts';
import { RunFigures, type RunResult } from './run-figures.ts';
import { type TrendColumn, Trends } from './trends.ts';

export interface ChannelSummary {
  readonly key: string;
  readonly quantity: Quantity;
  readonly label: string;
  readonly unit: string;
  readonly decimals: number;
  /** Good samples only; null where there was none. */
  readonly min: number | null;
  readonly mean: number | null;
  readonly max: number | null;
  readonly samples: number;
  /** Samples that were not good (open, short, over, under, stale). */
  readonly bad: number;
}

export interface AlarmRow {
  readonly id: string;
  readonly rule: string;
  readonly level: AlarmLevel;
  readonly title: string;
  readonly at_us: number;
  readonly value: number | null;
  readonly limit: number | null;
  readonly isFirstOut: boolean;
}

export interface AdvisoryRow {
  readonly id: string;
  readonly cause: AdvisoryCause;
  readonly openedAt_us: number;
  readonly completedAt_us: number | null;
  readonly closedAt_us: number | null;
  /** From the trip until the shaft was at rest; null where it never was. */
  readonly toStopped_s: number | null;
  readonly steps: readonly {
    readonly id: string;
    readonly doneAt_us: number | null;
    readonly doneBy: 'channel' | 'operator' | null;
    readonly wasOverdue: boolean;
  }[];
}

export interface AnalysisResult {
  readonly duration_us: number;
  readonly frames: number;
  readonly samples: number;
  readonly channels: readonly ChannelSummary[];
  readonly runs: readonly RunResult[];
  readonly alarms: readonly AlarmRow[];
  readonly advisories: readonly AdvisoryRow[];
  readonly points: readonly CapturedPoint[];
  readonly marks: readonly { readonly t_us: number; readonly text: string; readonly by: string }[];
  readonly counts: LineCounts | null;
  readonly trends: readonly TrendColumn[];
  readonly alarmStatistics: AlarmStatistics;
  readonly outputs: readonly { readonly t_us: number; readonly body: JournalOutput }[];
}

interface Tally {
  readonly key: string;
  readonly quantity: Quantity;
  readonly label: string;
  readonly unit: string;
  readonly decimals: number;
  min: number;
  max: number;
  sum: number;
  n: number;
  bad: number;
}

export class SessionAnalysis implements JournalSink {
  readonly pipeline: Pipeline;
  readonly #rig: RigSheet;
  readonly #tallies = new Map<string, Tally>();
  readonly #outputs: { t_us: number; body: JournalOutput }[] = [];
  readonly #runFigures: RunFigures;
  readonly #trends = new Trends();
  readonly #stoppedAt = new Map<string, number>();
  #byOrdinal: Tally[] = [];
  #seen_us = new Float64Array(0);
  #layoutVersion = -1;
  #speedOrdinal = -1;
  #frames = 0;
  #samples = 0;
  #end_us = 0;
  #counts: LineCounts | null = null;

  constructor(rig: RigSheet) {
    this.#rig = rig;
    this.#runFigures = new RunFigures();
    this.pipeline = new Pipeline(rig, {
      onValues: (t_us) => this.#values(t_us),
      onOutput: (t_us, body) => {
        this.#outputs.push({ t_us, body });
        this.#runFigures.output(t_us, body);
      },
    });
  }

  frame(ord: number, t_us: number, group: number, raw: Int32Array, columns: number): void {
    if (group !== REPEAT_GROUP) {
      this.#frames += 1;
      this.#samples += columns;
    }
    this.#end_us = t_us;
    this.pipeline.frame(ord, t_us, group, raw, columns);
  }

  tick(ord: number, t_us: number): void {
    this.#end_us = t_us;
    this.pipeline.tick(ord, t_us);
  }

  event(ord: number, t_us: number, body: JournalInput): void {
    this.#end_us = t_us;
    if (body.kind === 'counts') this.#counts = body.counts;
    this.pipeline.event(ord, t_us, body);
  }

  result(): AnalysisResult {
    return {
      duration_us: this.#end_us,
      frames: this.#frames,
      samples: this.#samples,
      channels: [...this.#tallies.values()].map(summaryOf),
      runs: this.#runFigures.result(this.#end_us),
      alarms: this.#alarms(),
      advisories: this.#advisories(),
      points: this.pipeline.points,
      marks: this.pipeline.marks,
      counts: this.#counts,
      trends: this.#trends.result(),
      alarmStatistics: alarmStatistics(this.#outputs, this.#end_us),
      outputs: this.#outputs,
    };
  }

  #values(t_us: number): void {
    const { channels, value, quality, updated_us } = this.pipeline.values;
    if (this.pipeline.layoutVersion !== this.#layoutVersion) this.#layoutChanged();
    for (let i = 0; i < channels.length; i++) {
      if (updated_us[i]! <= this.#seen_us[i]!) continue;
      this.#seen_us[i] = updated_us[i]!;
      const tally = this.#byOrdinal[i]!;
      if (quality[i] !== 0) {
        tally.bad += 1;
        continue;
      }
      const sample = value[i]!;
      tally.n += 1;
      tally.sum += sample;
      if (sample < tally.min) tally.min = sample;
      if (sample > tally.max) tally.max = sample;
    }
    this.#trends.add(t_us, this.pipeline);
    this.#runFigures.values(t_us, this.pipeline);
    this.#watchStop(t_us);
  }

  #layoutChanged(): void {
    const { channels } = this.pipeline.values;
    this.#layoutVersion = this.pipeline.layoutVersion;
    this.#seen_us = new Float64Array(channels.length).fill(-1);
    this.#speedOrdinal = channels.findIndex((each) => each.quantity === 'shaft-speed');
    this.#byOrdinal = channels.map(({ key, quantity, label, unit, decimals }) => {
      const kept = this.#tallies.get(key);
      if (kept !== undefined) return kept;
      const tally = { key, quantity, label, unit, decimals, min: Infinity, max: -Infinity, sum: 0, n: 0, bad: 0 };
      this.#tallies.set(key, tally);
      return tally;
    });
  }

  /** The instant at which the shaft first rests after each advisory opened. */
  #watchStop(t_us: number): void {
    if (this.#speedOrdinal < 0) return;
    const speed_rpm = this.pipeline.values.value[this.#speedOrdinal]!;
    if (!(speed_rpm < this.#rig.runDetection.rest_rpm)) return;
    for (const advisory of this.pipeline.advisories) {
      if (!this.#stoppedAt.has(advisory.id)) this.#stoppedAt.set(advisory.id, t_us);
    }
  }

  #alarms(): AlarmRow[] {
    return this.#outputs.flatMap(({ t_us, body }) =>
      body.kind === 'alarm' && body.change === 'tripped'
        ? [
            {
              id: body.id,
              rule: body.rule,
              level: body.level,
              title: body.title,
              at_us: t_us,
              value: body.value,
              limit: body.limit,
              isFirstOut: body.isFirstOut,
            },
          ]
        : [],
    );
  }

  #advisories(): AdvisoryRow[] {
    const rows = new Map<string, AdvisoryRow>();
    for (const { t_us, body } of this.#outputs) {
      if (body.kind !== 'advisory') continue;
      if (body.change === 'opened') {
        const plan = this.#rig.plans.find((each) => each.cause === body.cause);
        const stopped_us = this.#stoppedAt.get(body.id);
        rows.set(body.id, {
          id: body.id,
          cause: body.cause,
          openedAt_us: t_us,
          completedAt_us: null,
          closedAt_us: null,
          toStopped_s: stopped_us === undefined ? null : (stopped_us - t_us) / 1e6,
          steps: (plan?.steps ?? []).map(({ id }) => ({ id, doneAt_us: null, doneBy: null, wasOverdue: false })),
        });
        continue;
      }
      const row = rows.get(body.id);
      if (row === undefined) continue;
      if (body.change === 'completed') rows.set(body.id, { ...row, completedAt_us: t_us });
      else if (body.change === 'closed' || body.change === 'withdrawn')
        rows.set(body.id, { ...row, closedAt_us: t_us });
      else {
        const steps = row.steps.map((step) => {
          if (step.id !== body.stepId) return step;
          return body.change === 'step-done'
            ? { ...step, doneAt_us: t_us, doneBy: body.doneBy }
            : { ...step, wasOverdue: true };
        });
        rows.set(body.id, { ...row, steps });
      }
    }
    return [...rows.values()];
  }
}

function summaryOf(tally: Tally): ChannelSummary {
  const { key, quantity, label, unit, decimals, n, bad } = tally;
  const isEmpty = n === 0;
  return {
    key,
    quantity,
    label,
    unit,
    decimals,
    min: isEmpty ? null : tally.min,
    mean: isEmpty ? null : tally.sum / n,
    max: isEmpty ? null : tally.max,
    samples: n,
    bad,
  };
}
