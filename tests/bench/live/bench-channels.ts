/** The channels of the live benchmark: 16 lines in 8 bands of two, and the running number that is timed. */
import type { Channel, Quantity } from '../../../shared-core/channels/channel.ts';

export const LINES = 16;
export const POINTS = 1200;
export const BANDS = 8;
/** Whole numbers up to this are exact in single precision. */
export const MARKER_KEY = 'marker';

const bandQuantities: readonly (readonly [Quantity, string, string])[] = [
  ['shaft-speed', '/min', 'rpm'],
  ['head-temperature', 'Cel', '°C'],
  ['exhaust-temperature', 'Cel', '°C'],
  ['thrust', 'N', 'N'],
  ['torque', 'N.m', 'N·m'],
  ['fuel-flow', 'L/h', 'L/h'],
  ['supply-voltage', 'V', 'V'],
  ['starter-current', 'A', 'A'],
];

export interface BenchLine {
  readonly key: string;
  readonly quantity: Quantity;
  /** As the wire has it. */
  readonly unit: string;
}

export const benchLines: readonly BenchLine[] = Array.from({ length: LINES }, (_, i) => {
  const [quantity, unit] = bandQuantities[i >> 1]!;
  return { key: `line${i}`, quantity, unit };
});

/** Raw value of a line at sample n: a slow swing, a quick one, and noise; tenths of the unit. */
export function rawOf(line: number, n: number, noise: number): number {
  const swing = Math.sin(n / (37 + 11 * line)) * 400 + Math.sin(n / (5 + line)) * 60;
  return Math.round(2000 + 100 * line + swing + noise * 80);
}

/** A scale that the two lines of a band fill, as the workbench fits it: from `lowOf` on, `SPAN` units. */
export const SPAN = 150;
export function lowOf(band: number): number {
  return 130 + 20 * band;
}

/** Channels as a layout would have them, for pages without a host. */
export function channelsOfBench(): Channel[] {
  return benchLines.map(({ key, quantity }, ordinal) => ({
    ordinal,
    key,
    label: key,
    quantity,
    unit: bandQuantities[ordinal >> 1]![2],
    decimals: 1,
    system: 'other',
    low: 0,
    high: 1000,
    origin: { kind: 'bench', group: 1, column: ordinal, factor: 0.1, offset: 0 },
  }));
}
