import { describe, expect, test } from 'vitest';
import { DisplaySteps } from '../../shared-core/channels/display-steps.ts';
import { Stand, smallRig, smallTable } from '../pipeline-support.ts';

function standWithSteps() {
  const steps = new DisplaySteps('live');
  const stand = new Stand(smallRig([]), { onValues: (t_us, view) => steps.add(t_us, view) });
  const take = () => steps.take(stand.pipeline, 1234);
  const at = (key: string) => stand.pipeline.values.channels.findIndex((channel) => channel.key === key);
  return { steps, stand, take, at };
}

describe('given a step with several samples', () => {
  test('when it is taken, then minimum, maximum and last of each channel are those of its samples', () => {
    const { stand, take, at } = standWithSteps();
    stand.frame(1, 10_000, { rpm: 100 });
    stand.frame(1, 20_000, { rpm: 90 });
    stand.frame(1, 30_000, { rpm: 95 });
    const batch = take();
    const rpm = at('rpm');
    expect([batch.min[rpm], batch.max[rpm], batch.last[rpm]]).toEqual([90, 100, 95]);
    expect(batch).toMatchObject({
      stream: 'live',
      from_us: 10_000,
      to_us: 30_000,
      merged: 1,
      arrivedAt_epochMs: 1234,
      layoutVersion: stand.pipeline.layoutVersion,
    });
    expect(batch.updated_us[rpm]).toBe(30_000);
    expect(batch.updated_us[at('cht1')]).toBe(-1);
    expect(batch.min[at('cht1')]).toBeNaN();
  });
  test('when the next has no sample of a channel, then it has no minimum, and the last stays with its age', () => {
    const { stand, take, at } = standWithSteps();
    stand.frame(2, 100_000, { cht1: 150 });
    take();
    stand.frame(1, 110_000);
    const batch = take();
    const cht1 = at('cht1');
    expect([batch.min[cht1], batch.max[cht1], batch.last[cht1]]).toEqual([NaN, NaN, 150]);
    expect(batch.updated_us[cht1]).toBe(100_000);
  });
  test('when a sample is bad, then it takes no part, and the quality shows', () => {
    const { stand, take, at } = standWithSteps();
    stand.frame(1, 10_000, { rpm: 100 });
    stand.frame(1, 20_000, { rpm: 'open' });
    const batch = take();
    const rpm = at('rpm');
    expect([batch.min[rpm], batch.max[rpm], batch.last[rpm], batch.quality[rpm]]).toEqual([100, 100, NaN, 1]);
  });
  test('when a spike lasts one sample, then it is not lost', () => {
    const { stand, take, at } = standWithSteps();
    for (let i = 1; i <= 5; i++) stand.frame(1, i * 10_000, { rpm: i === 3 ? 9000 : 6000 });
    expect(take().max[at('rpm')]).toBe(9000);
  });
});

describe('given steps that nobody could take', () => {
  test('when one is taken, then it covers them and says how many', () => {
    const { steps, stand, take, at } = standWithSteps();
    stand.frame(1, 10_000, { rpm: 50 });
    steps.skip();
    stand.frame(1, 60_000, { rpm: 70 });
    steps.skip();
    stand.frame(1, 110_000, { rpm: 60 });
    const batch = take();
    expect(batch.merged).toBe(3);
    expect([batch.from_us, batch.to_us, batch.min[at('rpm')], batch.max[at('rpm')]]).toEqual([10_000, 110_000, 50, 70]);
    expect(take().merged).toBe(1);
  });
});

describe('given batches that were handed over', () => {
  test('when more is added, then they do not change', () => {
    const { stand, take, at } = standWithSteps();
    stand.frame(1, 10_000, { rpm: 50 });
    const batch = take();
    stand.frame(1, 20_000, { rpm: 70 });
    take();
    expect([batch.min[at('rpm')], batch.last[at('rpm')]]).toEqual([50, 50]);
  });
});

describe('given the channel list changes', () => {
  test('when taken afterwards, then nothing of the old channels is in it', () => {
    const { stand, take } = standWithSteps();
    stand.frame(1, 10_000, { rpm: 50 });
    const before = take();
    stand.event({ kind: 'table', table: smallTable([['cht1', 'head-temperature', 'Cel', 1]]) });
    const batch = take();
    expect(batch.layoutVersion).toBe(before.layoutVersion + 1);
    expect(batch.last.length).toBe(stand.pipeline.values.channels.length);
    expect(batch.min.every(Number.isNaN)).toBe(true);
  });
});

describe('given the link is silent', () => {
  test('when taken, then the values show as stale though no frame came', () => {
    const { stand, take, at } = standWithSteps();
    stand.runTo(1_000_000);
    take();
    for (let t_us = 1_100_000; t_us <= 4_000_000; t_us += 100_000) stand.tick(t_us);
    const batch = take();
    expect([batch.last[at('rpm')], batch.quality[at('rpm')]]).toEqual([NaN, 5]);
    expect(batch.to_us).toBe(4_000_000);
  });
});
