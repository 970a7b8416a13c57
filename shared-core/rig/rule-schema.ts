/**
 * The schema of one limit rule, for rig sheets and for rules that are tried on
 * recordings. A rule that does not say what happens, what to do, and in how
 * much time is refused. What fields must not contradict is checked in
 * `sheet-contradictions.ts`.
 */
import { z } from 'zod';
import { channelKeySchema as key } from '../calibration/record-schema.ts';
import { advisoryCauses, alarmLevels, runStates } from '../limits/rules.ts';

const line = z.string().min(1).max(200);
const finite = z.number().finite();
const positive = finite.positive();
const span = finite.nonnegative();
const delays = { onDelay_ms: span, offDelay_ms: span };
const keys = (least: number) => z.array(key).min(least).max(64);
/** Blanks say nothing. */
const said = (what: string) => line.refine((text) => text.trim() !== '', `is empty: say ${what}`);

const ruleBase = {
  id: z.string().min(1).max(60).brand<'RuleId'>(),
  title: line,
  level: z.enum(alarmLevels),
  when: z.array(z.enum(runStates)).max(4),
  whenFor_s: span.max(86_400).optional(),
  latch: z.boolean(),
  consequence: said('what happens if nobody acts'),
  operatorAction: said('what the operator does'),
  timeToAct_s: span,
  advisory: z.enum(advisoryCauses).optional(),
};

export const limitRuleSchema = z.discriminatedUnion('kind', [
  z.strictObject({
    ...ruleBase,
    kind: z.literal('threshold'),
    channel: key,
    direction: z.enum(['high', 'low']),
    trip: finite,
    reset: finite,
    onDelay_ms: span,
    offDelay_ms: span,
  }),
  z.strictObject({
    ...ruleBase,
    kind: z.literal('timed-band'),
    channel: key,
    trip: finite,
    reset: finite,
    allowed_s: positive,
  }),
  z.strictObject({
    ...ruleBase,
    kind: z.literal('starter-duty'),
    attempt_s: positive,
    rest_s: positive,
    attemptsPerHour: z.number().int().min(1).max(100).optional(),
    heat: z.strictObject({ most_s: positive, tau_s: positive }).optional(),
  }),
  z.strictObject({
    ...ruleBase,
    kind: z.literal('sensor'),
    channels: z.array(key).min(1).max(64),
    stale_ms: positive,
    onDelay_ms: span,
  }),
  z.strictObject({ ...ruleBase, kind: z.literal('link'), silence_ms: positive }),
  z.strictObject({
    ...ruleBase,
    kind: z.literal('disagreement'),
    channels: z.tuple([key, key]),
    trip_percent: positive,
    reset_percent: span,
    floor: span,
    onDelay_ms: span,
  }),
  z.strictObject({
    ...ruleBase,
    kind: z.literal('input'),
    input: key,
    badState: z.union([z.literal(0), z.literal(1)]),
    onDelay_ms: span,
  }),
  z.strictObject({
    ...ruleBase,
    kind: z.literal('rate'),
    channel: key,
    direction: z.enum(['rising', 'falling']),
    trip_perS: positive,
    reset_perS: finite,
    window_s: positive.max(600),
    ...delays,
  }),
  z.strictObject({ ...ruleBase, kind: z.literal('spread'), channels: keys(2), trip: positive, reset: span, ...delays }),
  z.strictObject({
    ...ruleBase,
    kind: z.literal('deviation'),
    channel: key,
    demand: key,
    gain: finite,
    offset: finite,
    trip: positive,
    reset: span,
    settle_s: span,
    ...delays,
  }),
  z.strictObject({ ...ruleBase, kind: z.literal('frozen'), channels: keys(1), still_s: positive }),
  z.strictObject({ ...ruleBase, kind: z.literal('range'), channels: keys(1), ...delays }),
  z.strictObject({
    ...ruleBase,
    kind: z.literal('clock-drift'),
    trip_ppm: positive,
    reset_ppm: span,
    least_s: positive,
  }),
  z.strictObject({ ...ruleBase, kind: z.literal('recorder'), held_s: span, leastFree_MB: span }),
  z.strictObject({
    ...ruleBase,
    kind: z.literal('fuel-time'),
    level_L: key,
    flow_LPerh: key,
    trip_min: positive,
    reset_min: positive,
    window_s: positive,
    ...delays,
  }),
  z.strictObject({
    ...ruleBase,
    kind: z.literal('cool-down'),
    ignition: key,
    head: key,
    speed: key,
    high_rpm: positive,
    highFor_s: span,
    remembered_s: positive,
    idle_rpm: positive,
    idleFor_s: span,
    safe_degC: finite,
  }),
  z.strictObject({ ...ruleBase, kind: z.literal('endurance'), run_h: positive, sinceLocked_h: positive }),
]);
