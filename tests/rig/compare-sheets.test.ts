import { describe, expect, test } from 'vitest';
import { compareSheets } from '../../shared-core/rig/compare-sheets.ts';
import { parseRigSheet } from '../../shared-core/rig/rig-schema.ts';
import type { RigSheet } from '../../shared-core/rig/rig-sheet.ts';
import { copiedSheet, nextVersion, withCalibrationRecord } from '../../shared-core/rig/sheet-versions.ts';
import { fullSheet, record } from './full-sheet.ts';

const sheet = fullSheet;
const first = sheet.rules.findIndex((each) => each.kind === 'threshold');
const rule = sheet.rules[first]!;

function withRule(change: object): RigSheet {
  return {
    ...sheet,
    rules: sheet.rules.map((each, i) => (i === first ? { ...each, ...change } : each)) as RigSheet['rules'],
  };
}

describe('given two versions of a sheet', () => {
  test('when nothing was changed, then there is no difference, whatever their version', () => {
    expect(compareSheets(sheet, structuredClone(sheet))).toEqual([]);
    expect(compareSheets(sheet, nextVersion(sheet, 'nothing', 'engineer 1', 5))).toEqual([]);
    const { channels: _, ...without } = sheet;
    expect(compareSheets(without, { ...without, channels: [], profile: sheet.profile })).toEqual([]);
  });

  test.each([
    {
      name: 'a limit',
      b: withRule({ trip: 12_345 }),
      is: { path: `rules[${rule.id}].trip`, kind: 'changed', after: '12345' },
      words: `Rule “${rule.title}”: trip from ${'trip' in rule ? rule.trip : ''} to 12345.`,
    },
    {
      name: 'the site',
      b: { ...sheet, site: { ...sheet.site, elevation_m: 700 } },
      is: { path: 'site.elevation_m', kind: 'changed', before: '640 m', after: '700 m' },
      words: 'Site: elevation from 640 m to 700 m.',
    },
    {
      name: 'a rule gone',
      b: { ...sheet, rules: sheet.rules.filter((_, i) => i !== first) },
      is: { path: `rules[${rule.id}]`, kind: 'removed', after: null },
      words: `Rule “${rule.title}”: removed.`,
    },
    {
      name: 'a calibration added',
      b: {
        ...sheet,
        calibrations: [...sheet.calibrations, { channel: 'torque', a0: 0, a1: 2, a2: 0, tare: 0, note: '' }],
      },
      is: { path: 'calibrations[torque]', kind: 'added', before: null },
      words: 'Calibration “torque”: added.',
    },
    {
      name: 'the order of channels',
      a: { ...sheet, channels: [...sheet.channels!, { ...sheet.channels![0]!, channel: 'cht2' }] },
      b: { ...sheet, channels: [{ ...sheet.channels![0]!, channel: 'cht2' }, ...sheet.channels!] },
      is: { path: 'channels', kind: 'moved', before: 'cht1, cht2', after: 'cht2, cht1' },
      words: 'channels: in another order.',
    },
    {
      name: 'the profile gone',
      b: { ...sheet, profile: null },
      is: { path: 'profile', kind: 'removed' },
      words: 'Line profile: removed.',
    },
    {
      name: 'a column of the profile',
      b: {
        ...sheet,
        profile: { ...sheet.profile!, columns: sheet.profile!.columns.map((each) => ({ ...each, scale: 2 })) },
      },
      is: { path: 'profile.columns[rpm].scale', kind: 'changed' },
      words: 'Line profile, Column “rpm”: scale from 1 to 2.',
    },
    {
      name: 'the name',
      b: { ...sheet, name: 'Stand 2' },
      is: { path: 'name', kind: 'changed' },
      words: `Name from “${sheet.name}” to “Stand 2”.`,
    },
    {
      name: 'one caution more',
      b: { ...sheet, cautions: [...sheet.cautions, 'Mind the step.'] },
      is: { path: 'cautions[Mind the step.]', kind: 'added' },
      words: 'Caution “Mind the step.”: added.',
    },
  ])('when $name differs, then it is said where and in words', ({ a, b, is, words }) => {
    const found = compareSheets((a ?? sheet) as RigSheet, b as RigSheet);
    expect(found).toHaveLength(1);
    expect(found[0]).toMatchObject(is);
    expect(found[0]!.words).toBe(words);
  });

  test('when read the other way, then what was added is removed', () => {
    const more = { ...sheet, rules: [...sheet.rules, { ...rule, id: 'another' as typeof rule.id }] };
    expect(compareSheets(sheet, more).map((each) => each.kind)).toEqual(['added']);
    expect(compareSheets(more, sheet).map((each) => each.kind)).toEqual(['removed']);
  });
});

describe('given a sheet to save', () => {
  test('when it is the next version, then the history says who, when and what, and it is valid', () => {
    const next = nextVersion(sheet, 'abort at 215', 'engineer 1', 1_764_200_000_000);
    expect(next.version).toBe(4);
    expect(next.history?.at(-1)).toEqual({
      version: 4,
      at_epochMs: 1_764_200_000_000,
      by: 'engineer 1',
      change: 'abort at 215',
    });
    expect(parseRigSheet(JSON.parse(JSON.stringify(next))).ok).toBe(true);
    expect(sheet.version).toBe(3);
  });

  test('when it has been changed 600 times, then it is still valid', () => {
    let next = sheet;
    for (let i = 0; i < 600; i++) next = nextVersion(next, 'again', 'engineer 1', i);
    expect(next.history).toHaveLength(500);
    expect(parseRigSheet(JSON.parse(JSON.stringify(next))).ok).toBe(true);
  });

  test('when it is copied, then the copy is another rig, no demo, and not calibrated', () => {
    const copy = copiedSheet(sheet, { id: 'stand-2', name: 'Stand 2' }, 'technician 1', 7);
    expect(copy).toMatchObject({
      id: 'stand-2',
      name: 'Stand 2',
      version: 1,
      isDemo: false,
      calibrations: [],
      calibrationRecords: [],
    });
    expect(copy.history).toHaveLength(1);
    expect(parseRigSheet(JSON.parse(JSON.stringify(copy))).ok).toBe(true);
  });

  test('when a calibration passed, then its terms replace the old ones; when it failed, the record is kept alone', () => {
    const terms = { channel: 'thrust', a0: 0, a1: 1.01, a2: 0, tare: 0, note: '' };
    const passed = withCalibrationRecord(sheet, { ...record, id: 'second', calibrations: [terms] });
    expect(passed.calibrations).toEqual([terms]);
    expect(passed.calibrationRecords?.map((each) => each.id)).toEqual([record.id, 'second']);
    const failed = withCalibrationRecord(sheet, { ...record, id: 'third', verdict: 'fail', calibrations: [terms] });
    expect(failed.calibrations).toEqual(sheet.calibrations);
    expect(failed.calibrationRecords?.at(-1)?.verdict).toBe('fail');
  });
});
