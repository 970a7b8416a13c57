/**
 * How a rule stands against one moment's values, for whoever edits it: tripped
 * if it were in force, or how much room is left. The comparisons are those of
 * the kinds' own files; delays, latches and memory are left out, so kinds that
 * are about time say that they need it. Alarms are made by `judge.ts` alone.
 */
import type { ChannelKey } from '../channels/channel.ts';
import type { InputState } from '../line/messages.ts';
import type { EngineHours, RecorderFacts } from '../pipeline/host-facts.ts';
import { deviationOf } from './deviation.ts';
import { differenceOfLarger_percent } from './disagreement.ts';
import { fuelLeft_min } from './fuel-time.ts';
import { isRecorderIll } from './recorder-health.ts';
import type { LimitRule, RunState } from './rules.ts';
import { isBeyond, isInside } from './threshold.ts';

/** What is so now. Values in core units. */
export interface Moment {
  /** NaN where the sensor is not good; null where the bench has no such channel or nothing ever came. */
  sampleOf(key: ChannelKey): number | null;
  /** NaN where unknown. */
  rangeOf(key: ChannelKey): { readonly low: number; readonly high: number };
  /** Null where the bench has no such input. */
  inputOf(key: string): InputState | null;
  readonly state: RunState;
  readonly state_s: number;
  readonly silentFor_ms: number;
  readonly drift_ppm: number;
  readonly recorder: RecorderFacts | null;
  readonly hours: EngineHours;
}

export interface RuleStanding {
  /**
   * `beyond`: it would trip, once its delay is over; `between`: in the deadband, its state is kept; `inside`: normal;
   * `needs-time`: one moment cannot say; `nothing`: the bench has nothing to feed it.
   */
  readonly verdict: 'beyond' | 'between' | 'inside' | 'needs-time' | 'nothing';
  /** The run state, or the time in it, is one in which the rule is not judged. */
  readonly isResting: boolean;
  /** The figure that is compared; NaN for a failed sensor, null where there is none. */
  readonly value: number | null;
  /** From the value to the trip, in the trip's unit: positive is room, negative is how far beyond; null where neither. */
  readonly room: number | null;
  /** The channel that is worst off, where the rule watches several. */
  readonly subject: ChannelKey | null;
}

type Found = Omit<RuleStanding, 'isResting'>;

const nothing: Found = { verdict: 'nothing', value: null, room: null, subject: null };

export function standingNow(rule: LimitRule, now: Moment): RuleStanding {
  const isOther = rule.when.length > 0 && !rule.when.includes(now.state);
  const isEarly = rule.when.length > 0 && now.state_s < (rule.whenFor_s ?? 0);
  return { ...found(rule, now), isResting: isOther || isEarly };
}

