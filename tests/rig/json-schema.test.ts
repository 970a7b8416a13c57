import { readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import { parseRigSheet, rigSheetJsonSchema } from '../../shared-core/rig/rig-schema.ts';
import { fullSheet } from './full-sheet.ts';

const published = JSON.parse(
  readFileSync(new URL('../../shared-core/rig/rig-sheet.schema.json', import.meta.url), 'utf8'),
);

test('given the published schema, then it is the one that imports are checked by (else: node build/rig-schema.ts)', () => {
  expect(published).toEqual(JSON.parse(JSON.stringify(rigSheetJsonSchema())));
});

test('then it names every part of a sheet, and refuses others', () => {
  expect(Object.keys(published.properties).sort()).toEqual(Object.keys(fullSheet).sort());
  expect(published.additionalProperties).toBe(false);
  expect(published.required).not.toContain('calibrationRecords');
});

test('given a sheet with every part, then it goes through a file unchanged', () => {
  expect(parseRigSheet(JSON.parse(JSON.stringify(fullSheet)))).toEqual({ ok: true, value: fullSheet });
});
