/**
 * Which derived channels a bench can feed, by the quantities in its table.
 * How they are computed is in `derived.ts`.
 */
import { type Channel, type Quantity, quantities, type System } from '../channels/channel.ts';

export const derivedKeys = [
  'brake_power',
  'bmep',
  'rpm_rate',
  'cht_max',
  'cht_spread',
  'cht_rate',
  'egt_max',
  'egt_spread',
  'fuel_density',
  'fuel_mass_meter',
  'fuel_mass_total',
  'fuel_disagree',
  'bsfc',
  'air_density',
  'prop_ct',
  'prop_cp',
] as const;
export type DerivedKey = (typeof derivedKeys)[number];

interface Recipe {
  readonly label: string;
  readonly quantity: Quantity;
  readonly decimals: number;
  readonly system: System;
  readonly low: number;
  readonly high: number;
  /** Each of these must be in the table; `heads` and `exhausts` at least so many. */
  readonly needs: readonly Quantity[];
  readonly least?: number;
}

const recipes: Readonly<Record<DerivedKey, Recipe>> = {
  brake_power: {
    label: 'Brake power',
    quantity: 'brake-power',
    decimals: 2,
    system: 'shaft',
    low: 0,
    high: NaN,
    needs: ['torque', 'shaft-speed'],
  },
  bmep: {
    label: 'BMEP',
    quantity: 'pressure',
    decimals: 2,
    system: 'shaft',
    low: 0,
    high: 12,
    needs: ['torque', 'shaft-speed'],
  },
  rpm_rate: {
    label: 'Rpm rate',
    quantity: 'speed-rate',
    decimals: 0,
    system: 'shaft',
    low: NaN,
    high: NaN,
    needs: ['shaft-speed'],
  },
  cht_max: {
    label: 'Hottest head',
    quantity: 'head-temperature',
    decimals: 1,
    system: 'heads',
    low: NaN,
    high: NaN,
    needs: ['head-temperature'],
  },
  cht_spread: {
    label: 'CHT spread',
    quantity: 'temperature-difference',
    decimals: 1,
    system: 'heads',
    low: 0,
    high: 100,
    needs: ['head-temperature'],
    least: 2,
  },
  cht_rate: {
    label: 'CHT rate',
    quantity: 'temperature-rate',
    decimals: 2,
    system: 'heads',
    low: -5,
    high: 5,
    needs: ['head-temperature'],
  },
  egt_max: {
    label: 'Hottest exhaust',
    quantity: 'exhaust-temperature',
    decimals: 1,
    system: 'exhausts',
    low: NaN,
    high: NaN,
    needs: ['exhaust-temperature'],
  },
  egt_spread: {
    label: 'EGT spread',
    quantity: 'temperature-difference',
    decimals: 1,
    system: 'exhausts',
    low: 0,
    high: 200,
    needs: ['exhaust-temperature'],
    least: 2,
  },
  fuel_density: {
    label: 'Fuel density',
    quantity: 'density',
    decimals: 1,
    system: 'fuel',
    low: 650,
    high: 850,
    needs: ['fuel-temperature'],
  },
  fuel_mass_meter: {
    label: 'Fuel rate, meter',
    quantity: 'mass-flow',
    decimals: 3,
    system: 'fuel',
    low: 0,
    high: NaN,
    needs: ['fuel-flow', 'fuel-temperature'],
  },
  fuel_mass_total: {
    label: 'Fuel rate, totaliser',
    quantity: 'mass-flow',
    decimals: 3,
    system: 'fuel',
    low: 0,
    high: NaN,
    needs: ['fuel-total', 'fuel-temperature'],
  },
  fuel_disagree: {
    label: 'Meter against totaliser',
    quantity: 'percent',
    decimals: 1,
    system: 'fuel',
    low: -100,
    high: 100,
    needs: ['fuel-flow', 'fuel-total', 'fuel-temperature'],
  },
  bsfc: {
    label: 'BSFC',
    quantity: 'bsfc',
    decimals: 0,
    system: 'fuel',
    low: 0,
    high: 1500,
    needs: ['fuel-flow', 'fuel-temperature', 'torque', 'shaft-speed'],
  },
  air_density: {
    label: 'Air density',
    quantity: 'density',
    decimals: 4,
    system: 'air',
    low: 0.8,
    high: 1.4,
    needs: ['ambient-temperature', 'ambient-pressure', 'ambient-humidity'],
  },
  prop_ct: {
    label: 'Propeller CT',
    quantity: 'ratio',
    decimals: 4,
    system: 'shaft',
    low: 0,
    high: 0.2,
    needs: ['thrust', 'shaft-speed', 'ambient-temperature', 'ambient-pressure', 'ambient-humidity'],
  },
  prop_cp: {
    label: 'Propeller CP',
    quantity: 'ratio',
    decimals: 4,
    system: 'shaft',
    low: 0,
    high: 0.15,
    needs: ['torque', 'shaft-speed', 'ambient-temperature', 'ambient-pressure', 'ambient-humidity'],
  },
};

/** Quantities of which all channels of the table count, not only the first. */
const plural: readonly Quantity[] = ['head-temperature', 'exhaust-temperature'];

/** Bench channels of a quantity that a derived value uses: all heads and exhausts, else the first. */
export function sourcesOf(bench: readonly Channel[], quantity: Quantity): readonly Channel[] {
  const alike = bench.filter((channel) => channel.quantity === quantity);
  return plural.includes(quantity) ? alike : alike.slice(0, 1);
}

/** The derived channels that these bench channels can feed, with ordinals behind theirs. */
export function derivedChannelsOf(bench: readonly Channel[]): Channel[] {
  const list: Channel[] = [];
  for (const key of derivedKeys) {
    const recipe = recipes[key];
    if (bench.some((channel) => channel.key === key)) continue;
    const groups = recipe.needs.map((quantity) => sourcesOf(bench, quantity));
    if (groups.some((sources) => sources.length < (recipe.least ?? 1))) continue;
    const sources = groups.flat();
    list.push({
      ordinal: bench.length + list.length,
      key,
      label: recipe.label,
      quantity: recipe.quantity,
      unit: quantities[recipe.quantity],
      decimals: recipe.decimals,
      system: recipe.system,
      low: Number.isNaN(recipe.low) && key.endsWith('_max') ? sources[0]!.low : recipe.low,
      high: Number.isNaN(recipe.high) && key.endsWith('_max') ? sources[0]!.high : recipe.high,
      origin: { kind: 'derived', from: sources.map((source) => source.key) },
    });
  }
  return list;
}
