/**
 * The rules of a rig sheet, fitted to the channels and inputs of one bench:
 * which can be judged, where their values stand, and who speaks for a sensor
 * that fails. The judging itself is in `judge.ts`.
 */
import type { Channel, ChannelKey } from '../channels/channel.ts';
import { quality } from '../channels/quality.ts';
import { findChannel } from '../channels/usual-keys.ts';
import type { InputStore } from '../pipeline/input-store.ts';
import type { LiveStore } from '../pipeline/live-store.ts';
import { type Delayed, newDelayed } from './delayed.ts';
import {
  type DisagreementRule,
  type InputRule,
  type LimitRule,
  type LinkRule,
  runStates,
  type SensorRule,
  type StarterDutyRule,
  type ThresholdRule,
  type TimedBandRule,
  type WatchRule,
} from './rules.ts';
import { type DutyState, newDuty } from './starter-duty.ts';
import { newTimedBand, type TimedBand } from './timed-band.ts';
import type { Source, Watch, Watched } from './watch.ts';
import { watchesOf } from './watches.ts';

interface Check {
  readonly alarmId: string;
  readonly title: string;
  readonly subject: string | null;
  /** Bits of the run states in which it is judged. */
  readonly states: number;
  /** … and for how long one of them must have lasted. */
  readonly whenFor_us: number;
  /** Whether the alarm book holds it to be tripped. */
  isTold: boolean;
}
export interface ThresholdCheck extends Check {
  readonly rule: ThresholdRule;
  readonly ordinal: number;
  readonly unit: string;
  readonly sources: readonly Source[];
  readonly delayed: Delayed;
}
export interface BandCheck extends Check {
  readonly rule: TimedBandRule;
  readonly ordinal: number;
  readonly unit: string;
  readonly sources: readonly Source[];
  readonly band: TimedBand;
}
export interface PairCheck extends Check {
  readonly rule: DisagreementRule;
  readonly ordinal: number;
  readonly second: number;
  readonly sources: readonly Source[];
  readonly delayed: Delayed;
}
export interface SensorCheck extends Check {
  readonly rule: SensorRule;
  readonly ordinal: number;
  readonly period_us: number;
  readonly delayed: Delayed;
}
export interface DutyCheck extends Check {
  readonly rule: StarterDutyRule;
  readonly duty: DutyState;
}
export interface LinkCheck extends Check {
  readonly rule: LinkRule;
}
export interface InputCheck extends Check {
  readonly rule: InputRule;
  readonly index: number;
  readonly delayed: Delayed;
}
export interface WatchCheck extends Check {
  readonly rule: WatchRule;
  readonly watch: Watch;
}
export type RuleCheck =
  | ThresholdCheck
  | BandCheck
  | PairCheck
  | SensorCheck
  | DutyCheck
  | LinkCheck
  | InputCheck
  | WatchCheck;

export interface Checks {
  readonly thresholds: readonly ThresholdCheck[];
  readonly bands: readonly BandCheck[];
  readonly pairs: readonly PairCheck[];
  readonly sensors: readonly SensorCheck[];
  readonly duties: readonly DutyCheck[];
  readonly links: readonly LinkCheck[];
  readonly inputs: readonly InputCheck[];
  readonly watches: readonly WatchCheck[];
  readonly all: readonly RuleCheck[];
  readonly unjudged: readonly LimitRule[];
}

/**
 * @param before checks of the layout before: what they have counted goes on where it is about the same thing
 */
