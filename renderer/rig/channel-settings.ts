/** The channel settings of a rig sheet as they are edited: one per channel of the bench, in order. Pure. */
import type { Channel } from '../../shared-core/channels/channel.ts';
import type { ChannelSetting, RigSheet } from '../../shared-core/rig/rig-sheet.ts';

/** One setting per bench channel: those of the sheet first and in its order. Settings of channels that this bench lacks stay at the end. */
export function settingsFor(channels: readonly Channel[], saved: readonly ChannelSetting[]): readonly ChannelSetting[] {
  const bench = channels.filter((each) => each.origin.kind === 'bench');
  const known = saved.filter((each) => bench.some((channel) => channel.key === each.channel));
  const fresh = bench
    .filter((channel) => !saved.some((each) => each.channel === channel.key))
    .map(
      (channel): ChannelSetting => ({
        channel: channel.key,
        label: '',
        place: '',
        system: null,
        low: null,
        high: null,
      }),
    );
  return [...known, ...fresh, ...saved.filter((each) => !known.includes(each))];
}

/** Up (−1) or down (1) by one; at the ends it stays. */
export function moved(settings: readonly ChannelSetting[], channel: string, by: -1 | 1): readonly ChannelSetting[] {
  const at = settings.findIndex((each) => each.channel === channel);
  const to = at + by;
  const [here, there] = [settings[at], settings[to]];
  if (here === undefined || there === undefined) return settings;
  return settings.map((each, i) => (i === at ? there : i === to ? here : each));
}

/** Label and place of two channels exchanged: what stands on the screen then is what the warm hand showed. */
export function swapped(settings: readonly ChannelSetting[], a: string, b: string): readonly ChannelSetting[] {
  const first = settings.find((each) => each.channel === a);
  const second = settings.find((each) => each.channel === b);
  if (first === undefined || second === undefined) return settings;
  const named = (to: ChannelSetting, from: ChannelSetting): ChannelSetting => ({
    ...to,
    label: from.label,
    place: from.place,
  });
  return settings.map((each) =>
    each === first ? named(first, second) : each === second ? named(second, first) : each,
  );
}

/** Places that an engine of so many cylinders has, for temperatures. */
export function placesOf(cylinders: number): readonly string[] {
  const numbers = Array.from({ length: cylinders }, (_, i) => i + 1);
  return [
    ...numbers.map((n) => `cylinder ${n}, head`),
    ...numbers.map((n) => `cylinder ${n}, exhaust`),
    'inlet',
    'crankcase',
    'propeller shaft',
    'fuel line',
    'tank',
  ];
}

/** What stands in the way: two channels at one place. */
export function placeFindings(settings: readonly ChannelSetting[]): readonly string[] {
  const findings: string[] = [];
  settings.forEach((each, i) => {
    if (each.place === '') return;
    const other = settings.slice(0, i).find((before) => before.place === each.place);
    if (other !== undefined) findings.push(`${other.channel} and ${each.channel} are both at “${each.place}”.`);
  });
  return findings;
}

/** Settings that say nothing and stand where the bench puts them need not be kept. */
export function sheetWithSettings(sheet: RigSheet, settings: readonly ChannelSetting[]): RigSheet {
  return { ...sheet, channels: settings };
}
