/**
 * Advisory plans as data: cause -> ordered operator steps, each proved by a
 * channel where one can. The state of a running advisory is in `advisory.ts`.
 */
import type { ChannelKey } from '../channels/channel.ts';
import type { AdvisoryCause } from '../limits/rules.ts';

export type StepProof =
  /** The channel compares so for `hold_ms`. Core unit. */
  | {
      readonly kind: 'channel';
      readonly channel: ChannelKey;
      readonly is: 'below' | 'above';
      readonly value: number;
      readonly hold_ms: number;
    }
  /** The channel falls (or rises) by at least this slope, K/s or unit/s, negative for falling. */
  | { readonly kind: 'falling'; readonly channel: ChannelKey; readonly atLeast_perS: number; readonly hold_ms: number }
  | { readonly kind: 'input'; readonly input: string; readonly state: 0 | 1 }
  /**
   * Cooled: at or below `below`, or, once the step has waited `settledAfter_s`, settled, that is falling by less than
   * `settled_perS`, because more waiting brings nothing. Says how long it is still to wait at the present fall.
   */
  | {
      readonly kind: 'cooled';
      readonly channel: ChannelKey;
      readonly below: number;
      readonly settled_perS: number;
      readonly settledAfter_s: number;
      readonly hold_ms: number;
    }
  /** Nothing on the bench can prove it: the operator confirms. */
  | { readonly kind: 'operator' };

export interface AdvisoryStep {
  readonly id: string;
  /** One imperative line: "Close the throttle". */
  readonly imperative: string;
  readonly why: string;
  readonly proof: StepProof;
  readonly allowed_s: number;
  /** An act that the host can do for the operator when outputs are live (and safe acts always). */
  readonly act?: 'throttle-closed' | 'ignition-off' | 'fan-on' | 'starter-off' | undefined;
}

/** A cool-down is no alarm and leads after every abort. */
export type AdvisoryKind = 'abort' | 'cool-down';

export interface AdvisoryPlan {
  readonly cause: AdvisoryCause;
  /** Absent: abort. */
  readonly kind?: AdvisoryKind | undefined;
  /** Graver leads when two run at once; 1 is the gravest. */
  readonly rank: number;
  readonly title: string;
  /** The line at 44 px. */
  readonly imperative: string;
  readonly steps: readonly AdvisoryStep[];
}

export type StepState = 'waiting' | 'current' | 'done-by-channel' | 'done-by-operator';

export interface AdvisoryStepView {
  readonly step: AdvisoryStep;
  readonly state: StepState;
  readonly startedAt_us: number | null;
  readonly doneAt_us: number | null;
  readonly isOverdue: boolean;
  /** "rpm below 300: 3,120" in words and number; empty for operator steps. */
  readonly proofText: string;
  /** Seconds still to wait at the present fall; null where nothing can be predicted, absent for other proofs. */
  readonly waitLeft_s?: number | null | undefined;
}

/** How insistent an advisory is: 0; 1 a step is overdue; 2 it is twice over its time, or a second one is overdue. */
export type Escalation = 0 | 1 | 2;

/** A running (or ended) advisory, as shown, recorded and replayed. */
export interface Advisory {
  /** `cause@trip time`, unique within a session. */
  readonly id: string;
  readonly cause: AdvisoryCause;
  readonly kind: AdvisoryKind;
  readonly escalation: Escalation;
  readonly title: string;
  readonly imperative: string;
  readonly rank: number;
  /** First-out alarm that opened it, its title with value and limit. */
  readonly causeText: string;
  /** Empty where no alarm opened it (fire, cool-down). */
  readonly alarmId: string;
  readonly openedAt_us: number;
  /** All steps done; still shown until the operator closes it. */
  readonly completedAt_us: number | null;
  /** Closed by the operator, or withdrawn. */
  readonly closedAt_us: number | null;
  readonly steps: readonly AdvisoryStepView[];
}
