/** What is left before the first start: every point opens and closes by its own fact, and by no other. */
import { describe, expect, test } from 'vitest';
import { type RigFacts, readyPoints } from '../../../renderer/rig/readiness.ts';
import type { Channel, Quantity } from '../../../shared-core/channels/channel.ts';
import { lapwing120 } from '../../../shared-core/rig/lapwing.ts';
import { fullSheet } from '../../rig/full-sheet.ts';

const channel = (key: string, quantity: Quantity, origin: 'bench' | 'derived' = 'bench'): Channel => ({
  ...{ ordinal: 0, key, label: key, quantity, unit: '', decimals: 0, system: 'heads', low: NaN, high: NaN },
  origin:
    origin === 'bench' ? { kind: 'bench', group: 1, column: 0, factor: 1, offset: 0 } : { kind: 'derived', from: [] },
});

/** A rig on which all is done, its only calibration included. */
const done: RigFacts = {
  sheet: { ...fullSheet, isDemo: false, site: { name: 'Shed', elevation_m: 520, latitude_deg: 48 } },
  inForce: fullSheet.version,
  channels: [
    channel('cht1', 'head-temperature'),
    channel('thrust', 'thrust'),
    channel('cht_max', 'head-temperature', 'derived'),
  ].filter((each) => each.key !== 'cht1'),
  bench: 'bench-2',
  isLinkOpen: true,
  loss_percent: 0,
  notGood: [],
  today: '2026-11-26',
};
const openOf = (facts: Partial<RigFacts>): string[] =>
  readyPoints({ ...done, ...facts })
    .filter((each) => !each.isDone)
    .map((each) => each.id);
const wordsOf = (id: string, facts: Partial<RigFacts>): string | undefined =>
  readyPoints({ ...done, ...facts }).find((each) => each.id === id)?.words;

/** The one calibrated channel, and a probe with a place but no calibration of its own. */
const withProbe = [channel('thrust', 'thrust'), channel('cht1', 'head-temperature')];

describe('given a rig on which all is done but probes', () => {
  test('then only the probes are open, and a derived highest head is none', () => {
    expect(openOf({})).toEqual(['places']);
    expect(wordsOf('places', {})).toBe('No thermocouples yet.');
  });

  test('when a probe has its place, then what is left is its calibration', () => {
    expect(openOf({ channels: withProbe })).toEqual(['calibrations']);
    expect(wordsOf('calibrations', { channels: withProbe })).toContain('1 of 2 are good');
  });

  test('when its place is empty, then it is named', () => {
    const sheet = { ...done.sheet, channels: done.sheet.channels!.map((each) => ({ ...each, place: '' })) };
    expect(wordsOf('places', { channels: withProbe, sheet })).toBe('Without a place: cht1.');
  });

  test.each<[string, Partial<RigFacts>]>([
    ['stand', { sheet: { ...done.sheet, stand: null } }],
    ['stand', { sheet: { ...done.sheet, site: { name: 'Shed', elevation_m: 520 } } }],
    ['link', { isLinkOpen: false }],
    ['link', { bench: null }],
    ['link', { loss_percent: 0.11 }],
    ['link', { loss_percent: NaN }],
    ['readings', { notGood: ['egt1'] }],
    ['limits', { sheet: { ...done.sheet, limitsFrom: '' } }],
    ['limits', { sheet: { ...done.sheet, limitsFrom: undefined } }],
    ['limits', { sheet: { ...done.sheet, rules: [] } }],
    ['checklists', { sheet: { ...done.sheet, checklists: done.sheet.checklists.slice(1) } }],
    ['in-force', { inForce: null }],
    ['in-force', { inForce: fullSheet.version - 1 }],
    ['calibrations', { today: '2027-11-26' }],
  ])('when %s is not as it should be (%o), then that alone opens besides', (id, facts) => {
    expect(openOf(facts).filter((each) => each !== 'places')).toEqual([id]);
  });

  test('when one line in a thousand is lost, then the link is still sound', () => {
    expect(openOf({ loss_percent: 0.1 })).toEqual(['places']);
  });
});

test('given the demo rig, then a sheet of one’s own and whose limits they are stay open', () => {
  expect(openOf({ sheet: lapwing120, inForce: lapwing120.version })).toEqual(
    expect.arrayContaining(['sheet', 'limits', 'calibrations']),
  );
});
