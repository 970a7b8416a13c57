import { describe, expect, test } from 'vitest';
import { channelsOfTable } from '../../shared-core/channels/channel-list.ts';
import { findChannel } from '../../shared-core/channels/usual-keys.ts';
import { smallTable } from '../pipeline-support.ts';

const named = channelsOfTable(smallTable());
const renamed = channelsOfTable(
  smallTable([
    ['front', 'head-temperature', 'Cel', 1],
    ['rear', 'head-temperature', 'Cel', 1],
    ['press', 'ambient-pressure', 'hPa', 2],
  ]),
);

describe('which channel a rig sheet means', () => {
  test.each([
    { key: 'cht2', found: 'cht2' },
    { key: 'air_press', found: 'air_press' },
    { key: 'cht3', found: undefined },
    { key: 'egt1', found: undefined },
  ])('given the usual names, then $key is $found', ({ key, found }) => {
    expect(findChannel(named, key)?.key).toBe(found);
  });
  test.each([
    { key: 'cht1', found: 'front' },
    { key: 'cht2', found: 'rear' },
    { key: 'cht3', found: undefined },
    { key: 'cht0', found: undefined },
    { key: 'air_press', found: 'press' },
    { key: 'rear', found: 'rear' },
    { key: 'nothing', found: undefined },
    { key: '', found: undefined },
  ])('given other names, then $key is $found', ({ key, found }) => {
    expect(findChannel(renamed, key)?.key).toBe(found);
  });
  test('given a bench whose first head is called cht2, then cht1 is not taken to be it', () => {
    const crosswise = channelsOfTable(smallTable([['cht2', 'head-temperature', 'Cel', 1]]));
    expect(findChannel(crosswise, 'cht1')).toBeUndefined();
  });
});
