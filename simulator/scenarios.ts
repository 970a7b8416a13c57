/**
 * What the simulated person at the stand does, and what breaks when, as data.
 * The person stands back for good as soon as a host takes the lease; faults
 * come regardless.
 */
import type { FaultId, FaultOptions } from './faults.ts';
import { hillWorkshop, type Site } from './physics/air.ts';

export const scenarioIds = [
  'standing',
  'first-start',
  'demonstration',
  'warm-idle',
  'half-throttle',
  'full-throttle',
  'cold-morning',
  'hot-day',
  'high-site',
  'hot-restart',
  'flooded-start',
  'run-in',
  'endurance-hour',
  'over-temperature',
  'overspeed',
  'sensor-open',
  'noisy-line',
  'link-drop',
  'flat-battery',
  'plug-fouls',
  'lean-cylinder',
  'fuel-runs-out',
  'sun-on-pickup',
  'servo-jams',
  'two-troubles',
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
  /** Air of the day, where it is not the rig's own. */
  readonly site?: Site;
  /** The actions begin again after this time; absent, they come once. */
  readonly repeat_s?: number;
}

const on = (kind: 'servo' | 'ignition' | 'supply' | 'fan'): StandAction => ({ kind, on: true });
const off = (kind: 'servo' | 'ignition' | 'supply' | 'fan'): StandAction => ({ kind, on: false });
const throttle = (percent: number): StandAction => ({ kind: 'throttle', percent });

/** From cold to a running engine, by hand: fan, supplies, two strokes of the primer, ignition, starter. */
function start(from_s: number, primes: number): TimedAction[] {
  const primer: TimedAction[] = Array.from({ length: primes }, (_, i) => ({
    at_s: from_s + 5 + 0.4 * i,
    action: { kind: 'prime' },
  }));
  return [
    { at_s: from_s, action: on('fan') },
    { at_s: from_s + 2, action: on('supply') },
    { at_s: from_s + 3, action: on('servo') },
    ...primer,
    { at_s: from_s + 11, action: on('ignition') },
    { at_s: from_s + 13, action: { kind: 'crank', most_s: 7.5 } },
  ];
}

/** From idle to rest: a minute to cool, ignition off, all else off when the heads are cool. */
function shutDown(from_s: number): TimedAction[] {
  return [
    { at_s: from_s, action: throttle(0) },
    { at_s: from_s + 60, action: off('ignition') },
    { at_s: from_s + 120, action: off('servo') },
    { at_s: from_s + 121, action: off('supply') },
    { at_s: from_s + 150, action: off('fan') },
  ];
}

