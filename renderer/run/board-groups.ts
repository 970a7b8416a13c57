/** Which values stand large, and the rest by system in their order. Pure. */
import {
  type Channel,
  type ChannelKey,
  type Quantity,
  type System,
  systems,
} from '../../shared-core/channels/channel.ts';

const primaryQuantities: readonly Quantity[] = ['shaft-speed', 'thrust', 'brake-power'];

/** Keys of the three primary values, as far as the session has them. */
export function primaryKeys(channels: readonly Channel[]): readonly ChannelKey[] {
  return primaryQuantities.flatMap((q) => channels.find((c) => c.quantity === q)?.key ?? []);
}

export const systemTitles: Readonly<Record<System, string>> = {
  shaft: 'Shaft',
  heads: 'Heads',
  exhausts: 'Exhausts',
  fuel: 'Fuel',
  throttle: 'Throttle',
  electrical: 'Electrical',
  air: 'Air',
  other: 'Other',
};

/** Labels shortened to fit a half column; the full one stays in the tooltip. */
const shortLabels: Readonly<Record<string, string>> = {
  'Hottest head': 'CHT max.',
  'Hottest exhaust': 'EGT max.',
  'Fuel temperature': 'Fuel temp.',
  'Fuel rate, meter': 'Metered',
  'Fuel rate, totaliser': 'Totalled',
  'Meter against totaliser': 'Differ by',
  'Fuel density': 'Density',
  'Throttle demand': 'Throttle',
  'Servo pulse': 'Servo',
  'Supply voltage': 'Supply',
  'Starter current': 'Starter',
  'Generator voltage': 'Generator',
  'Generator current': 'Generator',
  'Air temperature': 'Air temp.',
  'Air humidity': 'Humidity',
  'Inlet temperature': 'Inlet temp.',
  'Propeller CT': 'Prop. CT',
  'Propeller CP': 'Prop. CP',
};

export function shortLabel(label: string): string {
  return shortLabels[label] ?? label;
}

export interface BoardGroup {
  readonly title: string;
  readonly channels: readonly Channel[];
  /** Stands above the inputs. */
  readonly isWatchedFirst: boolean;
}

const watchedFirst: readonly System[] = ['heads', 'exhausts', 'fuel', 'throttle'];

/** What the operator watches first: heat, then fuel, throttle, the rest. */
const boardOrder: readonly System[] = ['heads', 'exhausts', 'fuel', 'throttle', 'shaft', 'electrical', 'air', 'other'];

export function boardGroups(channels: readonly Channel[], without: readonly ChannelKey[]): readonly BoardGroup[] {
  return boardOrder
    .filter((system) => systems.includes(system))
    .map((system) => ({
      title: systemTitles[system],
      isWatchedFirst: watchedFirst.includes(system),
      channels: channels.filter((c) => c.system === system && !without.includes(c.key)),
    }))
    .filter((group) => group.channels.length > 0);
}
