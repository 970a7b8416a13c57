/**
 * What a page may say, checked at the host's edge. Strict: unknown fields,
 * NaN, unbounded text and out-of-range numbers are refused before any host
 * code sees them. Whether a request makes sense now (does that session exist?)
 * is the host's to answer. What a host says is checked in `host-envelope.ts`.
 *
 * The types at the end fail to compile when schema and contract part.
 */
import { z } from 'zod';
import { err, ok, type Result } from '../base/result.ts';
import type { OperatorAction } from '../journal.ts';
import type { LimitRule } from '../limits/rules.ts';
import type { BenchCommand } from '../line/messages.ts';
import type { RigSheet } from '../rig/rig-sheet.ts';
import { limitRuleSchema } from '../rig/rule-schema.ts';
import { lessonModes } from '../training/lesson.ts';
import type { Method, RendererMessage, Requests } from './contract.ts';

/** Bounds in one place: generous for people, small for a machine gone wrong. */
const MAX_TIME_US = 1e15; // 31 years of session
const identifier = z.string().regex(/^[A-Za-z0-9][A-Za-z0-9._:@-]{0,127}$/);
const person = z.string().trim().min(1).max(60);
const channelKey = z.string().regex(/^[a-z][a-z0-9_]{0,31}$/);
const sessionTime_us = z.number().min(-MAX_TIME_US).max(MAX_TIME_US);
const replaySpeed = z.number().min(0.1).max(200);
const simulatorSpeed = z.number().min(0.1).max(1000);
const nothing = z.strictObject({});
const fileBytes = z
  .int()
  .min(0)
  .max(2 ** 40);
/** Well below the longest message of any carrier. */
export const MOST_PART_BYTES = 256 * 1024;
const filePart = z.custom<Uint8Array>(
  (part) => part instanceof Uint8Array && part.length > 0 && part.length <= MOST_PART_BYTES,
  `expected 1 to ${MOST_PART_BYTES} bytes`,
);
const uploadOnly = z.strictObject({ upload: identifier });

const reason = z.string().max(500);
const instructorsWord = z.string().min(1).max(60);

const operatorAction = z.discriminatedUnion('kind', [
  z.strictObject({ kind: z.literal('acknowledge'), alarmId: identifier }),
  z.strictObject({ kind: z.literal('acknowledge-all') }),
  z.strictObject({ kind: z.literal('reset-alarms') }),
  z.strictObject({ kind: z.literal('silence') }),
  // How long is judged by the pipeline, which refuses with a sentence.
  z.strictObject({ kind: z.literal('shelve'), alarmId: identifier, reason, for_min: z.number().min(0).max(1440) }),
  z.strictObject({ kind: z.literal('unshelve'), alarmId: identifier }),
  z.strictObject({ kind: z.literal('out-of-service'), alarmId: identifier, reason }),
  z.strictObject({ kind: z.literal('back-in-service'), alarmId: identifier }),
  z.strictObject({ kind: z.literal('raise-advisory'), cause: z.literal('fire') }),
  z.strictObject({ kind: z.literal('fasteners-locked') }),
  z.strictObject({ kind: z.literal('mark'), text: z.string().min(1).max(500), t_us: z.number().min(0).optional() }),
  z.strictObject({ kind: z.literal('advisory-step'), advisoryId: identifier, stepId: identifier }),
  z.strictObject({ kind: z.literal('advisory-close'), advisoryId: identifier }),
  z.strictObject({ kind: z.literal('checklist'), itemId: identifier, isDone: z.boolean() }),
  z.strictObject({ kind: z.literal('checklist-override'), reason: z.string().trim().min(1).max(500) }),
  z.strictObject({ kind: z.literal('capture-point'), name: z.string().trim().min(1).max(100) }),
]);

const benchCommand = z.discriminatedUnion('name', [
  z.strictObject({ name: z.enum(['IDENTIFY', 'TARE-THRUST', 'TARE-TORQUE', 'RESET-FUEL', 'ZERO-FUEL']) }),
  z.strictObject({ name: z.literal('THROTTLE'), permille: z.int().min(0).max(1000) }),
  z.strictObject({ name: z.enum(['SERVO', 'IGNITION', 'STARTER', 'SUPPLY', 'FAN']), on: z.boolean() }),
]);

