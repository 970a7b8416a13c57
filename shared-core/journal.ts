/**
 * The journal: all that a session is made from, in one total order. A live
 * port, the simulator and a recording all become a journal; the pipeline is a
 * fold over it, so a replay gives what the operator saw, bit for bit.
 *
 * Sample frames travel as integers through `JournalSink.frame`, everything
 * else as `JournalEvent` objects. `ord` is the place in the total order: 0, 1,
 * 2 … within a session, frames, ticks and events together. `t_us` is session
 * time: microseconds since the session began, never going back.
 */
import type { AlarmLife } from './limits/alarm-life.ts';
import type { AdvisoryCause, AlarmLevel, RunState } from './limits/rules.ts';
import type {
  Answer,
  BenchCommand,
  BenchTable,
  Identity,
  InputState,
  LineCounts,
  TextWeight,
} from './line/messages.ts';
import type { TrainingEvent } from './training/training-event.ts';

/**
 * Frames of this group say that the bench repeated what it had said: a discrete
 * input's state, or its identity. As events they would outweigh the samples of
 * a long session. Two columns: the input (−1 for the identity), and its state
 * (0, 1, or 2 for not known). The fold takes them as it takes the event.
 */
export const REPEAT_GROUP = 15;

/** Where a session's bytes came from. */
export type SourceKind = 'port' | 'simulator';

export type OperatorAction =
  | { readonly kind: 'acknowledge'; readonly alarmId: string }
  | { readonly kind: 'acknowledge-all' }
  /** Clears alarms that are latched and whose cause has gone; starts first-out anew. */
  | { readonly kind: 'reset-alarms' }
  /** Stops the sound for 60 s. Neither acknowledges nor resets. */
  | { readonly kind: 'silence' }
  /** Sets a nuisance aside for at most 30 min; never an abort alarm. */
  | { readonly kind: 'shelve'; readonly alarmId: string; readonly reason: string; readonly for_min: number }
  | { readonly kind: 'unshelve'; readonly alarmId: string }
  /** Until it is put back; an abort alarm only with the engine at rest. */
  | { readonly kind: 'out-of-service'; readonly alarmId: string; readonly reason: string }
  | { readonly kind: 'back-in-service'; readonly alarmId: string }
  /** What no channel shows. */
  | { readonly kind: 'raise-advisory'; readonly cause: 'fire' }
  /** Fasteners secured and torqued anew: their hours begin again. */
  | { readonly kind: 'fasteners-locked' }
  /** `t_us`: session time of the key press, where the words came later; see `program/mark-time.ts`. */
  | { readonly kind: 'mark'; readonly text: string; readonly t_us?: number | undefined }
  | { readonly kind: 'advisory-step'; readonly advisoryId: string; readonly stepId: string }
  | { readonly kind: 'advisory-close'; readonly advisoryId: string }
  | { readonly kind: 'checklist'; readonly itemId: string; readonly isDone: boolean }
  /** The engine was started though the checklist was not complete. */
  | { readonly kind: 'checklist-override'; readonly reason: string }
  | { readonly kind: 'capture-point'; readonly name: string };

