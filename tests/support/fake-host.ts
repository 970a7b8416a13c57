/**
 * A host in memory, for looking at the page and trying it without a bench. It
 * keeps the contract and answers acts plausibly; its numbers are made up by
 * simple curves and prove nothing about engines.
 */
import type { Advisory, AdvisoryPlan, AdvisoryStepView } from '../../shared-core/advisory/plans.ts';
import {
  CONTRACT_VERSION,
  type DisplayBatch,
  type HostMessage,
  type Layout,
  type LimitMark,
  type RendererCarrier,
  type RendererMessage,
  type SeriesView,
  type Snapshot,
} from '../../shared-core/bridge/contract.ts';
import { type Channel, type Quantity, quantities, type System } from '../../shared-core/channels/channel.ts';
import { quality } from '../../shared-core/channels/quality.ts';
import type { Alarm } from '../../shared-core/limits/rules.ts';
import { faultKinds, type LineCounts } from '../../shared-core/line/messages.ts';
import { lapwing120 as lapwing } from '../../shared-core/rig/lapwing.ts';

/** `calm`: running within limits. `alarms`: a caution, a lost sensor. `overspeed`: two advisories. */
export type Scene = 'calm' | 'alarms' | 'overspeed' | 'standing';

const rows: readonly [string, string, Quantity, System, number, number, number][] = [
  ['rpm', 'Shaft speed', 'shaft-speed', 'shaft', 0, 0, 8000],
  ['thrust', 'Thrust', 'thrust', 'shaft', 2, -50, 500],
  ['torque', 'Torque', 'torque', 'shaft', 3, -5, 20],
  ['cht1', 'CHT 1', 'head-temperature', 'heads', 1, 0, 300],
  ['cht2', 'CHT 2', 'head-temperature', 'heads', 1, 0, 300],
  ['egt1', 'EGT 1', 'exhaust-temperature', 'exhausts', 1, 0, 900],
  ['egt2', 'EGT 2', 'exhaust-temperature', 'exhausts', 1, 0, 900],
  ['fuel_flow', 'Fuel flow', 'fuel-flow', 'fuel', 3, 0, 20],
  ['fuel_total', 'Fuel used', 'fuel-total', 'fuel', 2, 0, 10_000],
  ['fuel_level', 'Fuel level', 'fuel-level', 'fuel', 3, 0, 5],
  ['fuel_temp', 'Fuel temperature', 'fuel-temperature', 'fuel', 1, -20, 60],
  ['throttle', 'Throttle', 'throttle-demand', 'throttle', 1, 0, 100],
  ['servo_pulse', 'Servo pulse', 'servo-pulse', 'throttle', 0, 900, 2100],
  ['supply_volt', 'Supply', 'supply-voltage', 'electrical', 2, 0, 16],
  ['starter_amp', 'Starter', 'starter-current', 'electrical', 1, 0, 200],
  ['gen_volt', 'Generator', 'generator-voltage', 'electrical', 2, 0, 20],
  ['gen_amp', 'Generator', 'generator-current', 'electrical', 2, 0, 20],
  ['air_temp', 'Air temperature', 'ambient-temperature', 'air', 1, -30, 60],
  ['air_press', 'Air pressure', 'ambient-pressure', 'air', 2, 800, 1100],
  ['air_humid', 'Humidity', 'ambient-humidity', 'air', 1, 0, 100],
  ['inlet_temp', 'Inlet temperature', 'inlet-temperature', 'air', 1, -30, 80],
  ['brake_power', 'Brake power', 'brake-power', 'shaft', 2, 0, 15],
  ['bsfc', 'BSFC', 'bsfc', 'fuel', 0, 0, 1200],
  ['air_density', 'Air density', 'density', 'air', 4, 0.8, 1.5],
];

const channels: readonly Channel[] = rows.map(([key, label, quantity, system, decimals, low, high], ordinal) => ({
  ordinal,
  key,
  label,
  quantity,
  unit: quantities[quantity],
  decimals,
  system,
  low,
  high,
  origin: { kind: 'bench', group: ordinal < 3 ? 0 : 1, column: ordinal, factor: 1, offset: 0 },
}));

const limits: readonly LimitMark[] = lapwing.rules.flatMap((r) =>
  (r.kind === 'threshold' || r.kind === 'timed-band') && channels.some((c) => c.key === r.channel)
    ? [
        {
          channel: r.channel,
          level: r.level,
          direction: r.kind === 'threshold' ? r.direction : ('high' as const),
          value: r.trip,
          title: r.title,
        },
      ]
    : [],
);

