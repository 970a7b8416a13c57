/** A thousand damaged sheets: each is refused with a place and a reason, or is a whole, valid sheet. */
import { describe, expect, test } from 'vitest';
import { Pipeline } from '../../shared-core/pipeline.ts';
import { importRigSheet, parseRigSheet } from '../../shared-core/rig/rig-schema.ts';
import { randomFrom } from '../line/line-support.ts';
import { fullSheet } from './full-sheet.ts';

const SEED = 20261125;
const SHEETS = 1000;
const text = JSON.stringify(fullSheet, null, 1);

/** Values that a careless hand or a broken program leaves behind. */
const strange: readonly unknown[] = [
  null,
  true,
  '',
  ' ',
  'NaN',
  0,
  -1,
  1e308,
  -1e308,
  0.5,
  2 ** 53,
  [],
  {},
  [[]],
  [null],
  { __proto__: null, a: 1 },
  'x'.repeat(5000),
  '\u0000',
  '__proto__',
  'constructor',
  { kind: 'threshold' },
  { kind: 'no such' },
  '2026-13-40',
];

type Random = () => number;
const pick = <T>(random: Random, from: readonly T[]): T => from[Math.floor(random() * from.length)]!;

interface Spot {
  readonly parent: Record<string, unknown> | unknown[];
  readonly key: string | number;
}

function spotsOf(value: unknown, spots: Spot[] = []): Spot[] {
  if (typeof value !== 'object' || value === null) return spots;
  for (const key of Array.isArray(value) ? value.keys() : Object.keys(value)) {
    spots.push({ parent: value as Record<string, unknown>, key });
    spotsOf((value as Record<string | number, unknown>)[key], spots);
  }
  return spots;
}

function mutatedTree(random: Random): string {
  const copy = structuredClone(fullSheet) as unknown;
  const times = 1 + Math.floor(random() * 3);
  for (let i = 0; i < times; i++) {
    const spots = spotsOf(copy);
    const { parent, key } = pick(random, spots);
    const place = parent as Record<string | number, unknown>;
    const other = pick(random, spots);
    switch (Math.floor(random() * 7)) {
      case 0:
        if (Array.isArray(parent)) parent.splice(Number(key), 1);
        else delete place[key];
        break;
      case 1:
        place[key] = pick(random, strange);
        break;
      case 2:
        if (Array.isArray(parent)) parent.push(structuredClone(parent[Number(key)]));
        else place[`${key}x`] = place[key];
        break;
      case 3:
        place[key] = structuredClone((other.parent as Record<string | number, unknown>)[other.key]);
        break;
      case 4:
        if (typeof place[key] === 'number')
          place[key] = (place[key] as number) * pick(random, [-1, 0, 1e3, 1e-3, 1.0001]);
        else if (typeof place[key] === 'string')
          place[key] = `${place[key]}${pick(random, ['', '!', ' ', '9', '\n', 'é'])}`;
        break;
      case 5:
        if (typeof place[key] === 'boolean') place[key] = !place[key];
        else if (Array.isArray(place[key])) (place[key] as unknown[]).reverse();
        break;
      default:
        place[key] = String(place[key]);
    }
  }
  return JSON.stringify(copy);
}

function mutatedText(random: Random): string {
  const at = Math.floor(random() * text.length);
  const length = 1 + Math.floor(random() * 20);
  switch (Math.floor(random() * 5)) {
    case 0:
      return text.slice(0, at);
    case 1:
      return text.slice(0, at) + text.slice(at + length);
    case 2:
      return (
        text.slice(0, at) +
        pick(random, ['}', '{', '"', ',', ']', '\u0000', '//', "'", 'é', '__proto__', '1e999']) +
        text.slice(at)
      );
    case 3:
      return text.slice(0, at) + text.slice(at, at + length).repeat(2) + text.slice(at + length);
    default:
      return text.replace(/"[a-z_A-Z0-9]+": /, (name) => (random() < 0.5 ? `${name}${name}` : '"__proto__": '));
  }
}

