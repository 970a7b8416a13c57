/**
 * Rig sheets name channels by their usual keys (PROTOCOL.md, part 7), a bench
 * may call them as it likes: then quantity and order find them, `cht2` being
 * the second head temperature of the table.
 */
import type { Channel, ChannelKey, Quantity } from './channel.ts';

const usualKeys: ReadonlyMap<string, Quantity> = new Map<string, Quantity>([
  ['rpm', 'shaft-speed'],
  ['thrust', 'thrust'],
  ['torque', 'torque'],
  ['cht', 'head-temperature'],
  ['egt', 'exhaust-temperature'],
  ['fuel_flow', 'fuel-flow'],
  ['fuel_total', 'fuel-total'],
  ['fuel_level', 'fuel-level'],
  ['fuel_temp', 'fuel-temperature'],
  ['throttle', 'throttle-demand'],
  ['servo_pulse', 'servo-pulse'],
  ['supply_volt', 'supply-voltage'],
  ['starter_amp', 'starter-current'],
  ['gen_volt', 'generator-voltage'],
  ['gen_amp', 'generator-current'],
  ['air_temp', 'ambient-temperature'],
  ['air_press', 'ambient-pressure'],
  ['air_humid', 'ambient-humidity'],
  ['inlet_temp', 'inlet-temperature'],
]);

/** The channel that a rig sheet means by a key: the one so called, else the one of that usual place. */
export function findChannel(channels: readonly Channel[], key: ChannelKey): Channel | undefined {
  const named = channels.find((channel) => channel.key === key);
  if (named !== undefined) return named;
  const [, stem = '', number = ''] = /^(.*?)(\d*)$/.exec(key) ?? [];
  const quantity = usualKeys.get(stem);
  if (quantity === undefined) return undefined;
  const alike = channels.filter((channel) => channel.quantity === quantity && channel.origin.kind === 'bench');
  const place = number === '' ? 0 : Number(number) - 1;
  const found = alike[place];
  // A bench that gives its second head the name of the rig sheet's first must not be read crosswise.
  return found !== undefined && !usualKeys.has(found.key.replace(/\d+$/, '')) ? found : undefined;
}
