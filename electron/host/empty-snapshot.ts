/** What the live stream shows while nothing is connected. */
import type { Snapshot, Trouble } from '../../shared-core/bridge/contract.ts';
import { noCounts } from '../../shared-core/line/messages.ts';

export function emptySnapshot(troubles: readonly Trouble[], freeBytes: number): Snapshot {
  return {
    stream: 'live',
    provenance: 'LIVE',
    layoutVersion: 0,
    now_us: 0,
    session: null,
    source: {
      kind: 'none',
      name: '',
      state: 'closed',
      sentence: 'Nothing is connected.',
      remedy: 'Connect a bench in Rig, or choose a scenario in Train.',
      attempts: 0,
      nextAttemptIn_ms: null,
    },
    link: {
      linesPerSecond: 0,
      bytesPerSecond: 0,
      counts: noCounts(),
      loss_percent: 0,
      drift_ppm: Number.NaN,
      silentFor_ms: 0,
      lastFault: null,
      hostLatency_ms: Number.NaN,
    },
    recorder: {
      state: 'stopped',
      sentence: '',
      remedy: '',
      sessionBytes: 0,
      freeBytes,
      held_s: 0,
      lastCommit_epochMs: 0,
    },
    identity: null,
    inputs: [],
    run: { state: 'standing', since_us: 0, run: 0, runStartedAt_us: null },
    starter: { isEngaged: false, attempt_s: 0, left_s: 0, restLeft_s: 0 },
    alarms: [],
    advisories: [],
    marks: [],
    points: [],
    checklistDone: [],
    outputs: { live: false, liveFor_s: 0, falls_s: null, commands: [] },
    troubles,
    jobs: [],
    simulator: null,
    replay: null,
  };
}
