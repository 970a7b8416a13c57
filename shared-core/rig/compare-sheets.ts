/**
 * What differs between two rig sheets, place by place and in words. Entries of
 * lists are matched by what names them (a rule by its id, a calibration by its
 * channel), so that one rule more does not make all after it look changed.
 *
 * Version and history are left out: they differ between any two versions.
 */
import type { RigSheet } from './rig-sheet.ts';

export interface SheetDifference {
  /** `rules[cht1-abort].trip` */
  readonly path: string;
  readonly kind: 'added' | 'removed' | 'changed' | 'moved';
  /** As shown, with unit; null where there was nothing. */
  readonly before: string | null;
  readonly after: string | null;
  /** "Rule “CHT 1 over limit”: trip from 220 to 215." */
  readonly words: string;
}

const LEFT_OUT = new Set(['version', 'history']);
/** Fields that name an entry of a list, the first that it has; then those that a person knows it by. */
const ID_FIELDS = ['id', 'channel', 'cause', 'stage', 'key'] as const;
const TITLE_FIELDS = [
  'title',
  'label',
  'name',
  'imperative',
  'text',
  'channel',
  'cause',
  'stage',
  'key',
  'id',
] as const;
/** What a list holds, for words. */
const entryNames: Readonly<Record<string, string>> = {
  rules: 'Rule',
  plans: 'Plan',
  steps: 'Step',
  checklists: 'Checklist',
  items: 'Item',
  calibrations: 'Calibration',
  calibrationRecords: 'Calibration record',
  channels: 'Channel',
  columns: 'Column',
  cautions: 'Caution',
};
const partNames: Readonly<Record<string, string>> = {
  engine: 'Engine',
  propeller: 'Propeller',
  site: 'Site',
  stand: 'Stand',
  fuel: 'Fuel',
  runDetection: 'Run detection',
  profile: 'Line profile',
};
const unitOfSuffix: Readonly<Record<string, string>> = {
  m: 'm',
  N: 'N',
  Nm: 'N·m',
  deg: '°',
  cm3: 'cm³',
  rpm: 'rpm',
  s: 's',
  ms: 'ms',
  us: 'µs',
  degC: '°C',
  kgPerm3: 'kg/m³',
  percent: '%',
  perS: 'per s',
  mHz: 'mHz',
};

/** Empty when the sheets say the same. */
export function compareSheets(a: RigSheet, b: RigSheet): readonly SheetDifference[] {
  const found: SheetDifference[] = [];
  compareValues(a, b, { path: '', names: [] }, found);
  return found;
}

interface Place {
  readonly path: string;
  /** Of the parts that a person knows: "Rule “CHT 1 high”". */
  readonly names: readonly string[];
  readonly field?: string;
}

function compareValues(a: unknown, b: unknown, place: Place, found: SheetDifference[]): void {
  if (Object.is(a, b)) return;
  if (Array.isArray(a) && Array.isArray(b)) {
    compareLists(a, b, place, found);
  } else if (isObject(a) && isObject(b)) {
    for (const field of new Set([...Object.keys(a), ...Object.keys(b)])) {
      if (place.path === '' && LEFT_OUT.has(field)) continue;
      compareValues(a[field], b[field], placeOfField(place, field), found);
    }
  } else if (isNothing(a) && isNothing(b)) {
    // A part that is empty and one that is not there say the same.
  } else {
    found.push(difference(isNothing(a) ? 'added' : isNothing(b) ? 'removed' : 'changed', a, b, place));
  }
}

