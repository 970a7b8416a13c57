/**
 * A small invented rig and bench for the tests of the judging core: values are
 * written straight into the journal, in the unit of the bench's table.
 */

import { ruleId } from '../shared-core/base/ids.ts';
import { type QualityCode, quality, rawOfQuality } from '../shared-core/channels/quality.ts';
import type { JournalInput, JournalOutput, JournalSink, OperatorAction } from '../shared-core/journal.ts';
import type {
  ClockDriftRule,
  CoolDownRule,
  DeviationRule,
  EnduranceRule,
  FrozenRule,
  FuelTimeRule,
  LimitRule,
  RangeRule,
  RateRule,
  RecorderRule,
  SpreadRule,
} from '../shared-core/limits/rules.ts';
import type { BenchTable, InputState } from '../shared-core/line/messages.ts';
import { Pipeline } from '../shared-core/pipeline.ts';
import type { PipelineObserver } from '../shared-core/pipeline-contract.ts';
import type { RigSheet } from '../shared-core/rig/rig-sheet.ts';

/** Group 1 (fast) and group 2 (slow): key, quantity, unit, decimals. */
export const fastColumns = [
  ['rpm', 'shaft-speed', '/min', 0],
  ['torque', 'torque', 'N.m', 3],
  ['thrust', 'thrust', 'N', 2],
] as const;
export const slowColumns = [
  ['cht1', 'head-temperature', 'Cel', 1],
  ['cht2', 'head-temperature', 'Cel', 1],
  ['fuel_flow', 'fuel-flow', 'L/h', 3],
  ['fuel_total', 'fuel-total', 'mL', 2],
  ['fuel_temp', 'fuel-temperature', 'Cel', 1],
  ['air_temp', 'ambient-temperature', 'Cel', 1],
  ['air_press', 'ambient-pressure', 'hPa', 2],
  ['air_humid', 'ambient-humidity', '%', 1],
] as const;
const columnsOfGroup = { 1: fastColumns, 2: slowColumns };
export const inputKeys = ['stop', 'starter', 'ignition'] as const;

export function smallTable(slow: readonly (readonly [string, string, string, number])[] = slowColumns): BenchTable {
  const rows = [...fastColumns.map((row) => [1, row] as const), ...slow.map((row) => [2, row] as const)];
  return {
    identity: {
      version: '1.0',
      bench: 'small-bench',
      firmware: '1',
      boot: '0001',
      layout: '5A10',
      groups: 2,
      channels: rows.length,
      inputs: inputKeys.length,
    },
    groups: [
      { group: 1, rate_mHz: 100_000, columns: fastColumns.length },
      { group: 2, rate_mHz: 10_000, columns: slow.length },
    ],
    channels: rows.map(([group, [key, quantityName, unit, decimals]], channel) => ({
      channel,
      group,
      column: group === 1 ? channel : channel - fastColumns.length,
      key,
      quantity: quantityName,
      unit,
      decimals,
      low: -1000,
      high: 100_000,
    })),
    inputs: inputKeys.map((key, input) => ({ input, key, word0: 'off', word1: 'on' })),
  };
}

const ruleBase = {
  level: 'warning',
  when: [],
  latch: false,
  consequence: 'invented',
  operatorAction: 'invented',
  timeToAct_s: 10,
} as const;
type Draft<K extends LimitRule['kind']> = Partial<Omit<Extract<LimitRule, { kind: K }>, 'id' | 'kind'>>;

