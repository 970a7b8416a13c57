/**
 * What the pipeline shows of itself after each step of the fold. Implemented
 * in `pipeline.ts`; read by the host's display side, the report and replay.
 */

import type { Advisory } from './advisory/plans.ts';
import type { Channel } from './channels/channel.ts';
import type { CapturedPoint, JournalOutput, JournalSink, OperatorAction } from './journal.ts';
import type { Flood } from './limits/flood.ts';
import type { Alarm, AlarmLevel, RunState, SetAsideAlarm } from './limits/rules.ts';
import type { BenchTable, Identity, InputState } from './line/messages.ts';
import type { EngineHours } from './pipeline/host-facts.ts';
import type { StartLists } from './program/checklist-ticks.ts';

/** Present values, indexed by channel ordinal. Read-only for all but the pipeline. */
export interface LiveValues {
  readonly channels: readonly Channel[];
  /** Calibrated, core unit; NaN when not good. */
  readonly value: Float64Array;
  /** QualityCode (channels/quality.ts). */
  readonly quality: Uint8Array;
  /** Session time of the last sample, or −1. */
  readonly updated_us: Float64Array;
}

export interface StarterDuty {
  readonly isEngaged: boolean;
  /** Seconds of this attempt so far. */
  readonly attempt_s: number;
  /** Seconds for which cranking may go on (or, at rest, could begin now and last). */
  readonly left_s: number;
  /** Seconds of rest still owed before the next attempt. */
  readonly restLeft_s: number;
  /** Heat carried over, in seconds of cranking; absent where the rule counts none. */
  readonly heat_s?: number | undefined;
  /** Attempts left in this hour; absent where the rule counts none. */
  readonly attemptsLeft?: number | null | undefined;
}

export interface RunClock {
  readonly state: RunState;
  readonly since_us: number;
  /** Number of the present or last run in this session; 0 before the first. */
  readonly run: number;
  readonly runStartedAt_us: number | null;
}

export interface DiscreteInput {
  readonly key: string;
  readonly words: readonly [string, string];
  readonly state: InputState;
  readonly changedAt_us: number;
}

export interface PipelineView {
  /** Changes whenever the channel list was rebuilt. */
  readonly layoutVersion: number;
  readonly now_us: number;
  readonly identity: Identity | null;
  readonly table: BenchTable | null;
  readonly values: LiveValues;
  readonly inputs: readonly DiscreteInput[];
  readonly run: RunClock;
  readonly starter: StarterDuty;
  readonly alarms: readonly Alarm[];
  /** Shelved and out of service. */
  readonly setAside: readonly SetAsideAlarm[];
  readonly flood: Flood | null;
  /** The level that should sound now; null for silence. */
  readonly sound: AlarmLevel | null;
  readonly silencedUntil_us: number | null;
  readonly hours: EngineHours;
  readonly advisories: readonly Advisory[];
  readonly marks: readonly { readonly t_us: number; readonly text: string; readonly by: string }[];
  readonly points: readonly CapturedPoint[];
  readonly checklistDone: ReadonlySet<string>;
  /** Whether the lists let the engine be cranked. */
  readonly startLists: StartLists;
}

/** Called by the pipeline as it folds. */
export interface PipelineObserver {
  /** After each frame: which group's channels (and the derived ones) have new values. */
  onValues(t_us: number, view: PipelineView, group: number): void;
  /** An output event to be recorded and shown. */
  onOutput(t_us: number, output: JournalOutput): void;
}

export type { JournalSink, OperatorAction };
