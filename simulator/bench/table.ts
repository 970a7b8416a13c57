/**
 * The bench's channel table (PROTOCOL.md, parts 5 and 7): which channels, in
 * which group, how scaled. The readings themselves are taken in `sensors.ts`,
 * in the same order.
 */

import { crc16 } from '../../shared-core/line/crc16.ts';
import type { ChannelRow, GroupRow, InputRow } from '../../shared-core/line/messages.ts';

export const FAST_GROUP = 1;
export const SLOW_GROUP = 2;

export interface TableRows {
  /** 4 hex digits: the CRC over the fields of all rows. */
  readonly layout: string;
  readonly groups: readonly GroupRow[];
  readonly channels: readonly ChannelRow[];
  readonly inputs: readonly InputRow[];
}

type Column = readonly [key: string, quantity: string, unit: string, decimals: number, low: number, high: number];

const fast: readonly Column[] = [
  ['rpm', 'shaft-speed', '/min', 0, 0, 9000],
  ['thrust', 'thrust', 'N', 2, -5_000, 80_000],
  ['torque', 'torque', 'N.m', 3, -10_000, 60_000],
  ['throttle', 'throttle-demand', '%', 1, 0, 1000],
  ['servo_pulse', 'servo-pulse', 'us', 0, 0, 2500],
  ['starter_amp', 'starter-current', 'A', 1, -100, 2000],
];

const head = (n: number): Column => [`cht${n}`, 'head-temperature', 'Cel', 1, -400, 4000];
const exhaust = (n: number): Column => [`egt${n}`, 'exhaust-temperature', 'Cel', 1, -400, 10_000];

const slowAfterCylinders: readonly Column[] = [
  ['fuel_flow', 'fuel-flow', 'L/h', 3, -500, 30_000],
  ['fuel_total', 'fuel-total', 'mL', 2, 0, 100_000_000],
  ['fuel_level', 'fuel-level', 'L', 3, 0, 10_000],
  ['fuel_temp', 'fuel-temperature', 'Cel', 1, -400, 1000],
  ['supply_volt', 'supply-voltage', 'V', 2, 0, 3200],
  ['gen_volt', 'generator-voltage', 'V', 2, 0, 3200],
  ['gen_amp', 'generator-current', 'A', 2, -500, 5000],
  ['air_temp', 'ambient-temperature', 'Cel', 1, -400, 850],
  ['air_press', 'ambient-pressure', 'hPa', 2, 30_000, 110_000],
  ['air_humid', 'ambient-humidity', '%', 1, 0, 1000],
  ['inlet_temp', 'inlet-temperature', 'Cel', 1, -400, 1500],
];

/** The inputs in their order on the line. */
export const inputKeys = ['stop', 'cage', 'ignition', 'starter', 'servo', 'supply', 'fan', 'lease'] as const;

const inputRows: readonly InputRow[] = [
  { input: 0, key: 'stop', word0: 'open', word1: 'closed' },
  { input: 1, key: 'cage', word0: 'open', word1: 'closed' },
  { input: 2, key: 'ignition', word0: 'off', word1: 'on' },
  { input: 3, key: 'starter', word0: 'free', word1: 'engaged' },
  { input: 4, key: 'servo', word0: 'off', word1: 'on' },
  { input: 5, key: 'supply', word0: 'off', word1: 'on' },
  { input: 6, key: 'fan', word0: 'off', word1: 'on' },
  { input: 7, key: 'lease', word0: 'none', word1: 'held' },
];

export function tableOf(cylinders: number, fast_Hz: number, slow_Hz: number): TableRows {
  const numbers = Array.from({ length: cylinders }, (_, i) => i + 1);
  const slow: readonly Column[] = [...numbers.map(head), ...numbers.map(exhaust), ...slowAfterCylinders];
  const groups: readonly GroupRow[] = [
    { group: FAST_GROUP, rate_mHz: Math.round(1000 * fast_Hz), columns: fast.length },
    { group: SLOW_GROUP, rate_mHz: Math.round(1000 * slow_Hz), columns: slow.length },
  ];
  const channels: readonly ChannelRow[] = [...rowsOf(fast, FAST_GROUP, 0), ...rowsOf(slow, SLOW_GROUP, fast.length)];
  return { layout: layoutOf(groups, channels), groups, channels, inputs: inputRows };
}

function rowsOf(columns: readonly Column[], group: number, first: number): ChannelRow[] {
  return columns.map(([key, quantity, unit, decimals, low, high], column) => ({
    channel: first + column,
    group,
    column,
    key,
    quantity,
    unit,
    decimals,
    low,
    high,
  }));
}

function layoutOf(groups: readonly GroupRow[], channels: readonly ChannelRow[]): string {
  const text = [...groups, ...channels, ...inputRows].map((row) => Object.values(row).join(' ')).join('\n');
  const bytes = Uint8Array.from(text, (letter) => letter.charCodeAt(0));
  return crc16(bytes, 0, bytes.length).toString(16).toUpperCase().padStart(4, '0');
}
