/**
 * Limit rules as data. Checking them is in the files beside this one; their
 * zod schema is `rig/rig-schema.ts`.
 */
import type { RuleId } from '../base/ids.ts';
import type { ChannelKey } from '../channels/channel.ts';

/** From quiet to grave. */
export const alarmLevels = ['notice', 'caution', 'warning', 'abort'] as const;
export type AlarmLevel = (typeof alarmLevels)[number];

export const runStates = ['standing', 'cranking', 'running', 'cooling'] as const;
export type RunState = (typeof runStates)[number];

/** What an abort advisory is about; each has a plan in the rig sheet. */
export const advisoryCauses = [
  'overspeed',
  'over-temperature',
  'sensor-lost',
  'link-lost',
  'fuel-low',
  'stop-circuit',
  'starter-overrun',
] as const;
export type AdvisoryCause = (typeof advisoryCauses)[number];

interface RuleBase {
  readonly id: RuleId;
  /** Short, as it stands in the alarm list: "CHT 1 high". */
  readonly title: string;
  readonly level: AlarmLevel;
  /** Run states in which the rule is judged; empty means in all. */
  readonly when: readonly RunState[];
  /** Stays until reset by the operator, even when the cause has gone. */
  readonly latch: boolean;
  /** What happens if nobody acts. */
  readonly consequence: string;
  /** What the operator does. */
  readonly operatorAction: string;
  /** Time from the trip to the consequence, as far as known. */
  readonly timeToAct_s: number;
  /** Plan to open when the rule trips at level abort. */
  readonly advisory?: AdvisoryCause | undefined;
}

/** Trips beyond `trip`, resets inside `reset` (deadband); NaN trips. Core units. */
export interface ThresholdRule extends RuleBase {
  readonly kind: 'threshold';
  readonly channel: ChannelKey;
  readonly direction: 'high' | 'low';
  readonly trip: number;
  readonly reset: number;
  readonly onDelay_ms: number;
  readonly offDelay_ms: number;
}

/** Above `trip` for more than `allowed_s` in one run, added up. */
export interface TimedBandRule extends RuleBase {
  readonly kind: 'timed-band';
  readonly channel: ChannelKey;
  readonly trip: number;
  readonly reset: number;
  readonly allowed_s: number;
}

/** Starter: at most `attempt_s` per attempt, then at least `rest_s` off. */
export interface StarterDutyRule extends RuleBase {
  readonly kind: 'starter-duty';
  readonly attempt_s: number;
  readonly rest_s: number;
}

/** A sensor state other than good, or no fresh sample for `stale_ms`. */
export interface SensorRule extends RuleBase {
  readonly kind: 'sensor';
  readonly channels: readonly ChannelKey[];
  readonly stale_ms: number;
  readonly onDelay_ms: number;
}

/** No accepted line for `silence_ms`, or the port closed. */
export interface LinkRule extends RuleBase {
  readonly kind: 'link';
  readonly silence_ms: number;
}

/** Two sources of one quantity differ by more than `trip_percent` of the larger, above `floor`. */
export interface DisagreementRule extends RuleBase {
  readonly kind: 'disagreement';
  readonly channels: readonly [ChannelKey, ChannelKey];
  readonly trip_percent: number;
  readonly reset_percent: number;
  /** Neither source is judged while both are below this, in their core unit. */
  readonly floor: number;
  readonly onDelay_ms: number;
}

/** A discrete input in its bad state. */
export interface InputRule extends RuleBase {
  readonly kind: 'input';
  readonly input: string;
  readonly badState: 0 | 1;
  readonly onDelay_ms: number;
}

export type LimitRule =
  | ThresholdRule
  | TimedBandRule
  | StarterDutyRule
  | SensorRule
  | LinkRule
  | DisagreementRule
  | InputRule;

/** Where an alarm is in its life. `returned` is: gone, and not yet acknowledged. */
export const alarmStates = [
  'active-unacknowledged',
  'active-acknowledged',
  'returned-unacknowledged',
  'latched',
] as const;
export type AlarmState = (typeof alarmStates)[number];

/**
 * One alarm as shown and recorded. A rule over several channels raises one
 * alarm per channel: `id` is the rule's id, or `rule:channel`.
 */
export interface Alarm {
  readonly id: string;
  readonly rule: RuleId;
  readonly level: AlarmLevel;
  readonly title: string;
  /** Channel or input that it is about; null for the link. */
  readonly subject: string | null;
  readonly state: AlarmState;
  /** Session time of the sample that tripped it. */
  readonly trippedAt_us: number;
  readonly returnedAt_us: number | null;
  readonly acknowledgedAt_us: number | null;
  /** Value that tripped it (NaN for a failed sensor), and the limit, in the core unit. */
  readonly value: number;
  readonly limit: number;
  readonly unit: string;
  /** First of the alarms standing together, kept until reset. */
  readonly isFirstOut: boolean;
  readonly consequence: string;
  readonly operatorAction: string;
}
