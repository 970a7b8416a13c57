/**
 * The pipeline's view put into the bridge's words: layouts (channels with the
 * limits drawn on them) and snapshots.
 */
import type { Layout, LimitMark, LinkHealth, Snapshot, StreamName } from '../../shared-core/bridge/contract.ts';
import type { Intake } from '../../shared-core/line/intake.ts';
import type { PipelineView } from '../../shared-core/pipeline-contract.ts';
import type { RigSheet } from '../../shared-core/rig/rig-sheet.ts';

export function layoutOf(stream: StreamName, view: PipelineView, rig: RigSheet): Layout {
  return {
    stream,
    layoutVersion: view.layoutVersion,
    channels: view.values.channels,
    limits: limitsOf(rig),
    rig,
  };
}

/** Limits that can be drawn: thresholds and timed bands. */
export function limitsOf(rig: RigSheet): LimitMark[] {
  return rig.rules.flatMap((rule): LimitMark[] => {
    if (rule.kind === 'threshold') {
      return [
        { channel: rule.channel, level: rule.level, direction: rule.direction, value: rule.trip, title: rule.title },
      ];
    }
    if (rule.kind === 'timed-band') {
      return [{ channel: rule.channel, level: rule.level, direction: 'high', value: rule.trip, title: rule.title }];
    }
    return [];
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
  | 'advisories'
  | 'marks'
  | 'points'
  | 'checklistDone'
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
    advisories: view.advisories,
    marks: view.marks,
    points: view.points,
    checklistDone: [...view.checklistDone],
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