const exportOptions = z.strictObject({
  values: z.enum(['calibrated', 'raw']).optional(),
  channels: z.array(channelKey).min(1).max(128).optional(),
  from_us: z.number().min(0).optional(),
  to_us: z.number().min(0).optional(),
  rate_Hz: z.union([z.literal('all'), z.number().positive().max(1000)]).optional(),
});

const standHandAct = z.discriminatedUnion('kind', [
  z.strictObject({ kind: z.enum(['prime', 'refuel']) }),
  z.strictObject({ kind: z.enum(['stop-circuit', 'cage']), closed: z.boolean() }),
]);

const sessionOnly = z.strictObject({ id: identifier });

// A path is handed to the operating system, where a NUL would cut it short.
const portPath = z
  .string()
  .min(1)
  .max(1024)
  .refine((path) => !path.includes('\0'), 'holds a NUL');
const baud = z.int().min(50).max(12_000_000);
/** Only that it is an object: the host reads it whole, and answers with every finding and its place. */
const sheet = z.custom<RigSheet>(
  (value) => typeof value === 'object' && value !== null && !Array.isArray(value),
  'a rig sheet is an object',
);

/** Keys are checked as in a rig sheet; its readonly lists are the contract's. */
const limitRule = limitRuleSchema as unknown as z.ZodType<LimitRule, LimitRule>;

const paramsOf = {
  'source.ports': nothing,
  'source.use': z.discriminatedUnion('kind', [
    z.strictObject({
      kind: z.literal('port'),
      path: portPath,
      baud,
      profile: z.boolean().optional(),
    }),
    z.strictObject({
      kind: z.literal('simulator'),
      scenario: identifier,
      seed: z.int().min(0).max(0xffff_ffff),
      speed: simulatorSpeed,
    }),
    z.strictObject({ kind: z.literal('none') }),
  ]),
  'rig.get': nothing,
  'rig.save': z.strictObject({ sheet, by: person, change: z.string().trim().min(1).max(200) }),
  'rig.versions': nothing,
  'rig.version': z.strictObject({ version: z.int().min(1).max(1e9) }),
  'rig.sniff': z.strictObject({ path: portPath, baud, seconds: z.number().min(0.5).max(60) }),
  'rig.lines': z.strictObject({ since: z.int().min(0) }),
  'sim.catalogue': nothing,
  'sim.fault': z.strictObject({
    fault: identifier,
    on: z.boolean(),
    options: z.record(z.string().regex(/^[A-Za-z][A-Za-z0-9_]{0,31}$/), z.number()).optional(),
    by: person.optional(),
  }),
  'sim.pause': nothing,
  'sim.resume': nothing,
  'sim.checkpoint': z.strictObject({ name: z.string().trim().max(60).optional() }),
  'sim.rewind': z.strictObject({ checkpoint: identifier }),
  'sim.act': z.strictObject({ by: person, action: standHandAct }),
  'train.lessons': nothing,
  'train.start': z.strictObject({
    lesson: identifier,
    mode: z.enum(lessonModes),
    trainee: person,
    speed: simulatorSpeed.optional(),
    seed: z.int().min(0).max(0xffff_ffff).optional(),
    word: instructorsWord.optional(),
  }),
  'train.stop': z.strictObject({ by: person }),
  'train.debrief': z.strictObject({ sessionId: identifier }),
  'train.records': nothing,
  'train.export': nothing,
  'train.instructor': nothing,
  'train.seat': z.strictObject({ by: person, word: instructorsWord.optional() }),
  'sim.speed': z.strictObject({ speed: simulatorSpeed }),
  operator: z.strictObject({ by: person, action: operatorAction }),
  'outputs.live': z.strictObject({ by: person, live: z.boolean() }),
  'outputs.command': z.strictObject({ by: person, command: benchCommand }),
  'outputs.starter': z.strictObject({ by: person, held: z.boolean(), press: z.int().min(0).max(0xffff_ffff) }),
  'page.seen': z.strictObject({ seen: z.boolean() }),
  'sessions.list': z.strictObject({ includeBinned: z.boolean().optional() }),
  'sessions.keep': z.strictObject({ id: identifier, keep: z.boolean() }),
  'sessions.note': z.strictObject({ id: identifier, note: z.string().max(4000) }),
  'sessions.tags': z.strictObject({ id: identifier, tags: z.array(z.string().trim().min(1).max(40)).max(30) }),
  'sessions.bin': z.strictObject({ id: identifier, binned: z.boolean() }),
  'sessions.events': z.strictObject({ id: identifier, fromOrd: z.int().min(0).optional() }),
  'sessions.channels': sessionOnly,
  view: z.strictObject({
    session: identifier,
    channels: z.array(channelKey).max(128),
    from_us: sessionTime_us,
    to_us: sessionTime_us,
    pixels: z.int().min(1).max(8192),
  }),
  'latency.shown': z.strictObject({
    change: z.int().min(0),
    arrivedAt_epochMs: z.number().min(0).max(MAX_TIME_US),
    shownAt_epochMs: z.number().min(0).max(MAX_TIME_US),
  }),
  'backtest.start': z.strictObject({
    sessions: z.array(identifier).min(1).max(500),
    rules: z.array(limitRule).min(1).max(50),
  }),
  'backtest.cancel': sessionOnly,
  'backtest.result': sessionOnly,
  'replay.open': sessionOnly,
  'replay.play': z.strictObject({ speed: replaySpeed }),
  'replay.pause': nothing,
  'replay.seek': z.strictObject({ t_us: sessionTime_us }),
  'replay.close': nothing,
  'export.csv': z.strictObject({ id: identifier, options: exportOptions.optional() }),
  'export.parquet': z.strictObject({ id: identifier, options: exportOptions.optional() }),
  'export.cancel': z.strictObject({ id: identifier, kind: z.enum(['csv', 'parquet', 'session', 'verify']) }),
  'export.report': sessionOnly,
  'export.session': sessionOnly,
  'sessions.verify': sessionOnly,
  'takein.begin': z.strictObject({ name: z.string().min(1).max(255), bytes: fileBytes }),
  'takein.part': z.strictObject({
    upload: identifier,
    at: fileBytes,
    part: filePart,
  }),
  'takein.end': uploadOnly,
  'takein.cancel': uploadOnly,
} satisfies { [M in Method]: z.ZodType<Requests[M]['params']> };