const inputs = ['stop', 'cage', 'ignition', 'starter', 'servo', 'supply', 'fan'];
const words: Record<string, readonly [string, string]> = {
  stop: ['open', 'healthy'],
  cage: ['open', 'closed'],
  ignition: ['off', 'on'],
  starter: ['off', 'engaged'],
  servo: ['off', 'on'],
  supply: ['off', 'on'],
  fan: ['off', 'on'],
};

export interface FakeHost {
  readonly connect: () => Promise<RendererCarrier>;
  /** Cuts every connection, as a host that ends does. */
  readonly drop: () => void;
}

export function createFakeHost(scene: Scene): FakeHost {
  const startedAt_ms = performance.now() - 754_000;
  const now_us = (): number => Math.round((performance.now() - startedAt_ms) * 1000);
  const tripAt_us = now_us() + 2_500_000;
  let handler: ((message: HostMessage) => void) | null = null;
  let onClose: (() => void) | null = null;
  let credits = 0;
  let lastStep_us = now_us();
  const on: Record<string, 0 | 1> = {
    stop: 1,
    cage: 1,
    ignition: scene === 'standing' ? 0 : 1,
    starter: 0,
    servo: 1,
    supply: 1,
    fan: 1,
  };
  let outputsLive = false;
  let throttle = scene === 'standing' ? 0 : 62;
  let speed_rpm = scene === 'standing' ? 0 : 5200;
  const done = new Set<string>(['stop-tested', 'fuel-shut-off', 'cage']);
  const marks: { t_us: number; text: string; by: string }[] = [
    { t_us: now_us() - 48e6, text: 'warm-up ends', by: 'operator 1' },
  ];
  const points: Snapshot['points'][number][] = [];
  const commands: Snapshot['outputs']['commands'][number][] = [];
  let alarms: Alarm[] = [];
  let advisories: Advisory[] = [];

  function alarm(id: string, over: Partial<Alarm>): Alarm {
    const rule = lapwing.rules.find((r) => r.id === id);
    if (!rule) throw new Error(`no rule ${id}`);
    return {
      id,
      rule: rule.id,
      level: rule.level,
      title: rule.title,
      subject: 'channel' in rule ? rule.channel : null,
      state: 'active-unacknowledged',
      trippedAt_us: now_us() - 20e6,
      returnedAt_us: null,
      acknowledgedAt_us: null,
      value: NaN,
      limit: 'trip' in rule ? rule.trip : NaN,
      unit: channels.find((c) => 'channel' in rule && c.key === rule.channel)?.unit ?? '',
      isFirstOut: false,
      consequence: rule.consequence,
      operatorAction: rule.operatorAction,
      ...over,
    };
  }
  if (scene === 'alarms' || scene === 'overspeed') {
    alarms = [
      alarm('cht1-caution', { value: 191.4, trippedAt_us: now_us() - 34e6, state: 'active-acknowledged' }),
      alarm('other-sensors', { id: 'other-sensors:egt2', subject: 'egt2', trippedAt_us: now_us() - 12e6, limit: NaN }),
      alarm('supply-low', { state: 'returned-unacknowledged', value: 11.38, trippedAt_us: now_us() - 96e6 }),
    ];
  }

  function plan(cause: string): AdvisoryPlan {
    const found = lapwing.plans.find((p) => p.cause === cause);
    if (!found) throw new Error(`no plan ${cause}`);
    return found;
  }
  function open(cause: string, alarmId: string, causeText: string): void {
    const p = plan(cause);
    const steps = p.steps.map(
      (step, i): AdvisoryStepView => ({
        step,
        state: i === 0 ? 'current' : 'waiting',
        startedAt_us: i === 0 ? now_us() : null,
        doneAt_us: null,
        isOverdue: false,
        proofText: '',
      }),
    );
    advisories.push({
      id: `${cause}@${now_us()}`,
      cause: p.cause,
      kind: p.kind ?? 'abort',
      escalation: 0,
      title: p.title,
      imperative: p.imperative,
      rank: p.rank,
      causeText,
      alarmId,
      openedAt_us: now_us(),
      completedAt_us: null,
      closedAt_us: null,
      steps,
    });
  }
  function advance(advisory: Advisory, by: 'done-by-channel' | 'done-by-operator', stepId: string): Advisory {
    let next = false;
    const steps = advisory.steps.map((s) => {
      if (next && s.state === 'waiting') {
        next = false;
        return { ...s, state: 'current' as const, startedAt_us: now_us() };
      }
      if (s.step.id !== stepId || s.state !== 'current') return s;
      next = true;
      return { ...s, state: by, doneAt_us: now_us(), isOverdue: false };
    });
    return { ...advisory, steps, completedAt_us: steps.every((s) => s.state.startsWith('done')) ? now_us() : null };
  }
  function turnProofs(): void {
    advisories = advisories.map((advisory) => {
      let turned = advisory;
      for (const view of advisory.steps) {
        const p = view.step.proof;
        if (p.kind === 'channel') {
          const v = value(p.channel, now_us());
          const c = channels.find((x) => x.key === p.channel);
          const text = `${c?.label ?? p.channel} ${p.is} ${p.value.toLocaleString('en')}: ${Math.round(v).toLocaleString('en')} ${c?.unit ?? ''}`;
          turned = {
            ...turned,
            steps: turned.steps.map((s) => (s.step.id === view.step.id ? { ...s, proofText: text } : s)),
          };
          if (view.state === 'current' && (p.is === 'below' ? v < p.value : v > p.value))
            turned = advance(turned, 'done-by-channel', view.step.id);
        } else if (p.kind === 'input') {
          const text = `${p.input} ${words[p.input]?.[p.state]}: ${words[p.input]?.[on[p.input] ?? 0]}`;
          turned = {
            ...turned,
            steps: turned.steps.map((s) => (s.step.id === view.step.id ? { ...s, proofText: text } : s)),
          };
          if (view.state === 'current' && on[p.input] === p.state)
            turned = advance(turned, 'done-by-channel', view.step.id);
        } else if (p.kind === 'falling') {
          turned = {
            ...turned,
            steps: turned.steps.map((s) =>
              s.step.id === view.step.id ? { ...s, proofText: `${p.channel} falling: 0.1 K/s` } : s,
            ),
          };
        }
      }
      return {
        ...turned,
        steps: turned.steps.map((s) =>
          s.state === 'current' && s.startedAt_us !== null
            ? { ...s, isOverdue: (now_us() - s.startedAt_us) / 1e6 > s.step.allowed_s }
            : s,
        ),
      };
    });
  }

  function value(key: string, t_us: number): number {
    const t = t_us / 1e6;
    const n = speed_rpm / 6300;
    const past = t_us < startPast_us ? 0.55 + 0.35 * Math.tanh(Math.sin(t / 70) * 3) : n;
    const wobble = Math.sin(t * 7.1) * 0.004 + Math.sin(t * 23.7) * 0.003;
    const s = past * (1 + wobble);
    switch (key) {
      case 'rpm':
        return 6300 * s;
      case 'thrust':
        return 265 * s * s + Math.sin(t * 41) * 1.5;
      case 'torque':
        return 11.2 * s * s;
      case 'brake_power':
        return 7.4 * s ** 3;
      case 'cht1':
        return 90 + 105 * past + 4 * Math.sin(t / 30);
      case 'cht2':
        return 88 + 98 * past + 4 * Math.sin(t / 33);
      case 'egt1':
        return 300 + 310 * past + 6 * Math.sin(t / 5);
      case 'egt2':
        return 290 + 305 * past + 6 * Math.sin(t / 6);
      case 'fuel_flow':
        return 0.6 + 4.1 * s ** 3;
      case 'fuel_total':
        return 812 + (t - 700) * 0.9;
      case 'fuel_level':
        return 3.412;
      case 'throttle':
        return throttle;
      case 'servo_pulse':
        return 1000 + 10 * throttle;
      case 'supply_volt':
        return 12.61 + Math.sin(t * 3) * 0.02;
      case 'gen_volt':
        return 13.9;
      case 'gen_amp':
        return 2.31;
      case 'air_press':
        return 941.2;
      case 'air_humid':
        return 55.1;
      case 'bsfc':
        return 540 + Math.sin(t) * 3;
      case 'air_density':
        return 1.1243;
      case 'starter_amp':
        return 0;
      default:
        return 17.2;
    }
  }
  const startPast_us = now_us();

  function layout(): Layout {
    return { stream: 'live', layoutVersion: 1, channels, limits, rig: lapwing };
  }
  function snapshot(): Snapshot {
    const counts: LineCounts = {
      accepted: 75_420,
      missing: 3,
      bytes: 9_000_000,
      faults: Object.fromEntries(faultKinds.map((k) => [k, 0])) as LineCounts['faults'],
    };
    return {
      stream: 'live',
      provenance: 'SIMULATED',
      setAside: [],
      flood: null,
      sound: null,
      silencedUntil_us: null,
      hours: { total_h: 12.4, sinceLocked_h: 3.1, longestRun_h: 0.6, run_h: 0.2 },
      alarmStamp: null,
      latency: null,
      layoutVersion: 1,
      now_us: now_us(),
      session: { id: 'fake', startedAt_epochMs: Date.now() - now_us() / 1000, source: 'simulator', detail: 'fixture' },
      source: {
        kind: 'simulator',
        name: 'Warm engine',
        state: 'open',
        sentence: 'The simulator is running.',
        remedy: '',
        attempts: 0,
        nextAttemptIn_ms: null,
      },
      link: {
        linesPerSecond: 110,
        bytesPerSecond: 9000,
        counts,
        loss_percent: 0,
        drift_ppm: 12,
        silentFor_ms: 8,
        lastFault: null,
        hostLatency_ms: 3,
      },
      recorder: {
        state: 'recording',
        sentence: '',
        remedy: '',
        sessionBytes: 5_200_000,
        freeBytes: 48e9,
        forecast_h: null,
        held_s: 0,
        lastCommit_epochMs: Date.now(),
      },
      identity: null,
      inputs: inputs.map((key) => ({
        key,
        words: words[key] ?? ['off', 'on'],
        state: on[key] ?? 'X',
        changedAt_us: 0,
      })),
      run: {
        state: speed_rpm > 1000 ? 'running' : 'standing',
        since_us: now_us() - 751e6,
        run: 1,
        runStartedAt_us: 3e6,
      },
      starter: { isEngaged: on.starter === 1, attempt_s: 0, left_s: 8, restLeft_s: scene === 'standing' ? 103 : 0 },
      alarms,
      advisories,
      marks,
      points,
      checklistDone: [...done],
      startLists: { open: 0, isOverridden: false },
      outputs: { live: outputsLive, kept: false, why: '', liveFor_s: 0, falls_s: outputsLive ? 540 : null, commands },
      troubles: [],
      jobs: [],
      simulator: {
        scenario: 'warm',
        title: 'Warm engine',
        seed: 1,
        speed: 1,
        time_s: now_us() / 1e6,
        isPaused: false,
        activeFaults: [],
        handsOn: false,
      },
      training: null,
      replay: null,
    };
  }
  function step(): void {
    const t = now_us();
    const target = on.ignition === 1 ? 1900 + 53 * throttle + (scene === 'overspeed' && t > tripAt_us ? 2400 : 0) : 0;
    speed_rpm += (target - speed_rpm) * 0.04;
    if (credits === 0) return;
    credits--;
    const values = channels.map((c) => (scene !== 'calm' && c.key === 'egt2' ? NaN : value(c.key, t)));
    const batch: DisplayBatch = {
      stream: 'live',
      layoutVersion: 1,
      from_us: lastStep_us,
      to_us: t,
      merged: 1,
      min: Float64Array.from(values, (v, i) => (i < 3 ? v - Math.abs(v) * 0.004 : v)),
      max: Float64Array.from(values, (v, i) => (i < 3 ? v + Math.abs(v) * 0.004 : v)),
      last: Float64Array.from(values),
      quality: Uint8Array.from(channels, (c) =>
        scene !== 'calm' && c.key === 'egt2' ? quality.open : c.key === 'fuel_temp' ? quality.absent : quality.good,
      ),
      updated_us: Float64Array.from(channels, (c) =>
        scene !== 'calm' && c.key === 'inlet_temp' ? t - 7.4e6 : c.key === 'fuel_temp' ? -1 : t,
      ),
      arrivedAt_epochMs: Date.now(),
    };
    lastStep_us = t;
    handler?.({ type: 'display', batch });
  }
  function view(keys: readonly string[], from_us: number, to_us: number, pixels: number): SeriesView[] {
    const width = (to_us - from_us) / pixels;
    return keys.map((channel) => {
      const t_us = Float64Array.from({ length: pixels }, (_, i) => from_us + i * width);
      const min = t_us.map((t) => (channel === 'egt2' && t > startPast_us - 60e6 ? NaN : value(channel, t)));
      return { channel, from_us, to_us, t_us, min, max: min.map((v) => v * 1.004) };
    });
  }
  function receive(message: RendererMessage): void {
    if (message.type === 'credit') {
      if (message.stream === 'live') credits += message.count;
      return;
    }
    let reply: unknown = null;
    switch (message.method) {
      case 'view':
        reply = view(message.params.channels, message.params.from_us, message.params.to_us, message.params.pixels);
        break;
      case 'outputs.live':
        outputsLive = message.params.live;
        break;
      case 'outputs.command': {
        const { command } = message.params;
        const isRefused = command.name === 'STARTER';
        commands.push({
          id: `c${commands.length}`,
          command,
          by: message.params.by,
          sentAt_us: now_us(),
          outcome: isRefused ? 'refused' : 'accepted',
          reason: isRefused ? 'engine is running' : '',
        });
        if (command.name === 'THROTTLE') throttle = command.permille / 10;
        else if ('on' in command) on[command.name.toLowerCase()] = command.on ? 1 : 0;
        reply = { id: `c${commands.length - 1}` };
        break;
      }
      case 'outputs.starter':
        on.starter = message.params.held ? 1 : 0;
        break;
      case 'operator': {
        const { action } = message.params;
        if (action.kind === 'acknowledge' || action.kind === 'acknowledge-all') {
          alarms = alarms
            .filter(
              (a) =>
                !(
                  a.state === 'returned-unacknowledged' &&
                  (action.kind === 'acknowledge-all' || a.id === action.alarmId)
                ),
            )
            .map((a) =>
              action.kind === 'acknowledge-all' || a.id === action.alarmId
                ? { ...a, state: 'active-acknowledged' as const }
                : a,
            );
        } else if (action.kind === 'mark') marks.push({ t_us: now_us(), text: action.text, by: message.params.by });
        else if (action.kind === 'checklist') {
          if (action.isDone) done.add(action.itemId);
          else done.delete(action.itemId);
        } else if (action.kind === 'advisory-step') {
          advisories = advisories.map((a) =>
            a.id === action.advisoryId ? advance(a, 'done-by-operator', action.stepId) : a,
          );
        } else if (action.kind === 'advisory-close') {
          advisories = advisories.map((a) => (a.id === action.advisoryId ? { ...a, closedAt_us: now_us() } : a));
        } else if (action.kind === 'capture-point') {
          const means = Object.fromEntries(channels.map((c) => [c.key, { mean: value(c.key, now_us()), sd: 0.4 }]));
          points.push({ name: action.name, from_us: now_us() - 10e6, to_us: now_us(), samples: 1000, means });
        }
        break;
      }
      default:
        handler?.({
          type: 'reply',
          id: message.id,
          result: {
            ok: false,
            error: { kind: 'refused', sentence: `The fixture does not do ${message.method}.`, remedy: '' },
          },
        });
        return;
    }
    const id = message.id;
    setTimeout(() => handler?.({ type: 'reply', id, result: { ok: true, value: reply } }), 10);
  }

  let isTripped = false;
  setInterval(step, 50);
  setInterval(() => {
    if (scene === 'overspeed' && !isTripped && speed_rpm > 7000) {
      isTripped = true;
      alarms = [alarm('rpm-abort', { value: speed_rpm, trippedAt_us: now_us(), isFirstOut: true }), ...alarms];
      open('overspeed', 'rpm-abort', `Overspeed: ${Math.round(speed_rpm).toLocaleString('en')} rpm above 7,000 rpm`);
      open('over-temperature', 'cht1-abort', 'CHT 1 over limit: 221.3 °C above 220 °C');
    }
    turnProofs();
    handler?.({ type: 'snapshot', snapshot: snapshot() });
  }, 200);

  return {
    drop: () => {
      handler = null;
      credits = 0;
      onClose?.();
    },
    connect: async () => ({
      post: receive,
      close: () => onClose?.(),
      onClose: (h) => {
        onClose = h;
      },
      onMessage: (h) => {
        handler = h;
        lastStep_us = now_us();
        h({
          type: 'hello',
          contract: CONTRACT_VERSION,
          appVersion: '0.1.0',
          door: 'memory',
          notice: 'Everything on the demo rig is invented.',
        });
        h({ type: 'layout', layout: layout() });
        h({ type: 'snapshot', snapshot: snapshot() });
      },
    }),
  };
}
