/**
 * A limit rule in a fitter's words: what is watched, when it trips and resets,
 * and in which run states it is judged. Pure.
 */
import { assertNever } from '../../shared-core/base/result.ts';
import type { Channel, ChannelKey } from '../../shared-core/channels/channel.ts';
import type { LimitRule, RunState } from '../../shared-core/limits/rules.ts';
import type { DiscreteInput } from '../../shared-core/pipeline-contract.ts';
import { inputTitle } from '../run/input-words.ts';
import { formatQuantity } from '../ui/format.ts';

export interface RuleWords {
  readonly watches: string;
  /** With its on-delay. */
  readonly trips: string;
  /** With its off-delay. */
  readonly resets: string;
  readonly judged: string;
}

export type ChannelLookup = ReadonlyMap<ChannelKey, Pick<Channel, 'label' | 'unit' | 'decimals'>>;

/**
 * Below this an operator cannot be relied upon to see, understand and act;
 * what must happen sooner belongs to a trip wired on the stand.
 */
export const LEAST_TIME_TO_ACT_S = 5;
export const HARD_WIRED_SENTENCE = 'A time to act under 5 s needs a hard-wired trip on the stand, not an operator.';

export function needsHardWiredTrip(rule: Pick<LimitRule, 'timeToAct_s'>): boolean {
  return rule.timeToAct_s < LEAST_TIME_TO_ACT_S;
}

/** 50 → "50 ms", 1500 → "1.5 s", 0 → "at once". */
export function delayWords(delay_ms: number): string {
  if (delay_ms <= 0) return 'at once';
  if (delay_ms < 1000) return `${delay_ms}\u2009ms`;
  return durationWords(delay_ms / 1000);
}

/** 20 → "20 s", 300 → "5 min", 90 → "90 s". */
export function durationWords(seconds: number): string {
  if (seconds >= 120 && seconds % 60 === 0) return `${seconds / 60}\u2009min`;
  return `${Number(seconds.toFixed(1))}\u2009s`;
}

/** Run states in which a rule is judged; none named means in all. */
export function judgedWords(when: readonly RunState[]): string {
  if (when.length === 0) return 'always';
  const words = when.map((state) => state as string);
  const last = words.pop();
  return words.length === 0 ? `${last}` : `${words.join(', ')} or ${last}`;
}

/**
 * @param inputs those that the bench has named, for the words of their states
 */
