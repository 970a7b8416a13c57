/** Which channels share a trend band: one quantity, one unit, one axis. Pure. */
import type { LimitMark } from '../../shared-core/bridge/contract.ts';
import type { Channel, ChannelKey, Quantity } from '../../shared-core/channels/channel.ts';

export interface TrendBand {
  /** The quantity, or quantity:unit for quantity `other`. */
  readonly id: string;
  readonly title: string;
  readonly unit: string;
  /** At most six: more could not be told apart. */
  readonly channels: readonly Channel[];
  readonly limits: readonly LimitMark[];
}

/** Titles and order of the bands that matter most; others follow in channel order. */
const titles: Partial<Record<Quantity, string>> = {
  'shaft-speed': 'Shaft speed',
  'head-temperature': 'CHT',
  'exhaust-temperature': 'EGT',
  thrust: 'Thrust',
  torque: 'Torque',
  'brake-power': 'Brake power',
  'fuel-flow': 'Fuel flow',
  'mass-flow': 'Fuel rate',
  bsfc: 'BSFC',
  'throttle-demand': 'Throttle',
  'fuel-level': 'Fuel level',
  'fuel-total': 'Fuel used',
  'supply-voltage': 'Supply',
  'starter-current': 'Starter',
};

export const DEFAULT_BANDS: readonly string[] = [
  'shaft-speed',
  'head-temperature',
  'exhaust-temperature',
  'thrust',
  'brake-power',
  'fuel-flow',
];

const MOST_IN_BAND = 6;

/** All bands that a layout offers, the important ones first. */
export function bandsOf(
  channels: readonly Channel[],
  limits: ReadonlyMap<ChannelKey, readonly LimitMark[]>,
): readonly TrendBand[] {
  const groups = new Map<string, Channel[]>();
  for (const channel of channels) {
    const id = channel.quantity === 'other' ? `other:${channel.unit}` : channel.quantity;
    const group = groups.get(id);
    if (!group) groups.set(id, [channel]);
    else group.push(channel);
  }
  const order = Object.keys(titles);
  const place = (id: string) => (order.includes(id) ? order.indexOf(id) : order.length);
  return [...groups]
    .map(([id, group]) => ({
      id,
      title: titles[id as Quantity] ?? (group.length === 1 ? group[0]!.label : sentence(id)),
      unit: group[0]!.unit,
      channels: measured(group),
      limits: distinct(group.flatMap((c) => limits.get(c.key) ?? [])),
    }))
    .sort((a, b) => place(a.id) - place(b.id));
}

/** Where a quantity is measured, what is derived from it (the hottest head) would only draw a line twice. */
function measured(group: readonly Channel[]): readonly Channel[] {
  const bench = group.filter((c) => c.origin.kind === 'bench');
  return (bench.length > 0 ? bench : group).slice(0, MOST_IN_BAND);
}

/** Rules over several heads repeat the same line: one of each is drawn. */
function distinct(limits: readonly LimitMark[]): readonly LimitMark[] {
  const seen = new Set<string>();
  return limits.filter((l) => {
    const key = `${l.level}:${l.direction}:${l.value}`;
    if (seen.has(key)) return false;
    seen.add(key);
    return true;
  });
}

function sentence(id: string): string {
  const words = id.replace(/^other:/, 'other, ').replaceAll('-', ' ');
  return words.charAt(0).toUpperCase() + words.slice(1);
}