function found(rule: LimitRule, now: Moment): Found {
  switch (rule.kind) {
    case 'threshold': {
      const value = now.sampleOf(rule.channel);
      if (value === null) return nothing;
      const room = rule.direction === 'high' ? rule.trip - value : value - rule.trip;
      const verdict = isBeyond(rule, value) ? 'beyond' : isInside(rule, value) ? 'inside' : 'between';
      return { verdict, value, room: known(room), subject: rule.channel };
    }
    case 'timed-band':
    case 'rate': {
      const value = now.sampleOf(rule.channel);
      if (value === null) return nothing;
      const room = rule.kind === 'timed-band' ? known(rule.trip - value) : null;
      return { verdict: Number.isNaN(value) ? 'beyond' : 'needs-time', value, room, subject: rule.channel };
    }
    case 'spread': {
      const values = rule.channels.flatMap((key) => now.sampleOf(key) ?? []);
      if (values.length < 2) return nothing;
      return compared(Math.max(...values) - Math.min(...values), rule.trip, rule.reset, null);
    }
    case 'deviation': {
      const value = now.sampleOf(rule.channel);
      const demand = now.sampleOf(rule.demand);
      if (value === null || demand === null) return nothing;
      return compared(Math.abs(deviationOf(rule, value, demand)), rule.trip, rule.reset, rule.channel);
    }
    case 'disagreement': {
      const [first, second] = rule.channels.map((key) => now.sampleOf(key));
      if (first === null || second === null || first === undefined || second === undefined) return nothing;
      const isIdle = Math.abs(first) < rule.floor && Math.abs(second) < rule.floor;
      if (isIdle) return { verdict: 'inside', value: 0, room: rule.trip_percent, subject: null };
      return compared(
        Math.abs(differenceOfLarger_percent(first, second)),
        rule.trip_percent,
        rule.reset_percent,
        rule.channels[0],
      );
    }
    case 'sensor': {
      const present = rule.channels.filter((key) => now.sampleOf(key) !== null);
      if (present.length === 0) return nothing;
      const failed = present.find((key) => Number.isNaN(now.sampleOf(key)));
      if (failed === undefined) return { verdict: 'inside', value: null, room: null, subject: null };
      return { verdict: 'beyond', value: NaN, room: null, subject: failed };
    }
    case 'range':
      return worstInRange(rule.channels, now);
    case 'input': {
      const state = now.inputOf(rule.input);
      if (state === null) return nothing;
      // Not known is as bad as bad.
      const verdict = state === 'X' || state === rule.badState ? 'beyond' : 'inside';
      return { verdict, value: null, room: null, subject: null };
    }
    case 'link':
      return compared(now.silentFor_ms, rule.silence_ms, rule.silence_ms, null);
    case 'clock-drift':
      if (!Number.isFinite(now.drift_ppm)) return { ...nothing, verdict: 'needs-time' };
      return compared(Math.abs(now.drift_ppm), rule.trip_ppm, rule.reset_ppm, null);
    case 'recorder': {
      if (now.recorder === null) return nothing;
      const verdict = isRecorderIll(rule, now.recorder) ? 'beyond' : 'inside';
      const free_MB = now.recorder.freeBytes / 1e6;
      return { verdict, value: free_MB, room: known(free_MB - rule.leastFree_MB), subject: null };
    }
    case 'fuel-time': {
      const level_L = now.sampleOf(rule.level_L);
      const flow_LPerh = now.sampleOf(rule.flow_LPerh);
      if (level_L === null || flow_LPerh === null) return nothing;
      const left_min = fuelLeft_min(level_L, flow_LPerh);
      const verdict = !(left_min >= rule.trip_min) ? 'beyond' : left_min > rule.reset_min ? 'inside' : 'between';
      return { verdict, value: left_min, room: known(left_min - rule.trip_min), subject: null };
    }
    case 'endurance': {
      const { longestRun_h, sinceLocked_h } = now.hours;
      const isDue = longestRun_h > rule.run_h || sinceLocked_h > rule.sinceLocked_h;
      const room = Math.min(rule.run_h - longestRun_h, rule.sinceLocked_h - sinceLocked_h);
      return { verdict: isDue ? 'beyond' : 'inside', value: sinceLocked_h, room: known(room), subject: null };
    }
    case 'frozen':
    case 'starter-duty':
    case 'cool-down':
      return { ...nothing, verdict: 'needs-time' };
  }
}

/** A magnitude against its trip and reset. NaN is beyond. */
function compared(size: number, trip: number, reset: number, subject: ChannelKey | null): Found {
  const verdict = !(size <= trip) ? 'beyond' : size < reset || size === 0 ? 'inside' : 'between';
  return { verdict, value: size, room: known(trip - size), subject };
}

function worstInRange(channels: readonly ChannelKey[], now: Moment): Found {
  let worst: Found = nothing;
  for (const key of channels) {
    const value = now.sampleOf(key);
    if (value === null) continue;
    const { low, high } = now.rangeOf(key);
    const isOutside = Number.isNaN(value) || value < low || value > high;
    const rooms = [value - low, high - value].filter((each) => !Number.isNaN(each));
    const room = rooms.length === 0 ? null : Math.min(...rooms);
    if (worst.verdict === 'beyond' && !isOutside) continue;
    const isWorse = worst.verdict === 'nothing' || (isOutside && worst.verdict !== 'beyond');
    if (isWorse || (room !== null && worst.room !== null && room < worst.room)) {
      worst = { verdict: isOutside ? 'beyond' : 'inside', value, room, subject: key };
    }
  }
  return worst;
}

function known(room: number): number | null {
  return Number.isNaN(room) ? null : room;
}
