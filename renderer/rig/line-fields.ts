/**
 * One line of the bench taken apart for a person to read: what kind it is, and
 * its fields with their meaning. Only for the eye: values come from the
 * pipeline. Forms as in PROTOCOL.md; foreign lines by their profile. Pure.
 */
import type { Channel } from '../../shared-core/channels/channel.ts';
import { type QualityName, quality, stateLetters } from '../../shared-core/channels/quality.ts';
import type { LineProfile } from '../../shared-core/line/profile/line-profile.ts';
import { splitLine } from '../../shared-core/line/profile/split-line.ts';
import { formatQuantity } from '../ui/format.ts';

export interface LineField {
  readonly name: string;
  readonly text: string;
}

export interface LineReading {
  /** "samples, group 1", "identity"; empty where nothing is known. */
  readonly kind: string;
  readonly fields: readonly LineField[];
}

const states: Readonly<Record<QualityName, string>> = {
  good: '',
  open: 'open circuit',
  short: 'short circuit',
  over: 'over range',
  under: 'under range',
  stale: 'stale',
  absent: 'no signal',
};

/** Names of the fields behind kind, running number and time. */
const forms: Readonly<Record<string, { readonly kind: string; readonly names: readonly string[] }>> = {
  I: {
    kind: 'identity',
    names: ['protocol', 'bench', 'firmware', 'boot', 'layout', 'groups', 'channels', 'inputs'],
  },
  G: { kind: 'rate group', names: ['layout', 'group', 'rate, mHz', 'columns'] },
  C: {
    kind: 'channel',
    names: ['layout', 'channel', 'group', 'column', 'key', 'quantity', 'unit', 'decimals', 'low', 'high'],
  },
  D: { kind: 'discrete input', names: ['layout', 'input', 'key', 'word for 0', 'word for 1'] },
  E: { kind: 'input state', names: ['input', 'state'] },
  A: { kind: 'accepted', names: ['host', 'command', 'value'] },
  R: { kind: 'refused', names: ['host', 'command', 'reason'] },
};

export function readLine(text: string, channels: readonly Channel[], profile: LineProfile | null): LineReading {
  if (profile !== null) return byProfile(text, profile);
  const body = text.replace(/~[0-9A-F]{4}$/, '');
  const [letter = '', running = '', time = '', ...rest] = body.split(' ');
  const head = [
    { name: 'number', text: running },
    { name: 'bench time', text: formatQuantity(Number.parseInt(time, 16) / 1e6, 3, 's') },
  ];
  if (letter === 'S') {
    const [group = '', ...columns] = rest;
    return {
      kind: `samples, group ${group}`,
      fields: [...head, ...columns.map((raw, column) => sample(raw, column, Number(group), channels))],
    };
  }
  if (letter === 'T') {
    return {
      kind: 'message',
      fields: [...head, { name: 'text', text: rest.slice(1).join(' ').replaceAll('%25', '%') }],
    };
  }
  const form = forms[letter];
  if (form === undefined) return { kind: '', fields: [] };
  return {
    kind: form.kind,
    fields: [...head, ...rest.map((each, i) => ({ name: form.names[i] ?? `field ${i + 1}`, text: each }))],
  };
}

/** As the bench sent it, before the rig's calibration. */
function sample(raw: string, column: number, group: number, channels: readonly Channel[]): LineField {
  const channel = channels.find(
    ({ origin }) => origin.kind === 'bench' && origin.group === group && origin.column === column,
  );
  if (channel === undefined || channel.origin.kind !== 'bench') return { name: `column ${column}`, text: raw };
  const code = stateLetters[raw];
  const name = (Object.keys(quality) as QualityName[]).find((each) => quality[each] === code);
  const value = Number(raw) * channel.origin.factor + channel.origin.offset;
  return {
    name: channel.key,
    text: name === undefined ? formatQuantity(value, channel.decimals, channel.unit) : states[name],
  };
}

function byProfile(text: string, profile: LineProfile): LineReading {
  if (text.trimEnd() === profile.header?.trimEnd()) return { kind: 'header', fields: [] };
  const split = splitLine(profile, text);
  if (!split.ok) return { kind: '', fields: [] };
  return {
    kind: 'values',
    fields: profile.columns.map((column) => ({ name: column.key, text: split.fields.at(column.at) })),
  };
}
