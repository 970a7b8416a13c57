/**
 * The bench's channels as the rest of the program knows them, from the channel
 * table that the bench sent. Derived channels are appended by those who
 * compute them.
 */
import type { BenchTable, ChannelRow } from '../line/messages.ts';
import { benchUnitStep } from '../units/bench-unit.ts';
import { type Channel, type Quantity, quantities, type System } from './channel.ts';

interface Naming {
  readonly label: string;
  readonly system: System;
}

/** What a fitter calls the quantities of PROTOCOL.md, part 7. */
const namings: ReadonlyMap<string, Naming> = new Map<Quantity, Naming>([
  ['shaft-speed', { label: 'Rpm', system: 'shaft' }],
  ['thrust', { label: 'Thrust', system: 'shaft' }],
  ['torque', { label: 'Torque', system: 'shaft' }],
  ['head-temperature', { label: 'CHT', system: 'heads' }],
  ['exhaust-temperature', { label: 'EGT', system: 'exhausts' }],
  ['fuel-flow', { label: 'Fuel flow', system: 'fuel' }],
  ['fuel-total', { label: 'Fuel total', system: 'fuel' }],
  ['fuel-level', { label: 'Fuel level', system: 'fuel' }],
  ['fuel-temperature', { label: 'Fuel temperature', system: 'fuel' }],
  ['throttle-demand', { label: 'Throttle demand', system: 'throttle' }],
  ['servo-pulse', { label: 'Servo pulse', system: 'throttle' }],
  ['supply-voltage', { label: 'Supply voltage', system: 'electrical' }],
  ['starter-current', { label: 'Starter current', system: 'electrical' }],
  ['generator-voltage', { label: 'Generator voltage', system: 'electrical' }],
  ['generator-current', { label: 'Generator current', system: 'electrical' }],
  ['ambient-temperature', { label: 'Air temperature', system: 'air' }],
  ['ambient-pressure', { label: 'Air pressure', system: 'air' }],
  ['ambient-humidity', { label: 'Air humidity', system: 'air' }],
  ['inlet-temperature', { label: 'Inlet temperature', system: 'air' }],
]);

/**
 * The channels of a table, in its order; `ordinal` is the channel number.
 * Channels that share a quantity are numbered in that order ("CHT 1", "CHT 2").
 * A quantity that we do not know becomes `other` and keeps key and unit; so
 * does the unit of a known quantity that we cannot convert.
 */
export function channelsOfTable(table: BenchTable): Channel[] {
  const numberOf = new Map<string, number>();
  return table.channels.map((row, ordinal) => {
    const number = (numberOf.get(row.quantity) ?? 0) + 1;
    numberOf.set(row.quantity, number);
    const isOnly = table.channels.filter((other) => other.quantity === row.quantity).length === 1;
    return channelOfRow(row, ordinal, isOnly ? '' : ` ${number}`);
  });
}

function channelOfRow(row: ChannelRow, ordinal: number, numberSuffix: string): Channel {
  const naming = namings.get(row.quantity);
  const known = naming && (row.quantity as Quantity);
  const step = known && benchUnitStep(row.unit, quantities[known]);
  const quantity = known && step ? known : 'other';
  const factor = (step?.factor ?? 1) / 10 ** row.decimals;
  const offset = step?.offset ?? 0;
  return {
    ordinal,
    key: row.key,
    label: naming ? naming.label + numberSuffix : labelOfKey(row.key),
    quantity,
    unit: step ? quantities[quantity] : row.unit,
    decimals: step ? decimalsOfStep(factor) : row.decimals,
    system: naming?.system ?? 'other',
    low: row.low * factor + offset,
    high: row.high * factor + offset,
    origin: { kind: 'bench', group: row.group, column: row.column, factor, offset },
  };
}

/** Decimals with which no step of the raw value is lost: 0.01 needs 2, 0.0445 needs 2, 6 needs none. */
function decimalsOfStep(step: number): number {
  // A hair less, because log10 of 0.001 may come out a hair below −3.
  return Math.max(0, Math.ceil(-Math.log10(step) - 1e-9));
}

/** "oil_temp" reads "Oil temp". */
function labelOfKey(key: string): string {
  const words = key.replaceAll('_', ' ').trim();
  return words.charAt(0).toUpperCase() + words.slice(1);
}
