/**
 * What a rig sheet says of the bench's channels: label, group on screen, range
 * of the scale, and order. Ordinals stay those of the bench's table, and so do
 * the ranges by which readings are judged.
 */
import type { ChannelSetting } from '../rig/rig-sheet.ts';
import type { Channel } from './channel.ts';

type Settings = readonly ChannelSetting[] | undefined;

/** With the crew's labels and groups, in the order of the table. */
export function channelsOnRig(channels: readonly Channel[], settings: Settings): Channel[] {
  return channels.map((channel) => {
    const setting = settings?.find((each) => each.channel === channel.key);
    if (setting === undefined) return channel;
    return {
      ...channel,
      label: setting.label === '' ? channel.label : setting.label,
      system: setting.system ?? channel.system,
    };
  });
}

/** As pages draw them: scales as set, those that the sheet names first and in its order. */
export function channelsAsShown(channels: readonly Channel[], settings: Settings): readonly Channel[] {
  if (settings === undefined || settings.length === 0) return channels;
  const placeOf = new Map(settings.map((each, place) => [each.channel, place]));
  const placed = (channel: Channel): number => placeOf.get(channel.key) ?? settings.length + channel.ordinal;
  return channels
    .map((channel) => {
      const setting = settings[placeOf.get(channel.key) ?? -1];
      return { ...channel, low: setting?.low ?? channel.low, high: setting?.high ?? channel.high };
    })
    .sort((a, b) => placed(a) - placed(b));
}
