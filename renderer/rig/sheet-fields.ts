/**
 * The fields of a rig sheet that are edited as plain text and numbers: engine,
 * propeller, stand, site, fuel, run detection. What is written stays text until
 * it is read as a sheet; findings are told at their field. Pure.
 */
import { parseRigSheet } from '../../shared-core/rig/rig-schema.ts';
import type { RigSheet } from '../../shared-core/rig/rig-sheet.ts';

export interface SheetField {
  /** As the schema's findings name it. */
  readonly path: string;
  readonly label: string;
  readonly unit: string;
  readonly kind: 'text' | 'number';
  /** Shown value = value × this: propellers are told in mm. */
  readonly shownTimes?: number;
  readonly isOptional?: boolean;
  readonly hint?: string;
}

export interface SheetPart {
  readonly title: string;
  readonly fields: readonly SheetField[];
}

const text = (path: string, label: string): SheetField => ({ path, label, unit: '', kind: 'text' });
const number = (path: string, label: string, unit: string, more: Partial<SheetField> = {}): SheetField => ({
  path,
  label,
  unit,
  kind: 'number',
  ...more,
});

export const sheetParts: readonly SheetPart[] = [
  { title: 'Rig', fields: [text('name', 'Name of the rig')] },
  {
    title: 'Engine',
    fields: [
      text('engine.name', 'Engine'),
      number('engine.strokes', 'Strokes', '', { hint: '2 or 4' }),
      number('engine.cylinders', 'Cylinders', ''),
      number('engine.displacement_cm3', 'Displacement', 'cm³'),
      number('engine.idleSpeed_rpm', 'Idle', 'rpm'),
      number('engine.ratedSpeed_rpm', 'Rated', 'rpm'),
    ],
  },
  {
    title: 'Propeller',
    fields: [
      text('propeller.name', 'Propeller'),
      number('propeller.diameter_m', 'Diameter', 'mm', { shownTimes: 1000 }),
      number('propeller.pitch_m', 'Pitch', 'mm', { shownTimes: 1000 }),
      number('propeller.blades', 'Blades', ''),
    ],
  },
  {
    title: 'Stand',
    fields: [
      text('stand.name', 'Stand'),
      number('stand.thrustSpan_N', 'Thrust, full load', 'N'),
      number('stand.torqueSpan_Nm', 'Torque, full load', 'N·m'),
      number('stand.torqueArm_m', 'Arm of the weights', 'm'),
    ],
  },
  {
    title: 'Site',
    fields: [
      text('site.name', 'Site'),
      number('site.elevation_m', 'Elevation', 'm'),
      number('site.latitude_deg', 'Latitude', '°', {
        isOptional: true,
        hint: 'South negative. For local gravity.',
      }),
    ],
  },
  {
    title: 'Fuel and oil mix',
    fields: [
      text('fuel.name', 'Fuel'),
      number('fuel.density15_kgPerm3', 'Petrol at 15 °C', 'kg/m³'),
      number('fuel.oilDensity15_kgPerm3', 'Oil at 15 °C', 'kg/m³'),
      number('fuel.mixRatio', 'Petrol to one part of oil', '', { hint: '50 for 50:1, 0 for no oil' }),
    ],
  },
  {
    title: 'Limits',
    fields: [
      {
        ...text('limitsFrom', 'Limits are from'),
        isOptional: true,
        hint: 'Manual, issue and page. Only once each limit was set or checked by it.',
      },
    ],
  },
  {
    title: 'How a run is found',
    fields: [
      number('runDetection.rest_rpm', 'At rest below', 'rpm'),
      number('runDetection.running_rpm', 'Runs by itself above', 'rpm'),
      number('runDetection.runningHold_s', 'Held for', 's'),
      number('runDetection.cool_degC', 'Cooled below', '°C'),
    ],
  },
];

export const sheetFields: readonly SheetField[] = sheetParts.flatMap((part) => part.fields);

export type SheetDraft = Readonly<Record<string, string>>;

