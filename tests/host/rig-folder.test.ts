import { mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import { RIG_FILE } from '../../electron/host/rig-file.ts';
import { RigFolder, VERSIONS_FOLDER } from '../../electron/host/rig-folder.ts';
import { lapwing120 } from '../../shared-core/rig/lapwing.ts';

const NOW = 1_795_000_000_000;
let folder = '';
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'runstand-rigs-'));
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

describe('given an empty data folder', () => {
  test('when an edited sheet is saved, then it is the next version, read again at the next start, with its history', () => {
    const rigs = new RigFolder(folder);
    expect(rigs.current).toEqual(lapwing120);
    const saved = rigs.save({ ...rigs.current, name: 'Bench two' }, 'engineer 1', 'named after the bench', NOW);
    expect(saved).toMatchObject({ ok: true, value: { version: 2, name: 'Bench two' } });
    const again = new RigFolder(folder);
    expect(again.current).toMatchObject({ version: 2, name: 'Bench two' });
    expect(again.versions()).toMatchObject([
      { version: 2, by: 'engineer 1', change: 'named after the bench', at_epochMs: NOW, isCurrent: true },
      { version: 1, isCurrent: false },
    ]);
    expect(again.version(1)).toMatchObject({ ok: true, value: { name: 'Lapwing 120' } });
  });

  test('when two people edit the same version, then the second is told and nothing of it is taken', () => {
    const rigs = new RigFolder(folder);
    rigs.save({ ...lapwing120, name: 'first' }, 'engineer 1', 'first', NOW);
    const second = rigs.save({ ...lapwing120, name: 'second' }, 'engineer 2', 'second', NOW + 1000);
    expect(second).toMatchObject({ ok: false, error: { kind: 'conflict' } });
    expect(new RigFolder(folder).current.name).toBe('first');
  });

  test('when a sheet with an error is saved, then every finding has its place, and the folder is as before', () => {
    const rigs = new RigFolder(folder);
    const refused = rigs.save({ ...lapwing120, plans: [] }, 'engineer 1', 'no plans', NOW);
    expect(refused).toMatchObject({ ok: false, error: { kind: 'invalid' } });
    if (!refused.ok) expect(refused.error.sentence).toContain('no plan for');
    expect(readdirSync(folder)).toEqual([]);
  });
});

describe('given a sheet that could not be read', () => {
  test('when a good one is saved, then the bad one is set aside, named and kept', () => {
    writeFileSync(join(folder, RIG_FILE), 'not a sheet');
    const rigs = new RigFolder(folder);
    expect(rigs.trouble?.id).toBe('rig-sheet');
    expect(rigs.save({ ...rigs.current, name: 'mended' }, 'engineer 1', 'made anew', NOW).ok).toBe(true);
    expect(rigs.trouble).toBeNull();
    const kept = readdirSync(folder).filter((name) => name !== RIG_FILE && name !== VERSIONS_FOLDER);
    expect(kept.some((name) => readFileSync(join(folder, name), 'utf8') === 'not a sheet')).toBe(true);
  });
});

describe('given several rigs and ids in one folder', () => {
  const files = () => readdirSync(join(folder, VERSIONS_FOLDER)).sort();

  test('when another rig is saved and the first comes back, then each goes on from its own last version', () => {
    const rigs = new RigFolder(folder);
    rigs.save({ ...lapwing120, name: 'second version' }, 'engineer 1', 'named', NOW);
    const other = { ...lapwing120, id: 'stand-2', version: 7, name: 'Stand 2' };
    expect(rigs.save(other, 'engineer 1', 'imported', NOW)).toMatchObject({ ok: true, value: { version: 8 } });
    expect(rigs.versions().map((each) => each.version)).toEqual([8]);
    // From version 1, while 2 was saved here already: nothing is written over.
    expect(rigs.save(lapwing120, 'engineer 1', 'back again', NOW)).toMatchObject({ ok: true, value: { version: 3 } });
    expect(rigs.version(2)).toMatchObject({ ok: true, value: { name: 'second version' } });
  });

  test.each(['../../escape', 'a/b', '..', 'ü rig', 'C:\\rig'])(
    'when the id is "%s", then its files stay in the folder',
    (id) => {
      const rigs = new RigFolder(folder);
      expect(rigs.save({ ...lapwing120, id }, 'engineer 1', 'imported', NOW).ok).toBe(true);
      expect(readdirSync(folder).sort()).toEqual([RIG_FILE, VERSIONS_FOLDER].sort());
      // The demo sheet that was in force, and the new one.
      expect(files()).toHaveLength(2);
      for (const file of files()) expect(file).toMatch(/^[A-Za-z0-9_-]+-v\d{4}\.json$/);
      expect(rigs.version(2)).toMatchObject({ ok: true, value: { id } });
    },
  );

  test('when a sheet was changed by hand under the same version, then both are kept', () => {
    new RigFolder(folder).save({ ...lapwing120, name: 'saved' }, 'engineer 1', 'saved', NOW);
    const byHand = { ...JSON.parse(readFileSync(join(folder, RIG_FILE), 'utf8')), name: 'by hand' };
    writeFileSync(join(folder, RIG_FILE), JSON.stringify(byHand));
    const rigs = new RigFolder(folder);
    expect(rigs.save({ ...rigs.current, name: 'later' }, 'engineer 1', 'later', NOW).ok).toBe(true);
    const names = files().map((file) => JSON.parse(readFileSync(join(folder, VERSIONS_FOLDER, file), 'utf8')).name);
    expect(names.sort()).toEqual(['Lapwing 120', 'by hand', 'later', 'saved']);
  });

  test('when a version file is damaged, then it is listed with what is wrong, and the others can be read', () => {
    const rigs = new RigFolder(folder);
    rigs.save({ ...lapwing120, name: 'two' }, 'engineer 1', 'two', NOW);
    const first = files().find((file) => file.endsWith('-v0001.json'))!;
    writeFileSync(join(folder, VERSIONS_FOLDER, first), '{');
    expect(rigs.versions()).toMatchObject([
      { version: 2, trouble: '' },
      { version: 1, trouble: expect.stringContaining('not JSON') },
    ]);
    expect(rigs.version(1)).toMatchObject({ ok: false, error: { kind: 'invalid' } });
    expect(rigs.version(9)).toMatchObject({ ok: false, error: { kind: 'not-found' } });
  });

  test('when the folder cannot be written, then it says so and the sheet before stays in force', () => {
    writeFileSync(join(folder, VERSIONS_FOLDER), 'a file where the folder should be');
    const rigs = new RigFolder(folder);
    expect(rigs.save({ ...lapwing120, name: 'two' }, 'engineer 1', 'two', NOW)).toMatchObject({
      ok: false,
      error: { kind: 'disk' },
    });
    expect(rigs.current).toEqual(lapwing120);
    expect(rigs.versions()).toMatchObject([{ version: lapwing120.version, isCurrent: true }]);
    expect(readdirSync(folder)).toEqual([VERSIONS_FOLDER]);
  });
});