/** A rule of a kind with usual values, changed where the test is about it. */
export const rule = {
  threshold: (id: string, draft: Draft<'threshold'> = {}): LimitRule => ({
    ...ruleBase,
    kind: 'threshold',
    id: ruleId(id),
    title: id,
    channel: 'cht1',
    direction: 'high',
    trip: 220,
    reset: 205,
    onDelay_ms: 0,
    offDelay_ms: 0,
    ...draft,
  }),
  band: (id: string, draft: Draft<'timed-band'> = {}): LimitRule => ({
    ...ruleBase,
    kind: 'timed-band',
    id: ruleId(id),
    title: id,
    channel: 'rpm',
    trip: 6600,
    reset: 6500,
    allowed_s: 2,
    ...draft,
  }),
  sensor: (id: string, draft: Draft<'sensor'> = {}): LimitRule => ({
    ...ruleBase,
    kind: 'sensor',
    id: ruleId(id),
    title: id,
    channels: ['cht1', 'cht2'],
    stale_ms: 1000,
    onDelay_ms: 0,
    ...draft,
  }),
  link: (id: string, draft: Draft<'link'> = {}): LimitRule => ({
    ...ruleBase,
    kind: 'link',
    id: ruleId(id),
    title: id,
    silence_ms: 1000,
    ...draft,
  }),
  duty: (id: string, draft: Draft<'starter-duty'> = {}): LimitRule => ({
    ...ruleBase,
    kind: 'starter-duty',
    id: ruleId(id),
    title: id,
    attempt_s: 8,
    rest_s: 120,
    ...draft,
  }),
  disagreement: (id: string, draft: Draft<'disagreement'> = {}): LimitRule => ({
    ...ruleBase,
    kind: 'disagreement',
    id: ruleId(id),
    title: id,
    channels: ['cht1', 'cht2'],
    trip_percent: 15,
    reset_percent: 10,
    floor: 10,
    onDelay_ms: 0,
    ...draft,
  }),
  input: (id: string, draft: Draft<'input'> = {}): LimitRule => ({
    ...ruleBase,
    kind: 'input',
    id: ruleId(id),
    title: id,
    input: 'stop',
    badState: 0,
    onDelay_ms: 0,
    ...draft,
  }),
  rate: (id: string, draft: Draft<'rate'> = {}): RateRule => ({
    ...{ ...ruleBase, kind: 'rate', id: ruleId(id), title: id, channel: 'cht1', direction: 'rising' },
    ...{ trip_perS: 4, reset_perS: 2, window_s: 5, onDelay_ms: 0, offDelay_ms: 0, ...draft },
  }),
  spread: (id: string, draft: Draft<'spread'> = {}): SpreadRule => ({
    ...{ ...ruleBase, kind: 'spread', id: ruleId(id), title: id, channels: ['cht1', 'cht2'] },
    ...{ trip: 40, reset: 30, onDelay_ms: 0, offDelay_ms: 0, ...draft },
  }),
  deviation: (id: string, draft: Draft<'deviation'> = {}): DeviationRule => ({
    ...{ ...ruleBase, kind: 'deviation', id: ruleId(id), title: id, channel: 'thrust', demand: 'torque' },
    ...{ gain: 10, offset: 100, trip: 20, reset: 10, settle_s: 1, onDelay_ms: 0, offDelay_ms: 0, ...draft },
  }),
  frozen: (id: string, draft: Draft<'frozen'> = {}): FrozenRule => ({
    ...{ ...ruleBase, kind: 'frozen', id: ruleId(id), title: id, channels: ['rpm'], still_s: 5, ...draft },
  }),
  range: (id: string, draft: Draft<'range'> = {}): RangeRule => ({
    ...{ ...ruleBase, kind: 'range', id: ruleId(id), title: id, channels: ['cht1'] },
    ...{ onDelay_ms: 0, offDelay_ms: 0, ...draft },
  }),
  clockDrift: (id: string, draft: Draft<'clock-drift'> = {}): ClockDriftRule => ({
    ...{ ...ruleBase, kind: 'clock-drift', id: ruleId(id), title: id },
    ...{ trip_ppm: 500, reset_ppm: 300, least_s: 120, ...draft },
  }),
  recorder: (id: string, draft: Draft<'recorder'> = {}): RecorderRule => ({
    ...{ ...ruleBase, kind: 'recorder', id: ruleId(id), title: id, held_s: 10, leastFree_MB: 500, ...draft },
  }),
  fuelTime: (id: string, draft: Draft<'fuel-time'> = {}): FuelTimeRule => ({
    ...{ ...ruleBase, kind: 'fuel-time', id: ruleId(id), title: id, level_L: 'fuel_temp', flow_LPerh: 'fuel_flow' },
    ...{ trip_min: 10, reset_min: 12, window_s: 10, onDelay_ms: 0, offDelay_ms: 0, ...draft },
  }),
  coolDown: (id: string, draft: Draft<'cool-down'> = {}): CoolDownRule => ({
    ...{ ...ruleBase, kind: 'cool-down', id: ruleId(id), title: id, ignition: 'ignition', head: 'cht_max' },
    ...{ speed: 'rpm', high_rpm: 4500, highFor_s: 20, remembered_s: 180, idle_rpm: 2600, idleFor_s: 5 },
    ...{ safe_degC: 130, ...draft },
  }),
  endurance: (id: string, draft: Draft<'endurance'> = {}): EnduranceRule => ({
    ...{ ...ruleBase, kind: 'endurance', id: ruleId(id), title: id, run_h: 6, sinceLocked_h: 30, ...draft },
  }),
};

