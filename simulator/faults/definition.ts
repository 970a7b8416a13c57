/**
 * What a fault is, as data: what it breaks, how it comes on, and what betrays
 * it. Which faults there are is in the files beside this one, by subject;
 * what each does to plant, bench or line is in `../fault-effects.ts`.
 */
import type { FaultKind } from '../../shared-core/line/messages.ts';
import type { ScenarioId, TimedAction } from '../scenarios/definition.ts';

/** Values by parameter key; those left out keep their default. */
export type FaultOptions = Readonly<Record<string, number>>;

export interface FaultParameter {
  readonly key: string;
  readonly label: string;
  readonly unit: string;
  readonly usual: number;
  readonly low: number;
  readonly high: number;
}

/**
 * One sign on the host's channels, measured or derived, by key. "Before" is
 * the mean of the 5 s before the fault was injected, "now" the mean of the
 * last 3 s.
 */
export type TraceSign =
  /** Now less before is at least `by` (at most, where negative), core unit. */
  | { readonly kind: 'moves'; readonly channel: string; readonly by: number }
  /** Now and before differ by at most `within`. */
  | { readonly kind: 'stays'; readonly channel: string; readonly within: number }
  /** A sample beyond this has come since the fault. */
  | { readonly kind: 'passes'; readonly channel: string; readonly above?: number; readonly below?: number }
  /** Standard deviation of the last 3 s over that of the 5 s before. */
  | { readonly kind: 'noisier'; readonly channel: string; readonly times: number }
  /** No reading, with this state of the wire, has come since the fault. */
  | { readonly kind: 'state'; readonly channel: string; readonly letter: 'O' | 'S' | 'V' | 'U' | 'X' }
  | { readonly kind: 'input'; readonly input: string; readonly state: 0 | 1 }
  /** The level falls by so much more than the totaliser counts, mL. */
  | { readonly kind: 'unmetered'; readonly atLeast_mL: number }
  /** Rise of a line count since the fault. */
  | { readonly kind: 'count'; readonly of: FaultKind | 'missing'; readonly atLeast: number }
  /** Nothing heard for so long. */
  | { readonly kind: 'silence'; readonly atLeast_s: number }
  /** Samples come so much later than they were taken, over the least before. */
  | { readonly kind: 'lag'; readonly atLeast_ms: number }
  /** Another boot field. */
  | { readonly kind: 'reboot' };

/** Where and how a fault shows, in figures that a test holds it to. */
export interface FaultExpectation {
  /** A scenario in which it shows; the fault comes on after 10 s of it. */
  readonly scenario: ScenarioId;
  /** What the person at the stand does after the fault, seconds from it. */
  readonly acts?: readonly TimedAction[];
  /** All of it has shown by then, ramp included. */
  readonly within_s: number;
  /** Rules of the demo rig sheet that must trip. */
  readonly rules: readonly string[];
  /** Rules that may trip besides: what follows from it in time. */
  readonly mayTrip?: readonly string[];
  readonly signs: readonly TraceSign[];
}

export interface FaultData {
  readonly title: string;
  /** What it does to the stand. */
  readonly effect: string;
  /** What betrays it on the channels, in words. */
  readonly trace: string;
  /** Graded: comes on by and by, and can be mild. The others are there or not. */
  readonly isGraded: boolean;
  /** Usual time from nothing to full, s. */
  readonly ramp_s: number;
  /** Extent at full severity. */
  readonly parameters: readonly FaultParameter[];
  readonly expects: FaultExpectation;
}

/** Keeps the ids as a type. */
export function defineFaults<Id extends string>(
  data: Readonly<Record<Id, FaultData>>,
): Readonly<Record<Id, FaultData>> {
  return data;
}

/** Which cylinder; beyond the engine's last it is the last. */
export function cylinder(usual: number): FaultParameter {
  return { key: 'cylinder', label: 'cylinder', unit: '1', usual, low: 1, high: 12 };
}

export function parameter(
  key: string,
  label: string,
  unit: string,
  usual: number,
  low: number,
  high: number,
): FaultParameter {
  return { key, label, unit, usual, low, high };
}
