/**
 * Which fields each kind of limit has, for the form that edits it: label, what
 * it holds, unit. What may stand in them is the rig sheet's schema. Pure.
 */
import { ruleId } from '../../shared-core/base/ids.ts';
import type { Channel, ChannelKey } from '../../shared-core/channels/channel.ts';
import type { LimitRule } from '../../shared-core/limits/rules.ts';

export type RuleKind = LimitRule['kind'];

/** `channel`: that of the watched channel; `difference`: the same, K for °C; `rate`: per second of it. */
type UnitOf = 'channel' | 'difference' | 'rate' | { readonly unit: string };

export type FieldSpec = {
  /** Name in the rule; `heat.most_s` for one inside another. */
  readonly key: string;
  readonly label: string;
  /** `limit`: what is tried on recordings; `watch`: what is looked at. */
  readonly part: 'watch' | 'limit';
} & (
  | { readonly as: 'number'; readonly unit: UnitOf; readonly isOptional?: boolean }
  | { readonly as: 'channel' | 'channels' | 'pair' | 'input' }
  | { readonly as: 'choice'; readonly options: readonly { readonly value: string | number; readonly text: string }[] }
);

const ms = { unit: 'ms' } as const;
const s = { unit: 's' } as const;

function number(key: string, label: string, unit: UnitOf, isOptional = false): FieldSpec {
  return { key, label, part: 'limit', as: 'number', unit, isOptional };
}
function watch(key: string, label: string, as: 'channel' | 'channels' | 'pair' | 'input'): FieldSpec {
  return { key, label, part: 'watch', as };
}

const delays = [number('onDelay_ms', 'Held before it trips', ms), number('offDelay_ms', 'Held before it resets', ms)];
const oneDelay = [number('onDelay_ms', 'Held before it trips', ms)];

export const kindTitles: Readonly<Record<RuleKind, string>> = {
  threshold: 'Above or below a value',
  'timed-band': 'Above a value for too long in one run',
  rate: 'Changing too fast',
  spread: 'Apart within a group',
  disagreement: 'Two sources of one quantity disagree',
  deviation: 'Off what is asked of it',
  sensor: 'Sensor lost or stale',
  frozen: 'Sensor frozen',
  range: 'Outside its physical range',
  input: 'Switch or circuit in its bad state',
  link: 'Link silent',
  'clock-drift': 'Clocks drift apart',
  recorder: 'Recorder unwell',
  'fuel-time': 'Minutes of fuel left',
  'starter-duty': 'Starter over its duty',
  'cool-down': 'Ignition cut while hot',
  endurance: 'Fasteners due',
};

export const fieldsOf: Readonly<Record<RuleKind, readonly FieldSpec[]>> = {
  threshold: [
    watch('channel', 'Watches', 'channel'),
    {
      ...{ key: 'direction', label: 'Trips', part: 'watch', as: 'choice' },
      options: [
        { value: 'high', text: 'above' },
        { value: 'low', text: 'below' },
      ],
    },
    number('trip', 'Trips at', 'channel'),
    number('reset', 'Resets at', 'channel'),
    ...delays,
  ],
  'timed-band': [
    watch('channel', 'Watches', 'channel'),
    number('trip', 'Counts above', 'channel'),
    number('reset', 'Resets below', 'channel'),
    number('allowed_s', 'Allowed in one run', s),
  ],
  rate: [
    watch('channel', 'Watches', 'channel'),
    {
      ...{ key: 'direction', label: 'Which way', part: 'watch', as: 'choice' },
      options: [
        { value: 'rising', text: 'rising' },
        { value: 'falling', text: 'falling' },
      ],
    },
    number('trip_perS', 'Trips above', 'rate'),
    number('reset_perS', 'Resets below', 'rate'),
    number('window_s', 'Over', s),
    ...delays,
  ],
  spread: [
    watch('channels', 'Watches', 'channels'),
    number('trip', 'Trips at', 'difference'),
    number('reset', 'Resets at', 'difference'),
    ...delays,
  ],
  disagreement: [
    watch('channels', 'Compares', 'pair'),
    number('trip_percent', 'Trips at', { unit: '%' }),
    number('reset_percent', 'Resets at', { unit: '%' }),
    number('floor', 'Not judged while both are below', 'channel'),
    ...oneDelay,
  ],
  deviation: [
    watch('channel', 'Watches', 'channel'),
    watch('demand', 'Against', 'channel'),
    number('gain', 'Asked: times', { unit: '' }),
    number('offset', 'Asked: plus', 'channel'),
    number('trip', 'Trips at', 'difference'),
    number('reset', 'Resets at', 'difference'),
    number('settle_s', 'Time to follow', s),
    ...delays,
  ],
  sensor: [watch('channels', 'Watches', 'channels'), number('stale_ms', 'Stale without a sample for', ms), ...oneDelay],
  frozen: [watch('channels', 'Watches', 'channels'), number('still_s', 'Without the least change for', s)],
  range: [watch('channels', 'Watches', 'channels'), ...delays],
  input: [
    watch('input', 'Watches', 'input'),
    {
      ...{ key: 'badState', label: 'Bad state', part: 'watch', as: 'choice' },
      options: [
        { value: 0, text: '0' },
        { value: 1, text: '1' },
      ],
    },
    ...oneDelay,
  ],
  link: [number('silence_ms', 'Silent for', ms)],
  'clock-drift': [
    number('trip_ppm', 'Trips at', { unit: 'ppm' }),
    number('reset_ppm', 'Resets at', { unit: 'ppm' }),
    number('least_s', 'Judged after', s),
  ],
  recorder: [
    number('held_s', 'Holding for more than', s),
    number('leastFree_MB', 'Free disk at least', { unit: 'MB' }),
  ],
  'fuel-time': [
    watch('level_L', 'Level', 'channel'),
    watch('flow_LPerh', 'Flow', 'channel'),
    number('trip_min', 'Trips below', { unit: 'min' }),
    number('reset_min', 'Resets above', { unit: 'min' }),
    number('window_s', 'Flow averaged over', s),
    ...delays,
  ],
  'starter-duty': [
    number('attempt_s', 'One attempt at most', s),
    number('rest_s', 'Rest after it', s),
    number('attemptsPerHour', 'Attempts in an hour', { unit: '' }, true),
    number('heat.most_s', 'Heat at most', s, true),
    number('heat.tau_s', 'Heat decays in', s, true),
  ],
  'cool-down': [
    watch('ignition', 'Ignition input', 'input'),
    watch('head', 'Head', 'channel'),
    watch('speed', 'Speed', 'channel'),
    number('high_rpm', 'High power above', { unit: 'rpm' }),
    number('highFor_s', 'Held for', s),
    number('remembered_s', 'Its heat counts for', s),
    number('idle_rpm', 'Idle below', { unit: 'rpm' }),
    number('idleFor_s', 'Idle held for', s),
    number('safe_degC', 'Cut is safe below', { unit: '°C' }),
  ],
  endurance: [
    number('run_h', 'One run at most', { unit: 'h' }),
    number('sinceLocked_h', 'Since locked at most', { unit: 'h' }),
  ],
};