/** Throttle settings of so many seconds each, one after the other. */
function steps(from_s: number, each_s: number, percents: readonly number[]): TimedAction[] {
  return percents.map((percent, i) => ({ at_s: from_s + i * each_s, action: throttle(percent) }));
}

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
  'first-start': {
    id: 'first-start',
    title: 'Cold first start',
    brief:
      'An engine that has not run today is started by hand: fan, supplies, primer, ignition, at most 8 s of starter. It warms up at low throttle, idles and is stopped.',
    initial: { kind: 'rest' },
    actions: [
      ...start(3, 1),
      { at_s: 45, action: throttle(15) },
      { at_s: 120, action: throttle(25) },
      ...shutDown(180),
    ],
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
  'half-throttle': {
    id: 'half-throttle',
    title: 'Half throttle',
    brief: 'Half throttle, warm and steady, fan on. Nothing is wrong.',
    initial: { kind: 'running', throttle_percent: 50 },
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
  'cold-morning': {
    id: 'cold-morning',
    title: 'Cold morning',
    brief:
      'Minus 5 °C in the workshop. The inlet is cold and takes three strokes of the primer; the engine warms slowly and runs rich until it has.',
    site: { ...hillWorkshop, name: 'hill workshop, frost', temperature_degC: -5, humidity_percent: 80 },
    initial: { kind: 'rest' },
    actions: [
      ...start(3, 3),
      { at_s: 60, action: throttle(15) },
      { at_s: 180, action: throttle(30) },
      ...shutDown(300),
    ],
    faults: [],
  },
  'hot-day': {
    id: 'hot-day',
    title: 'Hot day at full throttle',
    brief: 'Full throttle at 33 °C: less thrust, hotter heads, nearer to their caution. Nothing is wrong.',
    site: { ...hillWorkshop, name: 'hill workshop, summer', temperature_degC: 33, humidity_percent: 35 },
    initial: { kind: 'running', throttle_percent: 100 },
    actions: [],
    faults: [],
  },
  'high-site': {
    id: 'high-site',
    title: 'High site',
    brief: 'The same rig at 2,000 m: thin air, less thrust and power at nearly the same rpm, a mixture that is richer.',
    site: { name: 'high site', elevation_m: 2000, temperature_degC: 10, pressure_hPa: 795, humidity_percent: 40 },
    initial: { kind: 'running', throttle_percent: 0 },
    actions: [...steps(20, 60, [40, 70, 100]), ...shutDown(200)],
    faults: [],
  },
  'hot-restart': {
    id: 'hot-restart',
    title: 'Hot restart',
    brief: 'A hot engine is stopped and started again after two minutes of rest for the starter: no primer this time.',
    initial: { kind: 'running', throttle_percent: 60 },
    actions: [
      { at_s: 30, action: throttle(0) },
      { at_s: 75, action: off('ignition') },
      { at_s: 210, action: on('ignition') },
      { at_s: 212, action: { kind: 'crank', most_s: 7.5 } },
      { at_s: 240, action: throttle(40) },
      ...shutDown(300),
    ],
    faults: [],
  },
  'flooded-start': {
    id: 'flooded-start',
    title: 'Flooded start',
    brief:
      'Somebody has primed it fourteen times. It does not fire; the person rests the starter two minutes, opens the throttle to clear it, and tries again.',
    initial: { kind: 'rest' },
    actions: [
      ...start(3, 14),
      { at_s: 150, action: throttle(35) },
      { at_s: 152, action: { kind: 'crank', most_s: 7.5 } },
      { at_s: 185, action: throttle(15) },
      ...shutDown(240),
    ],
    faults: [],
  },
  'run-in': {
    id: 'run-in',
    title: 'Running in',
    brief: 'A new engine: ten minutes of gentle steps with a return to low throttle after each, never above 60 %.',
    initial: { kind: 'rest' },
    actions: [...start(3, 1), ...steps(60, 50, [15, 25, 15, 35, 15, 45, 20, 50, 20, 60, 20]), ...shutDown(610)],
    faults: [],
  },
  'endurance-hour': {
    id: 'endurance-hour',
    title: 'Endurance hour',
    brief:
      'One hour by the pattern of an endurance test: five minutes at full throttle, five at 70 %, six times; the tank is filled half way. Run it fast.',
    initial: { kind: 'running', throttle_percent: 0 },
    actions: [
      ...steps(20, 300, [100, 70, 100, 70, 100, 70]),
      { at_s: 1750, action: { kind: 'refuel' } },
      ...steps(1820, 300, [100, 70, 100, 70, 100, 70]),
      ...shutDown(3620),
    ],
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
  'flat-battery': {
    id: 'flat-battery',
    title: 'Flat battery',
    brief: 'Cold engine at rest, battery nearly empty. You operate, or better not.',
    initial: { kind: 'rest' },
    actions: [{ at_s: 5, action: on('fan') }],
    faults: [{ at_s: 0, fault: 'battery-weak' }],
  },
  'plug-fouls': {
    id: 'plug-fouls',
    title: 'A plug fouls',
    brief: 'Steady at 70 %; from 30 s on the plug of one cylinder misses more and more. Find which.',
    initial: { kind: 'running', throttle_percent: 70 },
    actions: [],
    faults: [{ at_s: 30, fault: 'plug-fouled', options: { cylinder: 2, ramp_s: 40 } }],
  },
  'lean-cylinder': {
    id: 'lean-cylinder',
    title: 'One cylinder goes lean',
    brief: 'Full throttle; from 30 s on an inlet gasket leaks. One EGT climbs to its caution.',
    initial: { kind: 'running', throttle_percent: 100 },
    actions: [],
    faults: [{ at_s: 30, fault: 'intake-leak', options: { cylinder: 2, ramp_s: 30 } }],
  },
  'fuel-runs-out': {
    id: 'fuel-runs-out',
    title: 'Fuel stops at full throttle',
    brief: 'Full throttle; after 30 s nothing more leaves the tank. It leans out and stops.',
    initial: { kind: 'running', throttle_percent: 100 },
    actions: [],
    faults: [{ at_s: 30, fault: 'fuel-starvation' }],
  },
  'sun-on-pickup': {
    id: 'sun-on-pickup',
    title: 'Sun on the rpm pickup',
    brief: 'Steady at 70 %; from 20 s on the low sun blinds the pickup for seconds at a time. The engine is well.',
    initial: { kind: 'running', throttle_percent: 70 },
    actions: [],
    faults: [{ at_s: 20, fault: 'pickup-sunlight' }],
  },
  'servo-jams': {
    id: 'servo-jams',
    title: 'Throttle servo jams at full throttle',
    brief: 'Full throttle; after 20 s the servo jams, at 40 s the person closes the throttle and nothing follows.',
    initial: { kind: 'running', throttle_percent: 100 },
    actions: [{ at_s: 40, action: throttle(0) }],
    faults: [{ at_s: 20, fault: 'servo-jam' }],
  },
  'two-troubles': {
    id: 'two-troubles',
    title: 'Two troubles at once',
    brief: 'Steady at 85 %; after 30 s one CHT lead breaks, and soon after the fan fails. Which head is watched still?',
    initial: { kind: 'running', throttle_percent: 85 },
    actions: [],
    faults: [
      { at_s: 30, fault: 'cht-open', options: { cylinder: 1 } },
      { at_s: 45, fault: 'fan-off' },
    ],
  },
};

export function isScenarioId(text: string): text is ScenarioId {
  return (scenarioIds as readonly string[]).includes(text);
}