export function checksOf(
  rules: readonly LimitRule[],
  store: LiveStore,
  inputs: InputStore,
  hasStarter: boolean,
  before: readonly RuleCheck[] = [],
): Checks {
  const all: RuleCheck[] = [];
  const unjudged: LimitRule[] = [];
  const { channels } = store;
  const channelOf = (key: ChannelKey): Channel | undefined => findChannel(channels, key);
  for (const rule of rules) {
    const states = statesOf(rule);
    const whenFor_us = (rule.whenFor_s ?? 0) * 1e6;
    const base = { alarmId: rule.id as string, title: rule.title, states, whenFor_us, isTold: false };
    const old = (id: string) => before.find((check) => check.alarmId === id);
    const count = all.length;
    switch (rule.kind) {
      case 'threshold':
      case 'timed-band': {
        const channel = channelOf(rule.channel);
        if (channel === undefined) break;
        const sources = sourcesBehind(rules, channels, channel);
        const isTold = old(rule.id)?.isTold ?? false;
        const place = { ...base, isTold, subject: channel.key, ordinal: channel.ordinal, unit: channel.unit, sources };
        if (rule.kind === 'threshold') all.push({ ...place, rule, delayed: newDelayed(isTold) });
        else all.push({ ...place, rule, band: bandOf(old(rule.id)) });
        break;
      }
      case 'disagreement': {
        const first = channelOf(rule.channels[0]);
        const second = channelOf(rule.channels[1]);
        if (first === undefined || second === undefined) break;
        const sources = [...sourcesBehind(rules, channels, first), ...sourcesBehind(rules, channels, second)];
        const isTold = old(rule.id)?.isTold ?? false;
        const place = { ordinal: first.ordinal, second: second.ordinal, sources, subject: first.key };
        all.push({ ...base, ...place, isTold, rule, delayed: newDelayed(isTold) });
        break;
      }
      case 'sensor':
        for (const key of rule.channels) {
          const channel = channelOf(key);
          if (channel === undefined) continue;
          const alarmId = `${rule.id}:${channel.key}`;
          const isTold = old(alarmId)?.isTold ?? false;
          const title = `${rule.title}: ${channel.label}`;
          const period_us = periodOf(store, channel);
          const place = { alarmId, title, subject: channel.key, ordinal: channel.ordinal, period_us };
          all.push({ ...base, ...place, isTold, rule, delayed: newDelayed(isTold) });
        }
        break;
      case 'starter-duty': {
        if (!hasStarter) break;
        const known = old(rule.id);
        const duty = known !== undefined && 'duty' in known ? known.duty : newDuty();
        all.push({ ...base, isTold: known?.isTold ?? false, subject: 'starter', rule, duty });
        break;
      }
      case 'link':
        all.push({ ...base, isTold: old(rule.id)?.isTold ?? false, subject: null, rule });
        break;
      case 'input': {
        const index = inputs.indexOf(rule.input);
        if (index < 0) break;
        const isTold = old(rule.id)?.isTold ?? false;
        all.push({ ...base, isTold, subject: rule.input, index, rule, delayed: newDelayed(isTold) });
        break;
      }
      default: {
        const watchedOf = (channel: Channel): Watched => ({
          ordinal: channel.ordinal,
          sources: sourcesBehind(rules, channels, channel),
        });
        const isToldOf = (id: string) => old(id)?.isTold ?? false;
        for (const each of watchesOf(rule, { channelOf, watchedOf, inputs, isToldOf })) {
          all.push({ ...base, ...each, isTold: isToldOf(each.alarmId), rule });
        }
      }
    }
    if (all.length === count) unjudged.push(rule);
  }
  return {
    thresholds: all.filter((check): check is ThresholdCheck => check.rule.kind === 'threshold'),
    bands: all.filter((check): check is BandCheck => check.rule.kind === 'timed-band'),
    pairs: all.filter((check): check is PairCheck => check.rule.kind === 'disagreement'),
    sensors: all.filter((check): check is SensorCheck => check.rule.kind === 'sensor'),
    duties: all.filter((check): check is DutyCheck => check.rule.kind === 'starter-duty'),
    links: all.filter((check): check is LinkCheck => check.rule.kind === 'link'),
    inputs: all.filter((check): check is InputCheck => check.rule.kind === 'input'),
    watches: all.filter((check): check is WatchCheck => 'watch' in check),
    all,
    unjudged,
  };
}

function statesOf(rule: LimitRule): number {
  const states = rule.when.length === 0 ? runStates : rule.when;
  return states.reduce((bits, state) => bits | (1 << runStates.indexOf(state)), 0);
}

function sourcesBehind(rules: readonly LimitRule[], channels: readonly Channel[], channel: Channel): Source[] {
  const { origin } = channel;
  const measured = origin.kind === 'bench' ? [channel] : channels.filter((each) => origin.from.includes(each.key));
  return measured.map((each) => ({ ordinal: each.ordinal, spokenForIn: spokenForIn(rules, channels, each) }));
}

function spokenForIn(rules: readonly LimitRule[], channels: readonly Channel[], channel: Channel): number {
  let states = 0;
  for (const rule of rules) {
    if (rule.kind !== 'sensor') continue;
    if (rule.channels.some((key) => findChannel(channels, key) === channel)) states |= statesOf(rule);
  }
  return states;
}

/** A derived channel is as old as its sources: it comes at least ten times a second or with them. */
function periodOf(store: LiveStore, channel: Channel): number {
  if (channel.origin.kind === 'bench') return store.groupPeriod_us[channel.origin.group]!;
  const { from } = channel.origin;
  const periods = store.channels.filter((each) => from.includes(each.key)).map((each) => periodOf(store, each));
  return Math.max(100_000, ...periods);
}

function bandOf(known: RuleCheck | undefined): TimedBand {
  return known !== undefined && 'band' in known ? known.band : newTimedBand();
}

/** How a sensor state stands in the title of its alarm. */
export const failureWords: readonly string[] = ((): string[] => {
  const words: string[] = [];
  words[quality.good] = '';
  words[quality.open] = 'open';
  words[quality.short] = 'short circuit';
  words[quality.over] = 'over range';
  words[quality.under] = 'under range';
  words[quality.stale] = 'stale';
  words[quality.absent] = 'absent';
  return words;
})();