export function smallRig(rules: readonly LimitRule[], changes: Partial<RigSheet> = {}): RigSheet {
  return {
    format: 'runstand-rig',
    formatVersion: 1,
    id: 'small',
    version: 1,
    name: 'Small (invented)',
    isDemo: true,
    engine: {
      name: 'invented',
      strokes: 2,
      cylinders: 2,
      displacement_cm3: 120,
      idleSpeed_rpm: 1900,
      ratedSpeed_rpm: 6300,
    },
    propeller: { name: 'invented', diameter_m: 0.7, pitch_m: 0.25, blades: 2 },
    site: { name: 'invented', elevation_m: 640 },
    fuel: { name: 'petrol', density15_kgPerm3: 745, oilDensity15_kgPerm3: 870, mixRatio: 0 },
    runDetection: { rest_rpm: 60, running_rpm: 1100, runningHold_s: 1, cool_degC: 80 },
    calibrations: [],
    rules,
    plans: [],
    checklists: [],
    cautions: [],
    ...changes,
  };
}

export interface Said {
  readonly t_us: number;
  readonly output: JournalOutput;
}

/** Values of a frame by key, in core units; a quality name for a sensor that has failed. */
export type Reading = number | 'open' | 'short' | 'over' | 'under' | 'stale';

/** Drives one pipeline by hand, and writes down what it says. */
export class Stand {
  readonly said: Said[] = [];
  readonly pipeline: Pipeline;
  #ord = 0;
  readonly #inputs = new Map<(typeof inputKeys)[number], InputState>();
  t_us = 0;
  readonly present: Record<string, Reading> = {
    rpm: 0,
    torque: 0,
    thrust: 0,
    cht1: 20,
    cht2: 20,
    fuel_flow: 0,
    fuel_total: 0,
    fuel_temp: 15,
    air_temp: 20,
    air_press: 1000,
    air_humid: 50,
  };

  readonly #tape: JournalSink | undefined;

  /** @param tape is told of every entry too */
  constructor(
    rig: RigSheet,
    observer: Partial<PipelineObserver> = {},
    table: BenchTable | null = smallTable(),
    tape?: JournalSink,
  ) {
    this.#tape = tape;
    this.pipeline = new Pipeline(rig, {
      onValues: (t_us, view, group) => observer.onValues?.(t_us, view, group),
      onOutput: (t_us, output) => this.said.push({ t_us, output }),
    });
    this.event({ kind: 'link', state: 'opened', detail: '' });
    if (table === null) return;
    this.event({ kind: 'identity', identity: table.identity });
    this.event({ kind: 'table', table });
  }