export function ruleWords(
  rule: LimitRule,
  channels: ChannelLookup,
  inputs: readonly Pick<DiscreteInput, 'key' | 'words'>[],
): RuleWords {
  // Before the channel table has come, nothing is known of any channel.
  const labelOf = (key: ChannelKey): string =>
    channels.get(key)?.label ?? (channels.size === 0 ? key : `${key} (this bench has none)`);
  const limitOf = (key: ChannelKey, value: number): string => {
    const channel = channels.get(key);
    // A limit is set in round numbers: as many decimals as it has, not as the channel shows.
    return formatQuantity(value, decimalsIn(value), channel?.unit ?? '');
  };
  const perSecond = (key: ChannelKey, value: number): string => {
    const unit = channels.get(key)?.unit ?? '';
    return formatQuantity(value, decimalsIn(value), unit === '°C' ? 'K/s' : `${unit}/s`);
  };
  const apart = (key: ChannelKey, value: number): string => {
    const unit = channels.get(key)?.unit ?? '';
    return formatQuantity(value, decimalsIn(value), unit === '°C' ? 'K' : unit);
  };
  const judged = judgedWords(rule.when) + (rule.whenFor_s ? `, once for ${durationWords(rule.whenFor_s)}` : '');
  switch (rule.kind) {
    case 'threshold': {
      const isHigh = rule.direction === 'high';
      return {
        watches: labelOf(rule.channel),
        trips: `${isHigh ? 'above' : 'below'} ${limitOf(rule.channel, rule.trip)}${held(rule.onDelay_ms)}`,
        resets: `${isHigh ? 'below' : 'above'} ${limitOf(rule.channel, rule.reset)}${held(rule.offDelay_ms)}`,
        judged,
      };
    }
    case 'timed-band':
      return {
        watches: labelOf(rule.channel),
        trips: `above ${limitOf(rule.channel, rule.trip)} for more than ${durationWords(rule.allowed_s)} of one run, added up`,
        resets: `below ${limitOf(rule.channel, rule.reset)}`,
        judged,
      };
    case 'starter-duty':
      return {
        watches: 'Starter',
        trips: `engaged for more than ${durationWords(rule.attempt_s)}, or again before ${durationWords(rule.rest_s)} of rest${dutyMore(rule)}`,
        resets: `after ${durationWords(rule.rest_s)} of rest`,
        judged,
      };
    case 'sensor':
      return {
        watches: rule.channels.map(labelOf).join(', '),
        trips: `open, short, out of range, or no fresh sample for ${delayWords(rule.stale_ms)}; held ${delayWords(rule.onDelay_ms)}`,
        resets: 'good again',
        judged,
      };
    case 'link':
      return {
        watches: 'Link to the bench',
        trips: `no accepted line for ${delayWords(rule.silence_ms)}, or the port closed`,
        resets: 'heard again',
        judged,
      };
    case 'disagreement': {
      const [a, b] = rule.channels;
      return {
        watches: `${labelOf(a)} against ${labelOf(b)}`,
        trips: `more than ${rule.trip_percent}\u2009% apart, either above ${limitOf(a, rule.floor)}${held(rule.onDelay_ms)}`,
        resets: `less than ${rule.reset_percent}\u2009% apart`,
        judged,
      };
    }
    case 'rate':
      return {
        watches: labelOf(rule.channel),
        trips: `${rule.direction} by more than ${perSecond(rule.channel, rule.trip_perS)} over ${durationWords(rule.window_s)}${held(rule.onDelay_ms)}`,
        resets: `less than ${perSecond(rule.channel, rule.reset_perS)}${held(rule.offDelay_ms)}`,
        judged,
      };
    case 'spread':
      return {
        watches: rule.channels.map(labelOf).join(', '),
        trips: `more than ${apart(rule.channels[0]!, rule.trip)} apart${held(rule.onDelay_ms)}`,
        resets: `less than ${apart(rule.channels[0]!, rule.reset)} apart${held(rule.offDelay_ms)}`,
        judged,
      };
    case 'deviation':
      return {
        watches: `${labelOf(rule.channel)} against ${labelOf(rule.demand)}`,
        trips: `more than ${limitOf(rule.channel, rule.trip)} from what is asked${held(rule.onDelay_ms)}; ${durationWords(rule.settle_s)} to follow`,
        resets: `less than ${limitOf(rule.channel, rule.reset)}${held(rule.offDelay_ms)}`,
        judged,
      };
    case 'frozen':
      return {
        watches: rule.channels.map(labelOf).join(', '),
        trips: `not the least change for ${durationWords(rule.still_s)}`,
        resets: 'changes again',
        judged,
      };
    case 'range':
      return {
        watches: rule.channels.map(labelOf).join(', '),
        trips: `outside the range of its channel${held(rule.onDelay_ms)}`,
        resets: `inside${held(rule.offDelay_ms)}`,
        judged,
      };
    case 'clock-drift':
      return {
        watches: 'Bench clock against host clock',
        trips: `more than ${rule.trip_ppm} ppm apart, over at least ${durationWords(rule.least_s)}`,
        resets: `less than ${rule.reset_ppm} ppm`,
        judged,
      };
    case 'recorder':
      return {
        watches: 'Recorder',
        trips: `stopped, holding for more than ${durationWords(rule.held_s)}, or less than ${rule.leastFree_MB} MB of disk`,
        resets: 'writing again',
        judged,
      };
    case 'fuel-time':
      return {
        watches: `${labelOf(rule.level_L)} at the rate of ${labelOf(rule.flow_LPerh)}`,
        trips: `less than ${rule.trip_min} min left${held(rule.onDelay_ms)}`,
        resets: `more than ${rule.reset_min} min${held(rule.offDelay_ms)}`,
        judged,
      };
    case 'cool-down':
      return {
        watches: `${inputTitle(rule.ignition)} and ${labelOf(rule.head)}`,
        trips: `cut above ${limitOf(rule.head, rule.safe_degC)} within ${durationWords(rule.remembered_s)} of ${limitOf(rule.speed, rule.high_rpm)} held for ${durationWords(rule.highFor_s)}`,
        resets: `below ${limitOf(rule.head, rule.safe_degC)}`,
        judged,
      };
    case 'endurance':
      return {
        watches: 'Hours of the engine',
        trips: `more than ${rule.run_h} h in one run, or ${rule.sinceLocked_h} h since fasteners were locked`,
        resets: 'fasteners locked anew',
        judged,
      };
    case 'input': {
      const input = inputs.find((each) => each.key === rule.input);
      return {
        watches: inputTitle(rule.input),
        trips: `${input?.words[rule.badState] || `in state ${rule.badState}`}${held(rule.onDelay_ms)}`,
        resets: input?.words[rule.badState === 0 ? 1 : 0] || `in state ${1 - rule.badState}`,
        judged,
      };
    }
    default:
      return assertNever(rule);
  }
}

function dutyMore(rule: Extract<LimitRule, { kind: 'starter-duty' }>): string {
  const attempts =
    rule.attemptsPerHour === undefined ? '' : `, or more than ${rule.attemptsPerHour} attempts in an hour`;
  return rule.heat === undefined ? attempts : `${attempts}, or heat of more than ${rule.heat.most_s} s of cranking`;
}

/** 500 → " for 500 ms"; nothing for no delay. */
function held(delay_ms: number): string {
  return delay_ms <= 0 ? '' : ` for ${delayWords(delay_ms)}`;
}

function decimalsIn(value: number): number {
  if (!Number.isFinite(value)) return 0;
  for (let d = 0; d < 4; d++) if (Number(value.toFixed(d)) === value) return d;
  return 4;
}