export const methods = Object.keys(paramsOf) as readonly Method[];

const credit = z.strictObject({
  type: z.literal('credit'),
  stream: z.enum(['live', 'replay']),
  count: z.int().min(1).max(1000),
});

const requestHead = z.strictObject({
  type: z.literal('request'),
  id: z.int().min(0),
  method: z.string(),
  params: z.unknown(),
});

/** The message, or one sentence saying what is wrong with it and where. */
export function parseRendererMessage(value: unknown): Result<RendererMessage, string> {
  const type = typeof value === 'object' && value !== null && 'type' in value ? value.type : undefined;
  if (type === 'credit') return parsed(credit, value, 'credit');
  if (type !== 'request') return err('a page sends credits and requests, this is neither');

  const head = parsed(requestHead, value, 'request');
  if (!head.ok) return head;
  const { id, method } = head.value;
  if (!Object.hasOwn(paramsOf, method)) return err(`no request is called "${method.slice(0, 40)}"`);
  const params = parsed<unknown>(paramsOf[method as Method], head.value.params, method);
  if (!params.ok) return params;
  // Method and params were checked as a pair just above, which the compiler cannot follow.
  return ok({ type: 'request', id, method, params: params.value } as RendererMessage);
}

function parsed<T>(schema: z.ZodType<T>, value: unknown, subject: string): Result<T, string> {
  const outcome = schema.safeParse(value);
  if (outcome.success) return ok(outcome.data);
  const issue = outcome.error.issues[0];
  const where = issue === undefined || issue.path.length === 0 ? subject : `${subject}: ${issue.path.join('.')}`;
  return err(`${where}: ${issue?.message ?? 'not as agreed'}`);
}

/**
 * `satisfies` above holds each schema's output to the contract; these hold the
 * contract to the schema, so that no agreed request is refused by its shape.
 */
type Accepts<Schema extends z.ZodType, Agreed> = [Agreed] extends [z.input<Schema>] ? true : false;
type Every<Answer> = [Answer] extends [true] ? true : false;
export const schemaAcceptsContract: Every<
  | { [M in Method]: Accepts<(typeof paramsOf)[M], Requests[M]['params']> }[Method]
  | Accepts<typeof operatorAction, OperatorAction>
  | Accepts<typeof benchCommand, BenchCommand>
> = true;
