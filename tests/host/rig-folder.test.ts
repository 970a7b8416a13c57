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