/** Unit beside a number of this rule. */
export function unitOf(
  rule: LimitRule,
  unit: UnitOf,
  channels: ReadonlyMap<ChannelKey, Pick<Channel, 'unit'>>,
): string {
  if (typeof unit === 'object') return unit.unit;
  const key = 'channel' in rule ? rule.channel : 'channels' in rule ? rule.channels[0] : undefined;
  const own = (key === undefined ? undefined : channels.get(key)?.unit) ?? '';
  if (unit === 'channel') return own;
  const step = own === '°C' ? 'K' : own;
  return unit === 'difference' ? step : step === '' ? '/s' : `${step}/s`;
}

/** Value of a field; undefined where an optional one is not set. */
export function fieldOf(rule: LimitRule, key: string): unknown {
  const [name = '', inner] = key.split('.');
  const value = (rule as unknown as Record<string, unknown>)[name];
  return inner === undefined ? value : (value as Record<string, unknown> | undefined)?.[inner];
}

/**
 * The rule with one field changed. The reset of a pair moves with its trip, so
 * that the deadband keeps its width. An optional number that is NaN is unset.
 */
export function withField(rule: LimitRule, spec: FieldSpec, value: unknown): LimitRule {
  const { key } = spec;
  const isUnset = spec.as === 'number' && spec.isOptional === true && Number.isNaN(value);
  if (key === 'heat.most_s' || key === 'heat.tau_s') {
    const before = rule.kind === 'starter-duty' ? rule.heat : undefined;
    const heat = { most_s: NaN, tau_s: NaN, ...before, [key.slice(5)]: value };
    return set(rule, { heat: Number.isNaN(heat.most_s) && Number.isNaN(heat.tau_s) ? undefined : heat });
  }
  const changed = set(rule, { [key]: isUnset ? undefined : value });
  const partner = key.startsWith('trip') ? key.replace('trip', 'reset') : null;
  if (partner === null || typeof value !== 'number' || !Number.isFinite(value)) return changed;
  const trip = fieldOf(rule, key);
  const reset = fieldOf(rule, partner);
  if (typeof trip !== 'number' || typeof reset !== 'number') return changed;
  const moved = value + (reset - trip);
  // As many decimals as a person writes, not as the machine adds.
  return Number.isFinite(moved) ? set(changed, { [partner]: Number(moved.toFixed(6)) }) : changed;
}

function set(rule: LimitRule, part: Record<string, unknown>): LimitRule {
  return { ...rule, ...part } as LimitRule;
}

/** Numbers of a rule that are not there yet. */
export function missingNumbers(rule: LimitRule): readonly string[] {
  return fieldsOf[rule.kind]
    .filter((spec) => spec.as === 'number' && Number.isNaN(fieldOf(rule, spec.key)))
    .map((spec) => spec.key);
}

/** A new limit of this kind: nothing is guessed that a person must decide, so its numbers are missing. */
export function blankRule(kind: RuleKind, id: string, first: ChannelKey, input: string): LimitRule {
  const rule: Record<string, unknown> = {
    ...{ kind, id: ruleId(id), title: '', level: 'caution', when: [], latch: false },
    ...{ consequence: '', operatorAction: '', timeToAct_s: NaN },
  };
  for (const spec of fieldsOf[kind]) {
    if (spec.as === 'number') {
      if (spec.isOptional !== true) rule[spec.key] = /Delay_ms$/.test(spec.key) ? 0 : NaN;
    } else if (spec.as === 'choice') rule[spec.key] = spec.options[0]?.value;
    else if (spec.as === 'channel') rule[spec.key] = first;
    else if (spec.as === 'input') rule[spec.key] = input;
    else rule[spec.key] = spec.as === 'pair' ? [first, first] : [];
  }
  return rule as unknown as LimitRule;
}

/** An id that no rule has: the kind and the next free number. */
export function freeId(kind: RuleKind, rules: readonly Pick<LimitRule, 'id'>[]): string {
  for (let n = 1; ; n++) if (!rules.some((rule) => rule.id === `${kind}-${n}`)) return `${kind}-${n}`;
}
