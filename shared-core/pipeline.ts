/**
 * calibrate -> derive -> judge: one pure fold over the journal.
 */
import type { Advisory } from './advisory/plans.ts';
import type { CapturedPoint, JournalInput, JournalSink } from './journal.ts';
import type { Alarm, LimitRule } from './limits/rules.ts';
import type { BenchTable, Identity } from './line/messages.ts';
import type {
  DiscreteInput,
  LiveValues,
  PipelineObserver,
  PipelineView,
  RunClock,
  StarterDuty,
} from './pipeline-contract.ts';
import type { RigSheet } from './rig/rig-sheet.ts';

export declare class Pipeline implements JournalSink, PipelineView {
  constructor(rig: RigSheet, observer?: PipelineObserver);
  readonly rig: RigSheet;
  frame(ord: number, t_us: number, group: number, raw: Int32Array, columns: number): void;
  tick(ord: number, t_us: number): void;
  event(ord: number, t_us: number, body: JournalInput): void;
  get layoutVersion(): number;
  get now_us(): number;
  get identity(): Identity | null;
  get table(): BenchTable | null;
  get values(): LiveValues;
  get inputs(): readonly DiscreteInput[];
  get run(): RunClock;
  get starter(): StarterDuty;
  get alarms(): readonly Alarm[];
  get advisories(): readonly Advisory[];
  get marks(): readonly { readonly t_us: number; readonly text: string; readonly by: string }[];
  get points(): readonly CapturedPoint[];
  get checklistDone(): ReadonlySet<string>;
  /** Rules that nothing on this bench can feed: said, never silent. */
  get unjudgedRules(): readonly LimitRule[];
}
