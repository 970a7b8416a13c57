/**
 * What the simulated person at the stand does, and what breaks when, as data.
 * The person stands back for good as soon as a host takes the lease; faults
 * come regardless.
 */
import type { FaultId, FaultOptions } from './faults.ts';

export const scenarioIds = [
  'standing',
  'demonstration',
  'warm-idle',
  'full-throttle',
  'over-temperature',
  'overspeed',
  'sensor-open',
  'noisy-line',
  'link-drop',
] as const;
export type ScenarioId = (typeof scenarioIds)[number];

/** What a person at the stand can do. The first group needs the local controls, the second only hands. */
export type StandAction =
  | { readonly kind: 'throttle'; readonly percent: number }
  | { readonly kind: 'servo' | 'ignition' | 'starter' | 'supply' | 'fan'; readonly on: boolean }
  /** Holds the starter button until the engine runs, at most `most_s`. */
  | { readonly kind: 'crank'; readonly most_s: number }
  | { readonly kind: 'prime' }
  | { readonly kind: 'refuel' }
  | { readonly kind: 'stop-circuit'; readonly closed: boolean }
  | { readonly kind: 'cage'; readonly closed: boolean };

export interface TimedAction {
  readonly at_s: number;
  readonly action: StandAction;
}

export interface TimedFault {
  readonly at_s: number;
  readonly fault: FaultId;
  readonly options?: FaultOptions;
  /** Cleared again at this time. */
  readonly until_s?: number;
}

export type InitialState =
  | { readonly kind: 'rest' }
  /** Running, warm and steady, under local control. */
  | { readonly kind: 'running'; readonly throttle_percent: number };

export interface Scenario {
  readonly id: ScenarioId;
  readonly title: string;
  readonly brief: string;
  readonly initial: InitialState;
  readonly actions: readonly TimedAction[];
  readonly faults: readonly TimedFault[];
  /** The actions begin again after this time; absent, they come once. */
  readonly repeat_s?: number;
}

const on = (kind: 'servo' | 'ignition' | 'supply' | 'fan'): StandAction => ({ kind, on: true });
const off = (kind: 'servo' | 'ignition' | 'supply' | 'fan'): StandAction => ({ kind, on: false });
const throttle = (percent: number): StandAction => ({ kind: 'throttle', percent });

/** One whole run by hand, 14 minutes, pause included. */
const wholeRun: readonly TimedAction[] = [
  { at_s: 3, action: on('fan') },
  { at_s: 5, action: on('supply') },
  { at_s: 6, action: on('servo') },
  { at_s: 8, action: { kind: 'prime' } },
  { at_s: 11, action: on('ignition') },
  { at_s: 13, action: { kind: 'crank', most_s: 7 } },
  { at_s: 60, action: throttle(18) },
  { at_s: 150, action: throttle(30) },
  { at_s: 195, action: throttle(40) },
  { at_s: 240, action: throttle(55) },
  { at_s: 285, action: throttle(70) },
  { at_s: 330, action: throttle(85) },
  { at_s: 375, action: throttle(100) },
  { at_s: 455, action: throttle(70) },
  { at_s: 480, action: throttle(40) },
  { at_s: 505, action: throttle(18) },
  { at_s: 530, action: throttle(0) },
  { at_s: 620, action: off('ignition') },
  { at_s: 690, action: off('servo') },
  { at_s: 692, action: off('supply') },
  { at_s: 720, action: off('fan') },
];

export const scenarios: Readonly<Record<ScenarioId, Scenario>> = {
  standing: {
    id: 'standing',
    title: 'Engine at rest',
    brief: 'Cold engine, everything off, stop circuit and cage closed. You operate.',
    initial: { kind: 'rest' },
    actions: [],
    faults: [],
  },
  demonstration: {
    id: 'demonstration',
    title: 'A whole run, by hand',
    brief:
      'A person at the stand starts the cold engine, warms it, steps to full throttle and back, cools it and stops; after a pause again. Take the lease, and the person stands back.',
    initial: { kind: 'rest' },
    actions: wholeRun,
    faults: [],
    repeat_s: 840,
  },
  'warm-idle': {
    id: 'warm-idle',
    title: 'Warm at idle',
    brief: 'The engine idles, warm, fan on, under local control.',
    initial: { kind: 'running', throttle_percent: 0 },
    actions: [],
    faults: [],
  },
  'full-throttle': {
    id: 'full-throttle',
    title: 'Full throttle',
    brief: 'Full throttle, warm and steady, fan on. Nothing is wrong.',
    initial: { kind: 'running', throttle_percent: 100 },
    actions: [],
    faults: [],
  },
  'over-temperature': {
    id: 'over-temperature',
    title: 'Cooling fan fails at full throttle',
    brief: 'Full throttle; after 30 s the cooling fan fails. The heads pass caution and abort within minutes.',
    initial: { kind: 'running', throttle_percent: 100 },
    actions: [],
    faults: [{ at_s: 30, fault: 'fan-off' }],
  },
  overspeed: {
    id: 'overspeed',
    title: 'Propeller unloads at full throttle',
    brief: 'Full throttle; after 30 s the propeller loses load and the engine runs away past 7,000 rpm.',
    initial: { kind: 'running', throttle_percent: 100 },
    actions: [],
    faults: [{ at_s: 30, fault: 'overspeed' }],
  },
  'sensor-open': {
    id: 'sensor-open',
    title: 'Head sensor opens',
    brief: 'Steady at half throttle; after 30 s the lead of CHT 1 breaks. The head is as cool as before.',
    initial: { kind: 'running', throttle_percent: 50 },
    actions: [],
    faults: [{ at_s: 30, fault: 'cht-open', options: { cylinder: 1 } }],
  },
  'noisy-line': {
    id: 'noisy-line',
    title: 'Noisy serial line',
    brief: 'Steady at half throttle on a line that flips bits from 10 s to 120 s.',
    initial: { kind: 'running', throttle_percent: 50 },
    actions: [],
    faults: [{ at_s: 10, until_s: 120, fault: 'line-noise' }],
  },
  'link-drop': {
    id: 'link-drop',
    title: 'Serial line drops',
    brief: 'Steady at half throttle; after 20 s nothing arrives for 8 s.',
    initial: { kind: 'running', throttle_percent: 50 },
    actions: [],
    faults: [{ at_s: 20, fault: 'link-drop', options: { for_s: 8 } }],
  },
};

export function isScenarioId(text: string): text is ScenarioId {
  return (scenarioIds as readonly string[]).includes(text);
}
