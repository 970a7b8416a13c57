/** A profile as it may stand in a rig sheet; refusals say where and what. */
import { z } from 'zod';
import { RAW_MAX } from '../../channels/quality.ts';
import { checksumKinds, delimiters, type FieldPlace, type LineProfile } from './line-profile.ts';

const word = z
  .string()
  .regex(/^[A-Za-z0-9._\-/%[\]]{1,24}$/, 'a word is 1 to 24 letters, digits or . _ - / % [ ], without spaces');
const key = z
  .string()
  .regex(/^[a-z][a-z0-9_]{0,15}$/, 'a key is a-z, 0-9 and _, begins with a letter, at most 16 long');
const finite = z.number().finite();
const place = z.union([
  z.strictObject({ field: z.int().min(0).max(127) }),
  z.strictObject({ from: z.int().min(0).max(511), width: z.int().min(1).max(64) }),
  z.strictObject({ key: z.string().min(1).max(40) }),
]);

const profile = z.strictObject({
  name: word,
  layout: z.discriminatedUnion('kind', [
    z.strictObject({ kind: z.literal('delimited'), delimiter: z.enum(delimiters), fields: z.int().min(1).max(128) }),
    z.strictObject({ kind: z.literal('fixed'), length: z.int().min(1).max(511) }),
    z.strictObject({
      kind: z.literal('pairs'),
      delimiter: z.enum(delimiters),
      assign: z.enum(['=', ':']),
      keys: z.array(z.string().min(1).max(40)).min(1).max(128),
    }),
  ]),
  decimal: z.enum(['.', ',']),
  header: z.string().min(1).max(511).nullable(),
  comment: z.string().max(8),
  prefix: z.string().max(8),
  tag: z.string().min(1).max(40).nullable(),
  checksum: z
    .strictObject({
      kind: z.enum(checksumKinds),
      mark: z.string().length(1),
      coversMark: z.boolean(),
      coversPrefix: z.boolean(),
    })
    .nullable(),
  time: z.discriminatedUnion('kind', [
    z.strictObject({ kind: z.literal('arrival') }),
    z.strictObject({
      kind: z.literal('column'),
      at: place,
      unit: z.enum(['us', 'ms', 's', 'clock']),
      wrap: finite.positive().nullable(),
    }),
  ]),
  sequence: z
    .strictObject({
      at: place,
      modulus: z
        .int()
        .min(2)
        .max(2 ** 48),
    })
    .nullable(),
  rate_mHz: z.int().min(1).max(10_000_000),
  columns: z
    .array(
      z.strictObject({
        at: place,
        key,
        quantity: word,
        unit: word,
        scale: finite.refine((scale) => scale !== 0, 'must not be 0'),
        offset: finite,
        decimals: z.int().min(0).max(6),
        low: finite,
        high: finite,
        suffix: z.string().max(16),
        missing: z
          .array(
            z.strictObject({
              text: z.string().max(24),
              state: z.enum(['open', 'short', 'over', 'under', 'stale']),
            }),
          )
          .max(16),
      }),
    )
    .min(1)
    .max(64),
});

export const lineProfileSchema = profile.superRefine((value, context) => {
  for (const [path, message] of contradictions(value)) context.addIssue({ code: 'custom', path, message });
});

/** What no single field shows. */
function* contradictions(value: z.infer<typeof profile> & LineProfile): Generator<[(string | number)[], string]> {
  const keys = new Set<string>();
  for (const [i, column] of value.columns.entries()) {
    if (keys.has(column.key)) yield [['columns', i, 'key'], `"${column.key}" is used twice`];
    keys.add(column.key);
    if (!(column.low < column.high)) yield [['columns', i, 'low'], `must be below high (${column.high})`];
    if (Math.max(Math.abs(column.low), Math.abs(column.high)) * 10 ** column.decimals > RAW_MAX) {
      yield [['columns', i, 'decimals'], 'the range does not fit 32 bits with so many decimals'];
    }
    yield* misplaced(value, column.at, ['columns', i, 'at']);
  }
  if (value.time.kind === 'column') yield* misplaced(value, value.time.at, ['time', 'at']);
  if (value.sequence !== null) yield* misplaced(value, value.sequence.at, ['sequence', 'at']);
  if (value.tag !== null && value.layout.kind !== 'delimited') {
    yield [['tag'], 'only delimited lines can have a tag'];
  }
  const { layout } = value;
  if (layout.kind === 'delimited' && layout.delimiter === value.decimal) {
    yield [['decimal'], 'must not be the delimiter'];
  }
  if (layout.kind === 'pairs') {
    if (new Set(layout.keys).size !== layout.keys.length) yield [['layout', 'keys'], 'a key is named twice'];
    if (layout.delimiter === value.decimal) yield [['decimal'], 'must not be the delimiter'];
  }
}

function* misplaced(
  { layout }: Pick<LineProfile, 'layout'>,
  at: FieldPlace,
  path: (string | number)[],
): Generator<[(string | number)[], string]> {
  if ('field' in at) {
    if (layout.kind !== 'delimited') yield [path, 'only delimited lines have fields by number'];
    else if (at.field >= layout.fields) yield [path, `there are only ${layout.fields} fields`];
  } else if ('from' in at) {
    if (layout.kind !== 'fixed') yield [path, 'only fixed lines have fields by characters'];
    else if (at.from + at.width > layout.length) yield [path, `a line has only ${layout.length} characters`];
  } else if (layout.kind !== 'pairs') yield [path, 'only key=value lines have fields by key'];
  else if (!layout.keys.includes(at.key)) yield [path, `"${at.key}" is not among the keys of the line`];
}
