/**
 * The rig sheet's schema: an import with an error says where and what, and
 * nothing of it is taken.
 */
import { z } from 'zod';
import { err, ok, type Result } from '../base/result.ts';
import {
  calibrationRecordSchema,
  channelCalibrationSchema,
  channelKeySchema as key,
} from '../calibration/record-schema.ts';
import { systems } from '../channels/channel.ts';
import { advisoryCauses } from '../limits/rules.ts';
import { lineProfileSchema } from '../line/profile/profile-schema.ts';
import { checklistStages } from '../program/checklist.ts';
import type { RigSheet } from './rig-sheet.ts';
import { limitRuleSchema as rule } from './rule-schema.ts';
import { contradictions } from './sheet-contradictions.ts';

const line = z.string().min(1).max(200);
const finite = z.number().finite();
const positive = finite.positive();
const span = finite.nonnegative();

const proof = z.discriminatedUnion('kind', [
  z.strictObject({
    kind: z.literal('channel'),
    channel: key,
    is: z.enum(['below', 'above']),
    value: finite,
    hold_ms: span,
  }),
  z.strictObject({ kind: z.literal('falling'), channel: key, atLeast_perS: finite, hold_ms: span }),
  z.strictObject({ kind: z.literal('input'), input: key, state: z.union([z.literal(0), z.literal(1)]) }),
  z.strictObject({
    kind: z.literal('cooled'),
    channel: key,
    below: finite,
    settled_perS: span,
    settledAfter_s: span,
    hold_ms: span,
  }),
  z.strictObject({ kind: z.literal('operator') }),
]);

const plan = z.strictObject({
  cause: z.enum(advisoryCauses),
  kind: z.enum(['abort', 'cool-down']).optional(),
  rank: z.number().int().min(1).max(99),
  title: line,
  imperative: line,
  steps: z
    .array(
      z.strictObject({
        id: z.string().min(1).max(40),
        imperative: line,
        why: line,
        proof,
        allowed_s: positive,
        act: z.enum(['throttle-closed', 'ignition-off', 'fan-on', 'starter-off']).optional(),
      }),
    )
    .min(1)
    .max(20),
});

const schema = z.strictObject({
  format: z.literal('runstand-rig'),
  formatVersion: z.literal(1),
  id: z.string().min(1).max(60),
  version: z.number().int().min(1),
  name: line,
  isDemo: z.boolean(),
  engine: z.strictObject({
    name: line,
    strokes: z.union([z.literal(2), z.literal(4)]),
    cylinders: z.number().int().min(1).max(12),
    displacement_cm3: positive,
    idleSpeed_rpm: positive,
    ratedSpeed_rpm: positive,
  }),
  propeller: z.strictObject({
    name: line,
    diameter_m: positive,
    pitch_m: positive,
    blades: z.number().int().min(1).max(8),
  }),
  site: z.strictObject({
    name: line,
    elevation_m: finite.min(-430).max(6000),
    latitude_deg: finite.min(-90).max(90).optional(),
  }),
  fuel: z.strictObject({
    name: line,
    density15_kgPerm3: finite.min(653).max(1075),
    oilDensity15_kgPerm3: finite.min(653).max(1200),
    mixRatio: span,
  }),
  runDetection: z.strictObject({ rest_rpm: positive, running_rpm: positive, runningHold_s: span, cool_degC: finite }),
  calibrations: z.array(channelCalibrationSchema).max(64),
  rules: z.array(rule).max(200),
  plans: z.array(plan).max(20),
  checklists: z
    .array(
      z.strictObject({
        stage: z.enum(checklistStages),
        title: line,
        items: z
          .array(
            z.strictObject({
              id: z.string().min(1).max(60),
              text: line,
              why: line,
              act: z.literal('sound-test').optional(),
              input: z.strictObject({ key, state: z.union([z.literal(0), z.literal(1)]) }).optional(),
              channel: z.strictObject({ key, is: z.enum(['above', 'below']), value: finite }).optional(),
            }),
          )
          .max(60),
      }),
    )
    .max(10),
  cautions: z.array(line).max(40),
  calibrationRecords: z.array(calibrationRecordSchema).max(500).optional(),
  profile: lineProfileSchema.nullable().optional(),
  channels: z
    .array(
      z.strictObject({
        channel: key,
        label: z.string().max(40),
        place: z.string().max(60),
        system: z.enum(systems).nullable(),
        low: finite.nullable(),
        high: finite.nullable(),
      }),
    )
    .max(64)
    .optional(),
  stand: z
    .strictObject({ name: line, thrustSpan_N: positive, torqueSpan_Nm: positive, torqueArm_m: positive })
    .nullable()
    .optional(),
  limitsFrom: z.string().max(200).optional(),
  history: z
    .array(
      z.strictObject({
        version: z.number().int().min(1),
        at_epochMs: finite.nonnegative(),
        by: z.string().min(1).max(60),
        change: line,
      }),
    )
    .max(500)
    .optional(),
});

/**
 * The schema as published (`rig-sheet.schema.json`): what each field may hold.
 * What fields must not contradict is checked on import.
 */
export function rigSheetJsonSchema(): object {
  const { $schema, ...rest } = z.toJSONSchema(schema, { io: 'input' });
  return { $schema, title: 'Runstand rig sheet, format 1', ...rest };
}

/** Larger than any sheet with 500 records. */
const IMPORT_MAX_CHARACTERS = 8_000_000;

/**
 * Reads a rig sheet from the text of a file.
 * Errors: as `parseRigSheet`; for text that is no JSON, with line and column.
 */
export function importRigSheet(text: string): Result<RigSheet, readonly string[]> {
  if (text.length > IMPORT_MAX_CHARACTERS) {
    return err([`the file: ${text.length} characters are more than any rig sheet has (${IMPORT_MAX_CHARACTERS})`]);
  }
  let value: unknown;
  try {
    // A byte order mark is put there by some editors.
    value = JSON.parse(text.replace(/^\uFEFF/, ''));
  } catch (error) {
    if (!(error instanceof SyntaxError)) throw error;
    return err([`the file is not JSON: ${error.message}`]);
  }
  return parseRigSheet(value);
}

/**
 * Reads a rig sheet from parsed JSON.
 * Errors: one sentence for each finding, with its place, such as
 * "rules[2].reset: must not be above trip (190)".
 */
export function parseRigSheet(value: unknown): Result<RigSheet, readonly string[]> {
  const parsed = schema.safeParse(value);
  if (!parsed.success) {
    return err(parsed.error.issues.map((issue) => `${placeOf(issue.path)}: ${issue.message}`));
  }
  const sheet = parsed.data as unknown as RigSheet;
  const findings = contradictions(sheet);
  return findings.length > 0 ? err(findings) : ok(sheet);
}

function placeOf(path: readonly PropertyKey[]): string {
  let place = '';
  for (const part of path)
    place += typeof part === 'number' ? `[${part}]` : `${place === '' ? '' : '.'}${String(part)}`;
  return place === '' ? 'the sheet' : place;
}
