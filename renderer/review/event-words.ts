/**
 * The events of a recorded session as lines of a list: what happened, in a
 * fitter's words, and to which group it belongs. Pure.
 */
import { assertNever } from '../../shared-core/base/result.ts';
import type { Channel, ChannelKey } from '../../shared-core/channels/channel.ts';
import type { JournalEvent, JournalInput, JournalOutput, OperatorAction } from '../../shared-core/journal.ts';
import type { AlarmLevel } from '../../shared-core/limits/rules.ts';
import type { InputState } from '../../shared-core/line/messages.ts';
import type { RigSheet } from '../../shared-core/rig/rig-sheet.ts';
import { commandWord } from '../run/command-word.ts';
import { inputTitle } from '../run/input-words.ts';
import { formatAge, formatClock, formatNumber, formatQuantity } from '../ui/format.ts';
import { trainingLine } from './training-words.ts';

export const eventGroups = ['alarms', 'advisories', 'operator', 'commands', 'runs', 'link'] as const;
export type EventGroup = (typeof eventGroups)[number];

export const groupTitles: Readonly<Record<EventGroup, string>> = {
  alarms: 'Alarms',
  advisories: 'Advisories',
  operator: 'Operator',
  commands: 'Commands',
  runs: 'Runs and inputs',
  link: 'Link and host',
};

export interface EventLine {
  readonly ord: number;
  readonly t_us: number;
  readonly group: EventGroup;
  /** Of an alarm that tripped, or an advisory that opened; null for the rest. */
  readonly level: AlarmLevel | null;
  readonly title: string;
  readonly detail: string;
  readonly by: string;
}

export type Told = Pick<EventLine, 'group' | 'title'> & Partial<Pick<EventLine, 'level' | 'detail' | 'by'>>;
type SheetWords = Pick<RigSheet, 'plans' | 'checklists' | 'rules'>;
type Units = ReadonlyMap<ChannelKey, Pick<Channel, 'unit'>>;

/** All that is worth a line, in order. Counts and clock mappings, which come every second, are left out. */
export function eventLines(
  events: readonly JournalEvent[],
  rig: SheetWords | null,
  channels: Units,
): readonly EventLine[] {
  const teller = new Teller(rig, channels);
  const lines: EventLine[] = [];
  for (const event of events) {
    const told = event.side === 'in' ? teller.input(event.body) : teller.output(event.body, event.t_us);
    if (told) lines.push({ ord: event.ord, t_us: event.t_us, level: null, detail: '', by: '', ...told });
  }
  return lines;
}

/** Index of the last line at or before a time; −1 before the first. */
export function lineAt(lines: readonly EventLine[], t_us: number): number {
  let low = 0;
  let high = lines.length;
  while (low < high) {
    const mid = (low + high) >> 1;
    if (lines[mid]!.t_us <= t_us) low = mid + 1;
    else high = mid;
  }
  return low - 1;
}

/** Remembers what earlier events said, so that an answer names its command and a step its plan. */
class Teller {
  readonly #rig: SheetWords | null;
  readonly #channels: Units;
  readonly #commands = new Map<string, string>();
  readonly #alarms = new Map<string, string>();
  readonly #advisories = new Map<string, { readonly cause: string; readonly openedAt_us: number }>();
  #bench = '';
  readonly #states: InputState[] = [];
  readonly #inputs: string[] = [];
  readonly #words: (readonly [string, string])[] = [];

  constructor(rig: SheetWords | null, channels: Units) {
    this.#rig = rig;
    this.#channels = channels;
  }