function compareLists(a: readonly unknown[], b: readonly unknown[], place: Place, found: SheetDifference[]): void {
  const idField = ID_FIELDS.find((field) =>
    [...a, ...b].every((each) => isObject(each) && typeof each[field] === 'string'),
  );
  const idsOf = (list: readonly unknown[]): string[] =>
    idField === undefined
      ? list.map((each, i) => (isObject(each) || Array.isArray(each) ? String(i) : String(each)))
      : list.map((each) => String((each as Record<string, unknown>)[idField]));
  const [before, after] = [idsOf(a), idsOf(b)];
  if (new Set(before).size !== before.length || new Set(after).size !== after.length) {
    // Names that are used twice name nothing: by place, then.
    const length = Math.max(a.length, b.length);
    for (let i = 0; i < length; i++) compareValues(a[i], b[i], placeOfEntry(place, String(i), a[i] ?? b[i]), found);
    return;
  }
  before.forEach((id, i) => {
    const k = after.indexOf(id);
    const at = placeOfEntry(place, id, a[i]);
    if (k < 0) found.push(difference('removed', a[i], undefined, at));
    else compareValues(a[i], b[k], at, found);
  });
  after.forEach((id, k) => {
    if (!before.includes(id)) found.push(difference('added', undefined, b[k], placeOfEntry(place, id, b[k])));
  });
  const kept = after.filter((id) => before.includes(id));
  const moved = before.filter((id) => after.includes(id)).some((id, i) => id !== kept[i]);
  if (moved) {
    const at = { ...place, names: [...place.names, fieldWords(place.field ?? '').words] };
    found.push({
      path: place.path,
      kind: 'moved',
      before: before.join(', '),
      after: after.join(', '),
      words: `${at.names.join(', ')}: in another order.`,
    });
  }
}

function placeOfField(place: Place, field: string): Place {
  const path = place.path === '' ? field : `${place.path}.${field}`;
  const part = place.path === '' ? partNames[field] : undefined;
  return { path, names: part === undefined ? place.names : [...place.names, part], field };
}

function placeOfEntry(place: Place, id: string, entry: unknown): Place {
  const list = place.field ?? '';
  const name = `${entryNames[list] ?? fieldWords(list).words} “${titleOf(entry, id)}”`;
  return { path: `${place.path}[${id}]`, names: [...place.names, name] };
}

function titleOf(entry: unknown, id: string): string {
  if (!isObject(entry)) return typeof entry === 'string' ? shortened(entry) : id;
  const field = TITLE_FIELDS.find((each) => typeof entry[each] === 'string' && entry[each] !== '');
  return field === undefined ? id : shortened(String(entry[field]));
}

function difference(kind: SheetDifference['kind'], a: unknown, b: unknown, place: Place): SheetDifference {
  const { words: field, unit } = fieldWords(place.field ?? '');
  const before = isNothing(a) ? null : shown(a, unit);
  const after = isNothing(b) ? null : shown(b, unit);
  const where = place.names.join(', ');
  const isEntry = place.field === undefined || partNames[place.field] === where;
  const subject = isEntry ? '' : where === '' ? `${field.charAt(0).toUpperCase()}${field.slice(1)} ` : `${field} `;
  const said = isEntry
    ? kind === 'changed'
      ? `from ${before} to ${after}`
      : kind
    : kind === 'added'
      ? `${subject}added, ${after}`
      : kind === 'removed'
        ? `${subject}removed, was ${before}`
        : `${subject}from ${before} to ${after}`;
  return { path: place.path, kind, before, after, words: where === '' ? `${said}.` : `${where}: ${said}.` };
}

/** "elevation_m" is elevation in m; "idleSpeed_rpm" is idle speed in rpm. */
function fieldWords(field: string): { readonly words: string; readonly unit: string } {
  const [, stem = field, suffix = ''] = /^(.*?)(?:_([A-Za-z0-9]+))?$/.exec(field) ?? [];
  const unit = unitOfSuffix[suffix] ?? '';
  const plain = unit === '' ? field : stem;
  return {
    words: plain
      .replaceAll(/([a-z])([A-Z])/g, '$1 $2')
      .replaceAll('_', ' ')
      .toLowerCase(),
    unit,
  };
}

function shown(value: unknown, unit: string): string {
  if (typeof value === 'number') return unit === '' ? String(value) : `${value} ${unit}`;
  if (typeof value === 'string') return `“${shortened(value)}”`;
  if (typeof value === 'boolean') return value ? 'yes' : 'no';
  if (Array.isArray(value)) return value.length === 0 ? 'none' : `${value.length} entries`;
  return isObject(value) ? `“${titleOf(value, 'set')}”` : 'none';
}

function shortened(text: string): string {
  return text.length > 60 ? `${text.slice(0, 59)}…` : text;
}

function isObject(value: unknown): value is Record<string, unknown> {
  return typeof value === 'object' && value !== null && !Array.isArray(value);
}

function isNothing(value: unknown): boolean {
  return value === undefined || value === null || (Array.isArray(value) && value.length === 0);
}
