/**
 * The pipeline's view put into the bridge's words: layouts (channels with the
 * limits drawn on them) and snapshots.
 */
import type { Layout, LimitMark, LinkHealth, Snapshot, StreamName } from '../../shared-core/bridge/contract.ts';
import type { Channel } from '../../shared-core/channels/channel.ts';
import { channelsAsShown } from '../../shared-core/channels/channel-settings.ts';
import { findChannel } from '../../shared-core/channels/usual-keys.ts';
import type { Intake } from '../../shared-core/line/intake.ts';
import type { PipelineView } from '../../shared-core/pipeline-contract.ts';
import type { RigSheet } from '../../shared-core/rig/rig-sheet.ts';

export function layoutOf(stream: StreamName, view: PipelineView, rig: RigSheet): Layout {
  return {
    stream,
    layoutVersion: view.layoutVersion,
    channels: channelsAsShown(view.values.channels, rig.channels),
    limits: limitsOf(rig, view.values.channels),
    rig,
  };
}

/** Limits that can be drawn: thresholds and timed bands, on the channels that the bench really has. */
export function limitsOf(rig: RigSheet, channels: readonly Channel[]): LimitMark[] {
  return rig.rules.flatMap((rule): LimitMark[] => {
    if (rule.kind !== 'threshold' && rule.kind !== 'timed-band') return [];
    const channel = findChannel(channels, rule.channel);
    if (channel === undefined) return [];
    const direction = rule.kind === 'threshold' ? rule.direction : 'high';
    return [{ channel: channel.key, level: rule.level, direction, value: rule.trip, title: rule.title }];
  });
}

export type PipelinePart = Pick<
  Snapshot,
  | 'layoutVersion'
  | 'now_us'
  | 'identity'
  | 'inputs'
  | 'run'
  | 'starter'
  | 'alarms'
  | 'setAside'
  | 'flood'
  | 'sound'
  | 'silencedUntil_us'
  | 'hours'
  | 'advisories'
  | 'marks'
  | 'points'
  | 'checklistDone'
  | 'startLists'
>;

export function snapshotOf(view: PipelineView): PipelinePart {
  return {
    layoutVersion: view.layoutVersion,
    now_us: view.now_us,
    identity: view.identity,
    inputs: view.inputs,
    run: view.run,
    starter: view.starter,
    alarms: view.alarms,
    setAside: view.setAside,
    flood: view.flood,
    sound: view.sound,
    silencedUntil_us: view.silencedUntil_us,
    hours: view.hours,
    advisories: view.advisories,
    marks: view.marks,
    points: view.points,
    checklistDone: [...view.checklistDone],
    startLists: view.startLists,
  };
}

export function linkOf(intake: Intake, now_us: number, hostLatency_ms: number): LinkHealth {
  return {
    ...intake.rates(now_us),
    counts: intake.counts,
    silentFor_ms: intake.silentFor_ms(now_us),
    lastFault: intake.lastFault,
    hostLatency_ms,
  };
}
