/** A new rig to fill in, an id for one, and the file of a sheet. Pure. */
import { lapwing120 } from '../../shared-core/rig/lapwing.ts';
import type { RigSheet } from '../../shared-core/rig/rig-sheet.ts';
import { copiedSheet } from '../../shared-core/rig/sheet-versions.ts';

/** "Heron 90, bench 2" → "heron-90-bench-2"; never one of `taken`. */
export function idFor(name: string, taken: readonly string[]): string {
  const stem =
    name
      .toLowerCase()
      .replaceAll(/[^a-z0-9]+/g, '-')
      .replaceAll(/^-+|-+$/g, '')
      .slice(0, 50) || 'rig';
  let id = stem;
  for (let n = 2; taken.includes(id); n++) id = `${stem}-${n}`;
  return id;
}

/** Nothing of the demo's engine in it; its rules, plans and checklists as a start. Fields that nobody filled in are no numbers. */
export function emptySheet(id: string, by: string, at_epochMs: number): RigSheet {
  const start = copiedSheet(lapwing120, { id, name: '' }, by, at_epochMs);
  const nothing = Number.NaN;
  return {
    ...start,
    engine: {
      name: '',
      strokes: 2,
      cylinders: nothing,
      displacement_cm3: nothing,
      idleSpeed_rpm: nothing,
      ratedSpeed_rpm: nothing,
    },
    stand: null,
    propeller: { name: '', diameter_m: nothing, pitch_m: nothing, blades: nothing },
    site: { name: '', elevation_m: nothing },
    fuel: { ...start.fuel, name: '' },
    history: [{ version: 1, at_epochMs, by, change: 'Begun anew; limits, plans and checklists from the demo rig.' }],
  };
}

export function fileNameOf(sheet: RigSheet): string {
  return `${idFor(sheet.name, [])}-v${sheet.version}.rig.json`;
}

export function fileTextOf(sheet: RigSheet): string {
  return `${JSON.stringify(sheet, null, 2)}\n`;
}
