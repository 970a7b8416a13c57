/** What a calibration record may hold, for rig sheets that are imported. */
import { z } from 'zod';
import { calibrationKinds, verdicts } from './record.ts';

const finite = z.number().finite();
const words = z.string().max(2000);
const line = z.string().min(1).max(200);
const unit = z.string().max(24);
export const channelKeySchema = z
  .string()
  .regex(/^[a-z][a-z0-9_]{0,15}$/, 'a key is a-z, 0-9 and _, begins with a letter, at most 16 long');
const day = z.string().regex(/^\d{4}-(0[1-9]|1[0-2])-(0[1-9]|[12]\d|3[01])$/, 'a day is written 2026-03-14');

export const channelCalibrationSchema = z.strictObject({
  channel: channelKeySchema,
  a0: finite,
  a1: finite,
  a2: finite,
  tare: finite,
  note: words,
});

export const throttleTravelSchema = z.strictObject({
  closed_us: finite.min(100).max(5000),
  open_us: finite.min(100).max(5000),
  deadZone_us: finite.nonnegative().max(5000).nullable(),
  hardLow_us: finite.min(100).max(5000),
  hardHigh_us: finite.min(100).max(5000),
});

export const calibrationRecordSchema = z.strictObject({
  id: z.string().min(1).max(60),
  kind: z.enum(calibrationKinds),
  channels: z.array(channelKeySchema).max(16),
  date: day,
  who: z.string().min(1).max(60),
  method: words,
  reference: words,
  data: z.strictObject({
    columns: z.array(z.strictObject({ name: line, unit })).max(20),
    rows: z.array(z.array(z.union([finite, z.string().max(200), z.null()])).max(20)).max(2000),
  }),
  figures: z
    .array(
      z.strictObject({
        name: line,
        value: finite.nullable(),
        unit,
        limit: finite.nullable(),
        isMet: z.boolean().nullable(),
      }),
    )
    .max(60),
  verdict: z.enum(verdicts),
  findings: z.array(words).max(60),
  uncertainty: z
    .strictObject({
      U: finite.nonnegative(),
      unit,
      k: finite.positive(),
      p: finite.positive().max(1),
      parts: z.array(z.strictObject({ name: line, u: finite.nonnegative() })).max(20),
    })
    .nullable(),
  dueDate: z.union([z.literal(''), day]),
  calibrations: z.array(channelCalibrationSchema).max(16),
  throttle: throttleTravelSchema.optional(),
});
