/**
 * The rig sheet in the data folder. Without one the demo sheet is used; one
 * that cannot be read is left as it is, named, and the demo sheet is used
 * with a trouble on every screen that says so.
 */
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Trouble } from '../../shared-core/bridge/contract.ts';
import { lapwing120 } from '../../shared-core/rig/lapwing.ts';
import { parseRigSheet } from '../../shared-core/rig/rig-schema.ts';
import type { RigSheet } from '../../shared-core/rig/rig-sheet.ts';

export const RIG_FILE = 'rig-sheet.json';

export function loadRig(folder: string): { rig: RigSheet; trouble: Trouble | null } {
  const path = join(folder, RIG_FILE);
  let text: string;
  try {
    text = readFileSync(path, 'utf8');
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === 'ENOENT') return { rig: lapwing120, trouble: null };
    return refused(path, `it cannot be read (${(error as Error).message})`);
  }
  let value: unknown;
  try {
    value = JSON.parse(text);
  } catch (error) {
    return refused(path, `it is not JSON (${(error as Error).message})`);
  }
  const sheet = parseRigSheet(value);
  if (sheet.ok) return { rig: sheet.value, trouble: null };
  const more = sheet.error.length > 3 ? ` and ${sheet.error.length - 3} more` : '';
  return refused(path, `${sheet.error.slice(0, 3).join('; ')}${more}`);
}

function refused(path: string, why: string): { rig: RigSheet; trouble: Trouble } {
  return {
    rig: lapwing120,
    trouble: {
      id: 'rig-sheet',
      sentence: `The rig sheet ${path} was refused: ${why}. It was left as it is; the limits in force are those of the demo rig, not of your engine.`,
      remedy: 'Do not start the engine. Mend the file, then start Runstand again.',
    },
  };
}
