import { expect, test } from 'vitest';
import type { Channel } from '../../shared-core/channels/channel.ts';
import { channelsAsShown, channelsOnRig } from '../../shared-core/channels/channel-settings.ts';
import type { ChannelSetting } from '../../shared-core/rig/rig-sheet.ts';

const channel = (ordinal: number, key: string): Channel => ({
  ordinal,
  key,
  label: key.toUpperCase(),
  quantity: 'head-temperature',
  unit: '°C',
  decimals: 1,
  system: 'heads',
  low: -40,
  high: 400,
  origin: { kind: 'bench', group: 1, column: ordinal, factor: 0.1, offset: 0 },
});
const bench = [channel(0, 'cht1'), channel(1, 'cht2'), channel(2, 'egt1')];
const setting = (key: string, part: Partial<ChannelSetting>): ChannelSetting => ({
  channel: key,
  label: '',
  place: '',
  system: null,
  low: null,
  high: null,
  ...part,
});

test('given no settings, then the channels are those of the bench', () => {
  expect(channelsOnRig(bench, undefined)).toEqual(bench);
  expect(channelsAsShown(bench, [])).toBe(bench);
});

test('given labels and groups, then ordinals, order and judged range stay those of the bench', () => {
  const named = channelsOnRig(bench, [
    setting('cht2', { label: 'CHT left', system: 'other', low: 0, high: 250 }),
    setting('no-such', { label: 'Gone' }),
  ]);
  expect(named.map((each) => [each.ordinal, each.label, each.system, each.high])).toEqual([
    [0, 'CHT1', 'heads', 400],
    [1, 'CHT left', 'other', 400],
    [2, 'EGT1', 'heads', 400],
  ]);
});

test('given an order and a scale, then pages get both, with ordinals unchanged; channels not named come last', () => {
  const shown = channelsAsShown(bench, [setting('egt1', { high: 900 }), setting('cht2', { low: 0 })]);
  expect(shown.map((each) => [each.key, each.ordinal, each.low, each.high])).toEqual([
    ['egt1', 2, -40, 900],
    ['cht2', 1, 0, 400],
    ['cht1', 0, -40, 400],
  ]);
});