/** A stand that the sheet does not have yet is left out whole while all its fields are empty. */
export function draftOf(sheet: RigSheet): SheetDraft {
  return Object.fromEntries(sheetFields.map((field) => [field.path, shownText(field, valueAt(sheet, field.path))]));
}

export interface DraftReading {
  /** Null where something is to be put right. */
  readonly sheet: RigSheet | null;
  readonly errors: ReadonlyMap<string, string>;
  /** Findings of other places. */
  readonly others: readonly string[];
}

export function readDraft(sheet: RigSheet, draft: SheetDraft): DraftReading {
  const errors = new Map<string, string>();
  const next = structuredCopy(sheet);
  const stand = sheetFields.filter((field) => field.path.startsWith('stand.'));
  const hasStand = stand.some((field) => (draft[field.path] ?? '').trim() !== '');
  if (!hasStand) next.stand = null;
  for (const field of sheetFields) {
    if (!hasStand && field.path.startsWith('stand.')) continue;
    const written = (draft[field.path] ?? '').trim();
    if (written === '' && field.isOptional) {
      setAt(next, field.path, undefined);
      continue;
    }
    if (written === '') errors.set(field.path, field.kind === 'text' ? 'A name is missing.' : 'A number is missing.');
    if (field.kind === 'text') setAt(next, field.path, written);
    else {
      const value = numberIn(written);
      if (written !== '' && Number.isNaN(value)) errors.set(field.path, `“${written}” is no number.`);
      // The same number stays the same to the last bit, though it is shown in another unit.
      setAt(
        next,
        field.path,
        written === shownText(field, valueAt(sheet, field.path))
          ? valueAt(sheet, field.path)
          : value / (field.shownTimes ?? 1),
      );
    }
  }
  const parsed = parseRigSheet(JSON.parse(JSON.stringify(next)));
  const others: string[] = [];
  if (!parsed.ok) {
    for (const finding of parsed.error) {
      const [place = '', ...words] = finding.split(': ');
      const field = sheetFields.find((each) => each.path === place);
      if (field === undefined) others.push(finding);
      else if (!errors.has(place)) errors.set(place, plainWords(field, words.join(': ')));
    }
  }
  return { sheet: parsed.ok && errors.size === 0 ? parsed.value : null, errors, others: errors.size > 0 ? [] : others };
}

/** A number as people write it, with point or comma; NaN if it is none. */
export function numberIn(written: string): number {
  const plain = written
    .trim()
    .replace(/^\u2212/, '-')
    .replace(',', '.');
  return plain !== '' && /^[-+]?(\d+\.?\d*|\.\d+)(e[-+]?\d+)?$/i.test(plain) ? Number(plain) : NaN;
}

function plainWords(field: SheetField, words: string): string {
  const bound = /(>=|<=|>|<)\s*(-?[\d.]+)/.exec(words);
  if (bound === null) return words;
  const limit = Number(bound[2]) * (field.shownTimes ?? 1);
  const than = { '>=': 'at least', '<=': 'at most', '>': 'more than', '<': 'less than' }[bound[1]!];
  return `Must be ${than} ${limit}${field.unit === '' ? '' : ` ${field.unit}`}.`;
}

function shownText(field: SheetField, value: unknown): string {
  if (value === undefined || value === null) return '';
  if (typeof value !== 'number') return String(value);
  return Number.isFinite(value) ? String(Number((value * (field.shownTimes ?? 1)).toPrecision(12))) : '';
}

function valueAt(from: unknown, path: string): unknown {
  let value = from;
  for (const part of path.split('.')) value = (value as Record<string, unknown> | null | undefined)?.[part];
  return value;
}

type Changeable = Record<string, unknown>;

function setAt(to: Changeable, path: string, value: unknown): void {
  const [head = '', leaf] = path.split('.');
  if (leaf === undefined) {
    to[head] = value;
    return;
  }
  const part = { ...((to[head] as Changeable | null | undefined) ?? {}) };
  if (value === undefined) delete part[leaf];
  else part[leaf] = value;
  to[head] = part;
}

function structuredCopy(sheet: RigSheet): Changeable {
  return { ...(sheet as unknown as Changeable) };
}