/** Inputs of the fold that are not samples. Recorded, and replayed in their order. */
export type JournalInput =
  | { readonly kind: 'link'; readonly state: 'opened' | 'closed' | 'silent' | 'heard'; readonly detail: string }
  | { readonly kind: 'identity'; readonly identity: Identity }
  | { readonly kind: 'table'; readonly table: BenchTable }
  | { readonly kind: 'wrong-version'; readonly version: string }
  | { readonly kind: 'input'; readonly input: number; readonly state: InputState }
  | { readonly kind: 'text'; readonly weight: TextWeight; readonly text: string }
  | { readonly kind: 'counts'; readonly counts: LineCounts }
  | { readonly kind: 'command'; readonly id: string; readonly command: BenchCommand; readonly by: string }
  | { readonly kind: 'answer'; readonly answer: Answer }
  | { readonly kind: 'command-unanswered'; readonly id: string }
  | { readonly kind: 'outputs'; readonly live: boolean; readonly why: string }
  | { readonly kind: 'operator'; readonly by: string; readonly action: OperatorAction }
  /** Host facts worth keeping: clock mapping, recorder trouble, the gap after a crash. */
  | { readonly kind: 'clock'; readonly bench_us: number; readonly session_us: number; readonly host_epochMs: number }
  | { readonly kind: 'host'; readonly text: string }
  /** Health of the recorder: on change, and each further second of holding. */
  | {
      readonly kind: 'recorder';
      readonly state: 'recording' | 'holding' | 'stopped';
      readonly held_s: number;
      readonly freeBytes: number;
    }
  /** Hours of the engine from earlier sessions, once at the beginning. */
  | {
      readonly kind: 'hours';
      readonly total_h: number;
      readonly sinceLocked_h: number;
      /** Longest single run since last locked. */
      readonly longestRun_h: number;
    }
  /** Way of alarms from the byte to the screen, as the pages report it; for those who read the session. */
  | {
      readonly kind: 'latency';
      readonly shown: number;
      readonly p50_ms: number;
      readonly p99_ms: number;
      readonly worst_ms: number;
    }
  /** A lesson, and what was done to the simulated stand; for debriefs and those who read the session. */
  | { readonly kind: 'training'; readonly event: TrainingEvent };

/** Outputs of the fold. Recorded too, so that a replay can be held against them. */
export type JournalOutput =
  | {
      readonly kind: 'alarm';
      readonly id: string;
      readonly rule: string;
      readonly level: AlarmLevel;
      readonly title: string;
      readonly change:
        | 'tripped'
        | 'returned'
        | 'acknowledged'
        | 'cleared'
        | 'shelved'
        | 'unshelved'
        | 'removed'
        | 'restored';
      readonly state: AlarmLife;
      readonly value: number | null;
      readonly limit: number | null;
      readonly isFirstOut: boolean;
    }
  | { readonly kind: 'run-state'; readonly state: RunState; readonly run: number }
  | {
      readonly kind: 'advisory';
      readonly id: string;
      readonly cause: AdvisoryCause;
      /** `withdrawn`: a cool-down whose engine went back to power, or for which an abort took over. */
      readonly change: 'opened' | 'step-done' | 'step-overdue' | 'escalated' | 'completed' | 'closed' | 'withdrawn';
      readonly stepId: string | null;
      readonly doneBy: 'channel' | 'operator' | null;
      /** With `escalated`: how insistent it has become. */
      readonly escalation?: 1 | 2 | undefined;
    }
  /** More alarms than a person can take in, begun or ended; how many in the last 10 minutes. */
  | { readonly kind: 'flood'; readonly on: boolean; readonly alarms: number }
  | { readonly kind: 'point'; readonly point: CapturedPoint };

/** A captured steady average, with the standard deviation of each channel over the window. */
export interface CapturedPoint {
  readonly name: string;
  readonly from_us: number;
  readonly to_us: number;
  readonly samples: number;
  /** By channel key: mean and sample standard deviation, core unit; null where not good throughout. */
  readonly means: Readonly<Record<string, { readonly mean: number; readonly sd: number } | null>>;
}

export type JournalEvent =
  | { readonly ord: number; readonly t_us: number; readonly side: 'in'; readonly body: JournalInput }
  | { readonly ord: number; readonly t_us: number; readonly side: 'out'; readonly body: JournalOutput };

/** Receives a journal in order. */
export interface JournalSink {
  /**
   * One frame of a rate group, or of `REPEAT_GROUP`. `raw` is reused by the caller: copy to keep.
   * `columns` values from raw[0].
   */
  frame(ord: number, t_us: number, group: number, raw: Int32Array, columns: number): void;
  /** Time passed with nothing heard; drives on-delays and staleness while the link is silent. */
  tick(ord: number, t_us: number): void;
  /** An input event. Outputs are not fed back: the fold makes them. */
  event(ord: number, t_us: number, body: JournalInput): void;
}