  event(body: JournalInput): void {
    this.#tape?.event(this.#ord, this.t_us, body);
    this.pipeline.event(this.#ord++, this.t_us, body);
  }
  input(key: (typeof inputKeys)[number], state: InputState): void {
    this.#inputs.set(key, state);
    this.event({ kind: 'input', input: inputKeys.indexOf(key), state });
  }
  operator(action: OperatorAction): void {
    this.event({ kind: 'operator', by: 'operator 1', action });
  }
  tick(t_us: number): void {
    this.t_us = t_us;
    this.#tape?.tick(this.#ord, t_us);
    this.pipeline.tick(this.#ord++, t_us);
  }

  /** One frame of a group at a time, with the present readings. */
  frame(group: 1 | 2, t_us: number, readings: Record<string, Reading> = {}): void {
    Object.assign(this.present, readings);
    this.t_us = t_us;
    const columns: readonly (readonly [string, string, string, number])[] = columnsOfGroup[group];
    const raw = Int32Array.from(columns, ([key, , , decimals]) => rawOf(this.present[key] ?? 0, decimals));
    this.#tape?.frame(this.#ord, t_us, group, raw, columns.length);
    this.pipeline.frame(this.#ord++, t_us, group, raw, columns.length);
  }

  /** Frames of both groups (100 and 10 per second) up to a time, after the present one; inputs again each second. */
  runTo(t_us: number, readings: Record<string, Reading> = {}): void {
    Object.assign(this.present, readings);
    for (let next_us = this.t_us - (this.t_us % 10_000) + 10_000; next_us <= t_us; next_us += 10_000) {
      this.frame(1, next_us);
      if (next_us % 1_000_000 === 0) for (const [key, state] of this.#inputs) this.input(key, state);
      if (next_us % 100_000 === 0) this.frame(2, next_us);
    }
  }

  value(key: string): number {
    const { channels, value } = this.pipeline.values;
    return value[channels.findIndex((channel) => channel.key === key)] ?? NaN;
  }
  quality(key: string): QualityCode {
    const { channels, quality: state } = this.pipeline.values;
    return state[channels.findIndex((channel) => channel.key === key)] as QualityCode;
  }

  /** What was said of alarms since the last taking: "tripped id". */
  alarmsSaid(): string[] {
    return this.said
      .splice(0)
      .flatMap(({ output }) => (output.kind === 'alarm' ? [`${output.change} ${output.id}`] : []));
  }
}

function rawOf(reading: Reading, decimals: number): number {
  return typeof reading === 'number' ? Math.round(reading * 10 ** decimals) : rawOfQuality(quality[reading]);
}

/** Keeps a journal, to be played again. */
export class JournalTape implements JournalSink {
  readonly entries: (
    | { readonly kind: 'frame'; ord: number; t_us: number; group: number; raw: Int32Array }
    | { readonly kind: 'tick'; ord: number; t_us: number }
    | { readonly kind: 'event'; ord: number; t_us: number; body: JournalInput }
  )[] = [];
  readonly #also: JournalSink | undefined;

  constructor(also?: JournalSink) {
    this.#also = also;
  }
  frame(ord: number, t_us: number, group: number, raw: Int32Array, columns: number): void {
    this.entries.push({ kind: 'frame', ord, t_us, group, raw: raw.slice(0, columns) });
    this.#also?.frame(ord, t_us, group, raw, columns);
  }
  tick(ord: number, t_us: number): void {
    this.entries.push({ kind: 'tick', ord, t_us });
    this.#also?.tick(ord, t_us);
  }
  event(ord: number, t_us: number, body: JournalInput): void {
    this.entries.push({ kind: 'event', ord, t_us, body });
    this.#also?.event(ord, t_us, body);
  }
  playTo(sink: JournalSink): void {
    for (const entry of this.entries) {
      if (entry.kind === 'frame') sink.frame(entry.ord, entry.t_us, entry.group, entry.raw, entry.raw.length);
      else if (entry.kind === 'tick') sink.tick(entry.ord, entry.t_us);
      else sink.event(entry.ord, entry.t_us, entry.body);
    }
  }
}