describe(`given ${SHEETS} sheets mutated from seed ${SEED}`, () => {
  const random = randomFrom(SEED);
  const outcomes = { taken: 0, refused: 0 };
  const sheets = Array.from({ length: SHEETS }, (_, i) => (i % 3 === 2 ? mutatedText(random) : mutatedTree(random)));

  test('then each is refused with place and reason, or a valid sheet that a pipeline runs on', () => {
    for (const [i, sheet] of sheets.entries()) {
      const read = importRigSheet(sheet);
      if (read.ok) {
        outcomes.taken++;
        // Whole: what came out says what was written, and goes in again.
        expect(parseRigSheet(JSON.parse(JSON.stringify(read.value))), `sheet ${i}`).toEqual(read);
        expect(JSON.parse(JSON.stringify(read.value)), `sheet ${i}`).toEqual(JSON.parse(sheet));
        new Pipeline(read.value, { onValues: () => {}, onOutput: () => {} });
      } else {
        outcomes.refused++;
        expect(Object.keys(read), `sheet ${i}`).toEqual(['ok', 'error']);
        expect(read.error.length, `sheet ${i}`).toBeGreaterThan(0);
        for (const finding of read.error)
          expect(finding, `sheet ${i}`).toMatch(/^(the sheet|the file|[a-zA-Z_][\w.[\]]*)[^:]*: ./);
      }
    }
    console.log(`import fuzz: seed ${SEED}, ${outcomes.taken} taken whole, ${outcomes.refused} refused`);
    expect(outcomes.taken + outcomes.refused).toBe(SHEETS);
    // Both sorts must be among them, or the mutations test nothing.
    expect(outcomes.taken).toBeGreaterThan(20);
    expect(outcomes.refused).toBeGreaterThan(500);
  });

  test('then a refusal leaves what was given as it was', () => {
    const value = JSON.parse(text) as { engine: { strokes: number } };
    value.engine.strokes = 3;
    const before = JSON.stringify(value);
    expect(parseRigSheet(value).ok).toBe(false);
    expect(JSON.stringify(value)).toBe(before);
  });
});

describe('given files that are no sheets', () => {
  test.each([
    { name: 'nothing', file: '', says: /^the file is not JSON: / },
    { name: 'a missing comma', file: text.replace(',', ''), says: /^the file is not JSON: .*line 3 column/ },
    { name: 'half a file', file: text.slice(0, 2000), says: /^the file is not JSON: / },
    { name: 'a list', file: '[]', says: /^the sheet: / },
    { name: 'a prototype', file: text.replace('"id"', '"__proto__"'), says: /__proto__|id: / },
    { name: 'nesting without end', file: `${'['.repeat(200_000)}${']'.repeat(200_000)}`, says: /^the (sheet|file)/ },
    { name: 'nine million characters', file: ' '.repeat(9_000_000), says: /^the file: 9000000 characters/ },
  ])('when it is $name, then it says so', ({ file, says }) => {
    const read = importRigSheet(file);
    expect(read.ok).toBe(false);
    if (!read.ok) expect(read.error.join('\n')).toMatch(says);
  });
  test('when a byte order mark stands before it, then it is taken', () => {
    expect(importRigSheet(`\uFEFF${text}`)).toEqual({ ok: true, value: fullSheet });
  });
});

describe('given parts that contradict each other, then it says where', () => {
  test.each([
    {
      change: { calibrations: [...fullSheet.calibrations, ...fullSheet.calibrations] },
      says: 'calibrations[1].channel: "thrust" is used twice',
    },
    {
      change: { calibrations: [{ channel: 'rpm', a0: 0, a1: 0, a2: 0, tare: 0, note: '' }] },
      says: 'calibrations[0].a1: with a1 and a2 both 0',
    },
    {
      change: { channels: [{ ...fullSheet.channels![0]!, low: 250 }] },
      says: 'channels[0].low: must be below high (250)',
    },
    {
      change: { calibrationRecords: [fullSheet.calibrationRecords![0], fullSheet.calibrationRecords![0]] },
      says: 'calibrationRecords[1].id: "thrust-2026-11-25" is used twice',
    },
    { change: { version: 2 }, says: 'history[1].version: is above that of the sheet (2)' },
    {
      change: { history: [...fullSheet.history!].reverse() },
      says: 'history[1].version: must be above the one before',
    },
    { change: { profile: { ...fullSheet.profile!, decimal: ';' } }, says: 'profile.decimal' },
    {
      change: { profile: { ...fullSheet.profile!, layout: { kind: 'delimited', delimiter: ';', fields: 1 } } },
      says: 'profile.columns[0].at: there are only 1 fields',
    },
  ])('$says', ({ change, says }) => {
    const read = parseRigSheet(JSON.parse(JSON.stringify({ ...fullSheet, ...change })));
    expect(!read.ok && read.error.join('\n')).toContain(says);
  });
});
