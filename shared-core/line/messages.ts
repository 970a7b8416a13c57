/**
 * What the lines of PROTOCOL.md say, once decoded. Sample lines do not appear
 * here as objects: they go to the sink as integers, without allocation.
 */

/** The counts of PROTOCOL.md, part 12, in their order of precedence. */
export const faultKinds = [
  'garbage',
  'too-long',
  'no-crc',
  'bad-crc',
  'bad-form',
  'field-count',
  'before-table',
  'unknown-kind',
  'time-back',
] as const;
export type FaultKind = (typeof faultKinds)[number];

/** Counted since the decoder was made. `missing` comes from the running number. */
export interface LineCounts {
  /** Lines accepted: good CRC, good form, used. */
  accepted: number;
  missing: number;
  /** Bytes pushed in. */
  bytes: number;
  readonly faults: Record<FaultKind, number>;
}

export function noCounts(): LineCounts {
  const faults = Object.fromEntries(faultKinds.map((kind) => [kind, 0])) as Record<FaultKind, number>;
  return { accepted: 0, missing: 0, bytes: 0, faults };
}

export interface Identity {
  readonly version: string;
  readonly bench: string;
  readonly firmware: string;
  /** 4 hex digits. */
  readonly boot: string;
  /** 4 hex digits. */
  readonly layout: string;
  readonly groups: number;
  readonly channels: number;
  readonly inputs: number;
}

export interface GroupRow {
  readonly group: number;
  readonly rate_mHz: number;
  readonly columns: number;
}

export interface ChannelRow {
  readonly channel: number;
  readonly group: number;
  readonly column: number;
  readonly key: string;
  readonly quantity: string;
  /** UCUM code as sent. */
  readonly unit: string;
  readonly decimals: number;
  /** Scaled integers. */
  readonly low: number;
  readonly high: number;
}

export interface InputRow {
  readonly input: number;
  readonly key: string;
  readonly word0: string;
  readonly word1: string;
}

/** A complete channel table, rows in order of their numbers. */
export interface BenchTable {
  readonly identity: Identity;
  readonly groups: readonly GroupRow[];
  readonly channels: readonly ChannelRow[];
  readonly inputs: readonly InputRow[];
}

export type InputState = 0 | 1 | 'X';

/** Answer of the bench to one command. */
export type Answer =
  | { readonly kind: 'accepted'; readonly host: string; readonly id: string; readonly fields: readonly string[] }
  | {
      readonly kind: 'refused';
      readonly host: string;
      readonly id: string;
      readonly reason: string;
      readonly words: readonly string[];
    };

export type TextWeight = 'N' | 'W' | 'F';

/**
 * Where decoded lines go, in the order in which they came. Times are the
 * 32-bit bench microseconds of the line; unwrapping is the intake's work.
 */
export interface LineSink {
  /**
   * One `S` line. `raw[0 … columns−1]` holds scaled integers or state codes
   * (quality.ts); the array is reused: copy what must outlive the call.
   */
  samples(group: number, time_us32: number, raw: Int32Array, columns: number): void;
  /** Every `I` line; `isNewBoot` when boot or layout differ from the last known. */
  identity(identity: Identity, time_us32: number, isNewBoot: boolean): void;
  /** The channel table has become complete, or complete anew. */
  table(table: BenchTable): void;
  /** An `E` line that the table explains. */
  input(input: number, state: InputState, time_us32: number): void;
  answer(answer: Answer, time_us32: number): void;
  text(weight: TextWeight, text: string, time_us32: number): void;
  /** One more of a count; `excerpt` is at most the first 80 characters, unprintable ones as `.`. */
  fault(kind: FaultKind, excerpt: string): void;
  /** `count` lines are missing before the line that is about to follow. */
  missing(count: number): void;
  /** The bench speaks a major version that we do not: no values until it changes. */
  wrongVersion(version: string): void;
}

/** What a host may ask of a bench (PROTOCOL.md, part 8). */
export type BenchCommand =
  | { readonly name: 'IDENTIFY' | 'TARE-THRUST' | 'TARE-TORQUE' | 'RESET-FUEL' | 'ZERO-FUEL' }
  | { readonly name: 'THROTTLE'; readonly permille: number }
  | { readonly name: 'SERVO' | 'IGNITION' | 'STARTER' | 'SUPPLY' | 'FAN'; readonly on: boolean };

export type CommandName = BenchCommand['name'];

/** A host's line as the bench reads it. */
export type HostLine =
  | {
      readonly kind: 'command';
      readonly host: string;
      readonly id: string;
      readonly name: string;
      readonly args: readonly string[];
    }
  | { readonly kind: 'lease'; readonly host: string; readonly ms: number };