  input(body: JournalInput): Told | null {
    switch (body.kind) {
      case 'link':
        return { group: 'link', title: linkTitles[body.state], detail: body.detail };
      case 'identity': {
        // The bench says who it is every few seconds; a line is due when it is another, or has booted anew.
        const { bench, firmware, boot, layout } = body.identity;
        const now = [bench, firmware, boot, layout].join(' ');
        if (now === this.#bench) return null;
        this.#bench = now;
        return { group: 'link', title: `Bench ${bench}`, detail: `firmware ${firmware}, boot ${boot}` };
      }
      case 'table':
        this.#inputs.length = 0;
        this.#words.length = 0;
        for (const row of body.table.inputs) {
          this.#inputs[row.input] = row.key;
          this.#words[row.input] = [row.word0, row.word1];
        }
        return { group: 'link', title: 'Channel table', detail: `${body.table.channels.length} channels` };
      case 'wrong-version':
        return { group: 'link', title: 'Unknown protocol version', detail: body.version };
      case 'input': {
        // The bench repeats its inputs; only a change is worth a line.
        if (this.#states[body.input] === body.state) return null;
        this.#states[body.input] = body.state;
        const key = this.#inputs[body.input] ?? `input ${body.input}`;
        const word = body.state === 'X' ? 'not known' : (this.#words[body.input]?.[body.state] ?? String(body.state));
        return { group: 'runs', title: `${inputTitle(key)}: ${word}` };
      }
      case 'text':
        return { group: 'link', title: `Bench ${textTitles[body.weight]}`, detail: body.text };
      case 'command':
        this.#commands.set(body.id, commandWord(body.command));
        return { group: 'commands', title: commandWord(body.command), by: body.by };
      case 'answer': {
        const command = this.#commands.get(body.answer.id) ?? `command ${body.answer.id}`;
        if (body.answer.kind === 'accepted') return { group: 'commands', title: `${command}: done` };
        const why = [body.answer.reason, ...body.answer.words].join(' ').toLowerCase().replaceAll('-', ' ');
        return { group: 'commands', title: `${command}: refused`, detail: why };
      }
      case 'command-unanswered':
        return { group: 'commands', title: `${this.#commands.get(body.id) ?? `command ${body.id}`}: no answer` };
      case 'outputs':
        return { group: 'commands', title: body.live ? 'Outputs live' : 'Outputs locked', detail: body.why };
      case 'operator':
        return { group: 'operator', by: body.by, ...this.#action(body.action) };
      case 'host':
        return { group: 'link', title: 'Host', detail: body.text };
      case 'recorder':
        if (body.state === 'recording') return { group: 'link', title: 'Recorder: writing' };
        return {
          group: 'link',
          title: `Recorder: ${body.state}`,
          detail: body.held_s > 0 ? `${formatNumber(body.held_s, 0)} s held in memory` : '',
        };
      case 'hours':
        return {
          group: 'link',
          title: 'Hours of the engine',
          detail: `${formatNumber(body.total_h, 1)} h in all, ${formatNumber(body.sinceLocked_h, 1)} h since fasteners were locked`,
        };
      case 'training':
        return trainingLine(body.event);
      case 'counts':
      case 'clock':
      case 'latency':
        return null;
      default:
        return assertNever(body);
    }
  }

  output(body: JournalOutput, t_us: number): Told | null {
    switch (body.kind) {
      case 'alarm': {
        this.#alarms.set(body.id, body.title);
        // Acknowledging stands already as the operator's act.
        if (body.change === 'acknowledged') return null;
        const isTrip = body.change === 'tripped';
        const numbers =
          isTrip && body.value !== null && body.limit !== null
            ? `${formatNumber(body.value, decimalsOf(body.value))} against ${formatQuantity(body.limit, Number.isInteger(body.limit) ? 0 : decimalsOf(body.limit), this.#unitOf(body.rule))}`
            : '';
        return {
          group: 'alarms',
          level: isTrip ? body.level : null,
          title: isTrip ? body.title : `${body.title}: ${changeWords[body.change] ?? body.change}`,
          detail: [numbers, isTrip && body.isFirstOut ? 'first-out' : ''].filter(Boolean).join(', '),
        };
      }
      case 'run-state':
        return { group: 'runs', title: `Engine ${body.state}`, detail: body.run > 0 ? `run ${body.run}` : '' };
      case 'advisory': {
        const plan = this.#rig?.plans.find((p) => p.cause === body.cause);
        if (body.change === 'opened') this.#advisories.set(body.id, { cause: body.cause, openedAt_us: t_us });
        const opened = this.#advisories.get(body.id);
        const after =
          opened && t_us > opened.openedAt_us ? `${formatAge((t_us - opened.openedAt_us) / 1e6)} after the trip` : '';
        const title = plan?.title ?? body.cause;
        const step = plan?.steps.find((s) => s.id === body.stepId)?.imperative ?? body.stepId ?? '';
        const change = body.change;
        switch (change) {
          case 'opened':
            return {
              group: 'advisories',
              level: plan?.kind === 'cool-down' ? null : 'abort',
              title: `Advisory: ${title}`,
              detail: plan?.imperative ?? '',
            };
          case 'step-done':
            return {
              group: 'advisories',
              title: step,
              detail: [body.doneBy === 'channel' ? 'shown by the channels' : 'confirmed by the operator', after]
                .filter(Boolean)
                .join(', '),
            };
          case 'step-overdue':
            return { group: 'advisories', title: `Overdue: ${step}`, detail: after };
          case 'completed':
            return { group: 'advisories', title: `${title}: all steps done`, detail: after };
          case 'escalated':
            return { group: 'advisories', title: `${title}: insists, ${step}`, detail: after };
          case 'closed':
            return { group: 'advisories', title: `${title}: closed`, detail: after };
          case 'withdrawn':
            return { group: 'advisories', title: `${title}: withdrawn, back at power`, detail: after };
          default:
            return assertNever(change);
        }
      }
      case 'flood':
        return {
          group: 'alarms',
          title: body.on ? 'Alarm flood' : 'Alarm flood over',
          detail: `${body.alarms} alarms in 10 minutes`,
        };
      case 'point':
        return { group: 'operator', title: `Point ${body.point.name}`, detail: `${body.point.samples} samples` };
      default:
        return assertNever(body);
    }
  }

  #unitOf(ruleId: string): string {
    const rule = this.#rig?.rules.find((each) => each.id === ruleId);
    if (rule?.kind !== 'threshold' && rule?.kind !== 'timed-band') return '';
    return this.#channels.get(rule.channel)?.unit ?? '';
  }

  #action(action: OperatorAction): Pick<Told, 'title' | 'detail'> {
    switch (action.kind) {
      case 'acknowledge':
        return { title: `Acknowledged ${this.#alarms.get(action.alarmId) ?? action.alarmId}` };
      case 'acknowledge-all':
        return { title: 'Acknowledged all alarms' };
      case 'reset-alarms':
        return { title: 'Reset alarms' };
      case 'silence':
        return { title: 'Silenced the sound for 60 s' };
      case 'shelve':
        return {
          title: `Shelved ${this.#alarms.get(action.alarmId) ?? action.alarmId}`,
          detail: `for ${action.for_min} min: ${action.reason}`,
        };
      case 'unshelve':
        return { title: `Took ${this.#alarms.get(action.alarmId) ?? action.alarmId} off the shelf` };
      case 'out-of-service':
        return {
          title: `Took ${this.#alarms.get(action.alarmId) ?? action.alarmId} out of service`,
          detail: action.reason,
        };
      case 'back-in-service':
        return { title: `Put ${this.#alarms.get(action.alarmId) ?? action.alarmId} back in service` };
      case 'raise-advisory':
        return { title: `Raised the advisory for ${action.cause}` };
      case 'fasteners-locked':
        return { title: 'Fasteners secured and torqued anew' };
      case 'mark':
        return {
          title: 'Mark',
          detail: action.t_us === undefined ? action.text : `${action.text} (of ${formatClock(action.t_us / 1e6)})`,
        };
      case 'advisory-step': {
        const cause = this.#advisories.get(action.advisoryId)?.cause;
        const plan = this.#rig?.plans.find((p) => p.cause === cause);
        const step = plan?.steps.find((s) => s.id === action.stepId);
        return { title: 'Confirmed a step', detail: step?.imperative ?? action.stepId };
      }
      case 'advisory-close':
        return { title: 'Closed the advisory' };
      case 'checklist': {
        const item = this.#rig?.checklists.flatMap((list) => list.items).find((each) => each.id === action.itemId);
        return { title: action.isDone ? 'Ticked' : 'Unticked', detail: item?.text ?? action.itemId };
      }
      case 'checklist-override':
        return { title: 'Started without the whole checklist', detail: action.reason };
      case 'capture-point':
        return { title: 'Asked for a point', detail: action.name };
      default:
        return assertNever(action);
    }
  }
}

/** What became of an alarm, where the recording's own word is not what a person would say. */
const changeWords: Readonly<Record<string, string>> = {
  unshelved: 'back from the shelf',
  removed: 'out of service',
  restored: 'back in service',
};

const linkTitles: Readonly<Record<Extract<JournalInput, { kind: 'link' }>['state'], string>> = {
  opened: 'Link opened',
  closed: 'Link closed',
  silent: 'Link silent',
  heard: 'Bench heard',
};

const textTitles: Readonly<Record<'N' | 'W' | 'F', string>> = { N: 'note', W: 'warning', F: 'fault' };

/** Enough to see by how much a limit was passed: 220.2 against 220, 7,012 against 7,000. */
function decimalsOf(value: number): number {
  const size = Math.abs(value);
  return size >= 1000 ? 0 : size >= 10 ? 1 : 2;
}
