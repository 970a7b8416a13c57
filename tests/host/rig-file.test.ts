import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import { loadRig, RIG_FILE } from '../../electron/host/rig-file.ts';
import { lapwing120 } from '../../shared-core/rig/lapwing.ts';

let folder = '';
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'runstand-rig-'));
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

describe('given a data folder', () => {
  test('when it has no rig sheet, then the demo sheet is used without a trouble', () => {
    expect(loadRig(folder)).toEqual({ rig: lapwing120, trouble: null });
  });

  test('when it has a good one, then that one is used', () => {
    writeFileSync(join(folder, RIG_FILE), JSON.stringify({ ...lapwing120, name: 'Bench two', isDemo: false }));
    expect(loadRig(folder)).toMatchObject({ rig: { name: 'Bench two' }, trouble: null });
  });

  test.each([
    { name: 'cut off', text: JSON.stringify(lapwing120).slice(0, 500), says: 'it is not JSON' },
    { name: 'empty', text: '', says: 'it is not JSON' },
    {
      name: 'with a limit that is no number',
      text: JSON.stringify({ ...lapwing120, rules: [{ ...lapwing120.rules[0], trip: 'hot' }] }),
      says: 'rules[0].trip',
    },
  ])('when it is $name, then the trouble says where, the file stays and nobody is told to start', ({ text, says }) => {
    writeFileSync(join(folder, RIG_FILE), text);
    const { rig, trouble } = loadRig(folder);
    expect(rig).toBe(lapwing120);
    expect(trouble?.sentence).toContain(says);
    expect(trouble?.sentence).toContain('left as it is');
    expect(trouble?.remedy).toContain('Do not start the engine');
    expect(readFileSync(join(folder, RIG_FILE), 'utf8')).toBe(text);
  });
});
