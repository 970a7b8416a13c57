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
  /** Raised by the operator. */
  'fire',
  /** After high power: no abort, the order in which to shut down. */
  'cool-down',
] as const;
export type AdvisoryCause = (typeof advisoryCauses)[number];

interface RuleBase {
  readonly id: RuleId;
  /** Short, as it stands in the alarm list: "CHT 1 high". */
  readonly title: string;
  readonly level: AlarmLevel;
  /** Run states in which the rule is judged; empty means in all. */
  readonly when: readonly RunState[];
  /** Judged only once one of the states in `when` has lasted so long: "only when running for 5 s". */
  readonly whenFor_s?: number | undefined;
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
  /** Attempts begun within one hour. */
  readonly attemptsPerHour?: number | undefined;
  /** Heat carried over from attempt to attempt, in seconds of cranking: each second adds one, and it decays with `tau_s`. */
  readonly heat?: { readonly most_s: number; readonly tau_s: number } | undefined;
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

/** Rises (or falls) faster than `trip_perS` over `window_s`; both levels are magnitudes, core unit per second. */
export interface RateRule extends RuleBase {
  readonly kind: 'rate';
  readonly channel: ChannelKey;
  readonly direction: 'rising' | 'falling';
  readonly trip_perS: number;
  readonly reset_perS: number;
  readonly window_s: number;
  readonly onDelay_ms: number;
  readonly offDelay_ms: number;
}

/** Highest less lowest of a group of channels. One that is not good trips, unless its sensor rule speaks. */
export interface SpreadRule extends RuleBase {
  readonly kind: 'spread';
  readonly channels: readonly ChannelKey[];
  readonly trip: number;
  readonly reset: number;
  readonly onDelay_ms: number;
  readonly offDelay_ms: number;
}

/** A channel against what was asked of it: `gain` times the demand plus `offset`. */
export interface DeviationRule extends RuleBase {
  readonly kind: 'deviation';
  readonly channel: ChannelKey;
  readonly demand: ChannelKey;
  readonly gain: number;
  readonly offset: number;
  /** Magnitudes, in the channel's unit. */
  readonly trip: number;
  readonly reset: number;
  /** After a change of the demand nothing is judged for so long. */
  readonly settle_s: number;
  readonly onDelay_ms: number;
  readonly offDelay_ms: number;
}

/** Good samples that have not changed by a single count for `still_s`. */
export interface FrozenRule extends RuleBase {
  readonly kind: 'frozen';
  readonly channels: readonly ChannelKey[];
  readonly still_s: number;
}

/** Outside the physical range that the bench (or the rig sheet) gives for the channel. */
export interface RangeRule extends RuleBase {
  readonly kind: 'range';
  readonly channels: readonly ChannelKey[];
  readonly onDelay_ms: number;
  readonly offDelay_ms: number;
}

/** Bench clock against host clock, over at least `least_s`. */
export interface ClockDriftRule extends RuleBase {
  readonly kind: 'clock-drift';
  readonly trip_ppm: number;
  readonly reset_ppm: number;
  readonly least_s: number;
}

/** The recorder stopped, holding for longer than `held_s`, or with less than `leastFree_MB` of disk. */
export interface RecorderRule extends RuleBase {
  readonly kind: 'recorder';
  readonly held_s: number;
  readonly leastFree_MB: number;
}

/** Fuel in the tank lasts less than `trip_min` at the rate of the last `window_s`. */
export interface FuelTimeRule extends RuleBase {
  readonly kind: 'fuel-time';
  /** Litres, and litres per hour. */
  readonly level_L: ChannelKey;
  readonly flow_LPerh: ChannelKey;
  readonly trip_min: number;
  readonly reset_min: number;
  readonly window_s: number;
  readonly onDelay_ms: number;
  readonly offDelay_ms: number;
}

/**
 * The ignition cut while hot after high power. High power is speed above
 * `high_rpm` for `highFor_s`; its heat counts for `remembered_s` after it. At
 * idle (below `idle_rpm` for `idleFor_s`) after it the advisory opens.
 */
export interface CoolDownRule extends RuleBase {
  readonly kind: 'cool-down';
  readonly ignition: string;
  readonly head: ChannelKey;
  readonly speed: ChannelKey;
  readonly high_rpm: number;
  readonly highFor_s: number;
  readonly remembered_s: number;
  readonly idle_rpm: number;
  readonly idleFor_s: number;
  /** Cut at or below this is safe; the alarm returns below it. */
  readonly safe_degC: number;
}

/** Fasteners are due after `run_h` in one run, or `sinceLocked_h` since last locked. */
export interface EnduranceRule extends RuleBase {
  readonly kind: 'endurance';
  readonly run_h: number;
  readonly sinceLocked_h: number;
}

/** Kinds that watch by themselves (`watch.ts`). */
export type WatchRule =
  | RateRule
  | SpreadRule
  | DeviationRule
  | FrozenRule
  | RangeRule
  | ClockDriftRule
  | RecorderRule
  | FuelTimeRule
  | CoolDownRule
  | EnduranceRule;

export type LimitRule =
  | WatchRule
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

/** An alarm that the operator has set aside; its condition is watched on, and told again when it is back. */
export interface SetAsideAlarm {
  readonly id: string;
  readonly rule: RuleId;
  readonly level: AlarmLevel;
  readonly title: string;
  readonly subject: string | null;
  readonly state: 'shelved' | 'out-of-service';
  readonly by: string;
  readonly reason: string;
  readonly since_us: number;
  /** When a shelf ends by itself; null for one that is out of service until put back. */
  readonly until_us: number | null;
  /** Its condition holds now. */
  readonly isTripped: boolean;
}

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
  /** Session time of the sample that tripped it; −1 where it never did (shelved before). */
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
  /** From the trip to the consequence. Absent in alarms of older hosts. */
  readonly timeToAct_s?: number | undefined;
}
