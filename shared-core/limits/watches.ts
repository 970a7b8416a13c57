/**
 * Fits the rules that watch by themselves to the channels of one bench: one
 * watch for each, or one for each channel of a rule over several. A rule whose
 * channels are not there gets none.
 */
import type { Channel, ChannelKey } from '../channels/channel.ts';
import type { InputStore } from '../pipeline/input-store.ts';
import { clockDriftWatch } from './clock-drift.ts';
import { coolDownWatch } from './cool-down.ts';
import { deviationWatch } from './deviation.ts';
import { enduranceWatch } from './endurance.ts';
import { frozenWatch } from './frozen.ts';
import { fuelTimeWatch } from './fuel-time.ts';
import { rangeWatch } from './range.ts';
import { rateWatch } from './rate.ts';
import { recorderWatch } from './recorder-health.ts';
import type { WatchRule } from './rules.ts';
import { spreadWatch } from './spread.ts';
import type { Watch, Watched } from './watch.ts';

/** The bench that the rules are fitted to. */
export interface Fitting {
  channelOf(key: ChannelKey): Channel | undefined;
  watchedOf(channel: Channel): Watched;
  readonly inputs: InputStore;
  /** Whether this alarm stood on the channels before. */
  isToldOf(alarmId: string): boolean;
}

export interface FittedWatch {
  readonly alarmId: string;
  readonly title: string;
  readonly subject: string | null;
  readonly watch: Watch;
}

export function watchesOf(rule: WatchRule, fitting: Fitting): FittedWatch[] {
  const { channelOf, watchedOf, isToldOf } = fitting;
  const isTold = isToldOf(rule.id);
  const one = (watch: Watch, subject: string | null): FittedWatch[] => [
    { alarmId: rule.id, title: rule.title, subject, watch },
  ];
  const each = (keys: readonly ChannelKey[], make: (channel: Channel, isTold: boolean) => Watch): FittedWatch[] =>
    keys.flatMap((key) => {
      const channel = channelOf(key);
      if (channel === undefined) return [];
      const alarmId = `${rule.id}:${channel.key}`;
      const title = `${rule.title}: ${channel.label}`;
      return [{ alarmId, title, subject: channel.key, watch: make(channel, isToldOf(alarmId)) }];
    });
  switch (rule.kind) {
    case 'rate': {
      const channel = channelOf(rule.channel);
      return channel === undefined ? [] : one(rateWatch(rule, watchedOf(channel), channel.unit, isTold), channel.key);
    }
    case 'spread': {
      const group = rule.channels.flatMap((key) => channelOf(key) ?? []);
      const [first] = group;
      if (first === undefined || group.length < 2) return [];
      return one(spreadWatch(rule, group.map(watchedOf), first.unit, isTold), first.key);
    }
    case 'deviation': {
      const channel = channelOf(rule.channel);
      const demand = channelOf(rule.demand);
      if (channel === undefined || demand === undefined) return [];
      return one(deviationWatch(rule, watchedOf(channel), watchedOf(demand), channel.unit, isTold), channel.key);
    }
    case 'frozen':
      return each(rule.channels, (channel, wasTold) => frozenWatch(rule, watchedOf(channel), wasTold));
    case 'range':
      return each(rule.channels, (channel, wasTold) =>
        rangeWatch(rule, watchedOf(channel), channel, channel.unit, wasTold),
      );
    case 'clock-drift':
      return one(clockDriftWatch(rule, isTold), null);
    case 'recorder':
      return one(recorderWatch(rule, isTold), null);
    case 'endurance':
      return one(enduranceWatch(rule), null);
    case 'fuel-time': {
      const level = channelOf(rule.level_L);
      const flow = channelOf(rule.flow_LPerh);
      if (level === undefined || flow === undefined) return [];
      return one(fuelTimeWatch(rule, watchedOf(level), watchedOf(flow), isTold), level.key);
    }
    case 'cool-down': {
      const head = channelOf(rule.head);
      const speed = channelOf(rule.speed);
      if (head === undefined || speed === undefined) return [];
      const ignition = fitting.inputs.indexOf(rule.ignition);
      return one(coolDownWatch(rule, watchedOf(head), watchedOf(speed), ignition, isTold), head.key);
    }
  }
}
