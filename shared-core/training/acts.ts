/** What the trainee did, out of the journal's inputs, and whether it is the act that was meant. Pure. */

import type { Advisory } from '../advisory/plans.ts';
import type { JournalInput, OperatorAction } from '../journal.ts';
import type { Alarm } from '../limits/rules.ts';
import type { BenchCommand } from '../line/messages.ts';
import type { RigSheet } from '../rig/rig-sheet.ts';
import type { ActPattern } from './lesson.ts';
import type { TraineeAct } from './lesson-state.ts';
import { handWord } from './training-event.ts';

/** What stood when the act was done. */
export interface ActScene {
  readonly alarms: readonly Alarm[];
  readonly advisories: readonly Advisory[];
  readonly rig: RigSheet;
}

/** The act in an input of the journal, or null where it is none of a person's. */
export function actOf(body: JournalInput, at_s: number, scene: ActScene): TraineeAct | null {
  const base = { at_s, about: [] as string[], value: null, id: '', isRefused: false };
  switch (body.kind) {
    case 'command':
      // The host asks the bench who it is by itself.
      if (body.command.name === 'IDENTIFY') return null;
      return {
        ...base,
        kind: 'command',
        name: body.command.name,
        value: commandValue(body.command),
        words: commandWords(body.command),
        by: body.by,
        id: body.id,
      };
    case 'outputs':
      return {
        ...base,
        kind: 'outputs',
        name: 'live',
        value: body.live ? 1 : 0,
        words: body.live ? 'Outputs live' : `Outputs locked (${body.why})`,
        by: body.why.replace(/^by /, ''),
      };
    case 'operator':
      return { ...base, kind: 'operator', name: body.action.kind, by: body.by, ...told(body.action, scene) };
    case 'training':
      if (body.event.what !== 'hand' || !body.event.tookEffect) return null;
      return {
        ...base,
        kind: 'hand',
        name: body.event.act.kind,
        value: 'closed' in body.event.act ? Number(body.event.act.closed) : null,
        words: `At the stand: ${handWord(body.event.act).toLowerCase()}`,
        by: body.event.by,
      };
    default:
      return null;
  }
}

/** Whether it is the act that is meant. A refused command is none. */
export function isAct(done: TraineeAct, what: ActPattern): boolean {
  if (done.isRefused) return false;
  switch (what.act) {
    case 'command':
      if (done.kind !== 'command' || done.name !== what.name) return false;
      if (what.on !== undefined && done.value !== Number(what.on)) return false;
      if (what.atLeast_percent !== undefined && !((done.value ?? NaN) >= what.atLeast_percent)) return false;
      return what.atMost_percent === undefined || (done.value ?? NaN) <= what.atMost_percent;
    case 'outputs':
      return done.kind === 'outputs' && done.value === Number(what.live);
    case 'acknowledge':
      if (done.kind !== 'operator' || !done.name.startsWith('acknowledge') || done.about.length === 0) return false;
      return what.rules === undefined || done.about.some((rule) => what.rules?.includes(rule));
    case 'operator':
      return done.kind === 'operator' && done.name === what.kind;
    case 'advisory-step':
      return (
        done.kind === 'operator' && done.name === 'advisory-step' && done.about.includes(`${what.cause} ${what.step}`)
      );
    case 'hand':
      if (done.kind !== 'hand' || done.name !== what.kind) return false;
      return what.closed === undefined || done.value === Number(what.closed);
  }
}

function commandValue(command: BenchCommand): number | null {
  if ('permille' in command) return command.permille / 10;
  return 'on' in command ? Number(command.on) : null;
}

const switchWords: Readonly<Record<string, string>> = {
  SERVO: 'Servo',
  IGNITION: 'Ignition',
  SUPPLY: 'Supply',
  FAN: 'Fan',
};

function commandWords(command: BenchCommand): string {
  if ('permille' in command) {
    return command.permille === 0 ? 'Throttle closed' : `Throttle to ${command.permille / 10} %`;
  }
  if (command.name === 'STARTER' && 'on' in command) return command.on ? 'Starter pressed' : 'Starter let go';
  if ('on' in command) return `${switchWords[command.name] ?? command.name} ${command.on ? 'on' : 'off'}`;
  return command.name.toLowerCase().replace('-', ' ');
}

function told(action: OperatorAction, scene: ActScene): Pick<TraineeAct, 'about' | 'words'> {
  switch (action.kind) {
    case 'acknowledge': {
      const alarm = scene.alarms.find((each) => each.id === action.alarmId);
      return {
        about: alarm === undefined ? [] : [alarm.rule],
        words: `Acknowledged ${alarm?.title ?? action.alarmId}`,
      };
    }
    case 'acknowledge-all': {
      const waiting = scene.alarms.filter((each) => each.acknowledgedAt_us === null);
      return {
        about: [...new Set(waiting.map((each) => String(each.rule)))],
        words:
          waiting.length === 0
            ? 'Acknowledged, though nothing waited'
            : `Acknowledged ${[...new Set(waiting.map((each) => each.title))].join(', ')}`,
      };
    }
    case 'reset-alarms':
      return { about: [], words: 'Alarms reset' };
    case 'mark':
      return { about: [], words: `Mark: ${action.text}` };
    case 'advisory-step': {
      const advisory = scene.advisories.find((each) => each.id === action.advisoryId);
      const step = advisory?.steps.find((each) => each.step.id === action.stepId)?.step;
      return {
        about: advisory === undefined ? [] : [`${advisory.cause} ${action.stepId}`],
        words: `Confirmed: ${step?.imperative ?? action.stepId}`,
      };
    }
    case 'advisory-close':
      return { about: [], words: 'Advisory closed' };
    case 'checklist': {
      const item = scene.rig.checklists.flatMap((list) => list.items).find((each) => each.id === action.itemId);
      return { about: [], words: `${action.isDone ? 'Ticked' : 'Took back'}: ${item?.text ?? action.itemId}` };
    }
    case 'checklist-override':
      return { about: [], words: `Checklist left open: ${action.reason}` };
    case 'capture-point':
      return { about: [], words: `Point captured: ${action.name}` };
    case 'silence':
      return { about: [], words: 'Sound silenced' };
    case 'shelve':
      return { about: [], words: `Alarm shelved: ${action.reason}` };
    case 'unshelve':
      return { about: [], words: 'Alarm taken off the shelf' };
    case 'out-of-service':
      return { about: [], words: `Alarm taken out of service: ${action.reason}` };
    case 'back-in-service':
      return { about: [], words: 'Alarm put back into service' };
    case 'raise-advisory':
      return { about: [], words: `Advisory called: ${action.cause}` };
    case 'fasteners-locked':
      return { about: [], words: 'Fasteners secured' };
  }
}
