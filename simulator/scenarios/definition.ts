/** What a scenario is, and the usual sequences of hands at the stand. */
import type { FaultId, FaultOptions } from '../faults.ts';
import type { Site } from '../physics/air.ts';

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

export const on = (kind: 'servo' | 'ignition' | 'supply' | 'fan'): StandAction => ({ kind, on: true });
export const off = (kind: 'servo' | 'ignition' | 'supply' | 'fan'): StandAction => ({ kind, on: false });
export const throttle = (percent: number): StandAction => ({ kind: 'throttle', percent });

/** From cold to a running engine, by hand: fan, supplies, two strokes of the primer, ignition, starter. */
export function start(from_s: number, primes: number): TimedAction[] {
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
export function shutDown(from_s: number): TimedAction[] {
  return [
    { at_s: from_s, action: throttle(0) },
    { at_s: from_s + 60, action: off('ignition') },
    { at_s: from_s + 120, action: off('servo') },
    { at_s: from_s + 121, action: off('supply') },
    { at_s: from_s + 150, action: off('fan') },
  ];
}

/** Throttle settings of so many seconds each, one after the other. */
export function steps(from_s: number, each_s: number, percents: readonly number[]): TimedAction[] {
  return percents.map((percent, i) => ({ at_s: from_s + i * each_s, action: throttle(percent) }));
}
