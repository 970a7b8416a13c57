/**
 * What operators do, as the fold takes it: each act goes to the part that it
 * concerns. The fold ignores what is refused, so that a recording with such an
 * act replays alike.
 */
import type { AdvisoryDesk } from '../advisory/advisory.ts';
import type { CapturedPoint, OperatorAction } from '../journal.ts';
import type { AlarmBook } from '../limits/alarm-book.ts';
import type { Judge } from '../limits/judge.ts';
import type { AdvisoryCause } from '../limits/rules.ts';
import { type AlarmStanding, removeRefusal, shelveRefusal } from '../limits/set-aside.ts';
import type { ChecklistTicks } from '../program/checklist-ticks.ts';
import type { RunTracker } from '../program/run-state.ts';
import type { RigSheet } from '../rig/rig-sheet.ts';
import type { HostFacts } from './host-facts.ts';
import type { Notebook } from './notebook.ts';

type AsideAct = Extract<OperatorAction, { kind: 'shelve' | 'unshelve' | 'out-of-service' | 'back-in-service' }>;

/** The parts of the fold that operators act upon. */
export interface ActedUpon {
  readonly rig: RigSheet;
  readonly book: AlarmBook;
  readonly judge: Judge;
  readonly desk: AdvisoryDesk;
  readonly facts: HostFacts;
  readonly ticks: ChecklistTicks;
  readonly runs: RunTracker;
  readonly notebook: Notebook;
  capture(name: string, t_us: number): CapturedPoint;
}

export class OperatorActs {
  readonly #on: ActedUpon;

  constructor(on: ActedUpon) {
    this.#on = on;
  }

  /** Why this act would be refused now, in a plain sentence with what to do; null when it is allowed. */
  refusalOf(action: OperatorAction): string | null {
    const { book, rig, runs } = this.#on;
    switch (action.kind) {
      case 'shelve':
        return shelveRefusal(this.#standingOf(action.alarmId), action.reason, action.for_min);
      case 'out-of-service':
        return removeRefusal(this.#standingOf(action.alarmId), action.reason, runs.state);
      case 'unshelve':
        return book.lifeOf(action.alarmId) === 'shelved' ? null : 'This alarm is not shelved.';
      case 'back-in-service':
        return book.lifeOf(action.alarmId) === 'out-of-service' ? null : 'This alarm is in service.';
      case 'raise-advisory':
        if (!rig.plans.some((plan) => plan.cause === action.cause)) {
          return `The rig sheet has no plan for ${action.cause}. Act at the stand.`;
        }
        return null;
      default:
        return null;
    }
  }

  /** @returns a point that was captured, to be said; null for all else */
  take(t_us: number, by: string, action: OperatorAction): CapturedPoint | null {
    const { book, desk, facts, ticks, notebook } = this.#on;
    switch (action.kind) {
      case 'acknowledge':
        book.acknowledge(action.alarmId, t_us);
        break;
      case 'acknowledge-all':
        book.acknowledgeAll(t_us);
        break;
      case 'reset-alarms':
        book.reset(t_us);
        break;
      case 'silence':
        book.silence(t_us);
        break;
      case 'shelve':
      case 'unshelve':
      case 'out-of-service':
      case 'back-in-service':
        if (this.refusalOf(action) === null) this.#setAside(t_us, by, action);
        break;
      case 'raise-advisory':
        this.#raise(action.cause, by, t_us);
        break;
      case 'fasteners-locked':
        facts.locked();
        break;
      case 'mark':
        notebook.mark(t_us, by, action);
        break;
      case 'advisory-step':
        desk.confirm(action.advisoryId, action.stepId, t_us);
        break;
      case 'advisory-close':
        desk.close(action.advisoryId, t_us);
        break;
      case 'checklist':
        ticks.tick(action.itemId, action.isDone);
        break;
      case 'checklist-override':
        ticks.override();
        break;
      case 'capture-point': {
        const point = this.#on.capture(action.name, t_us);
        notebook.point(point);
        return point;
      }
    }
    return null;
  }

  #standingOf(alarmId: string): AlarmStanding | null {
    const { book, judge } = this.#on;
    const about = judge.subjectOf(alarmId);
    if (about === null) return null;
    return { title: about.title, level: about.rule.level, life: book.lifeOf(alarmId) };
  }

  #setAside(t_us: number, by: string, action: AsideAct): void {
    const { book, judge } = this.#on;
    const { alarmId } = action;
    const about = judge.subjectOf(alarmId);
    if (action.kind === 'unshelve') book.unshelve(alarmId, t_us);
    if (action.kind === 'back-in-service') book.backInService(alarmId, t_us);
    if (action.kind === 'unshelve' || action.kind === 'back-in-service' || about === null) return;
    const why = { by, reason: action.reason };
    if (action.kind === 'shelve') book.shelve(alarmId, about, { ...why, for_min: action.for_min }, t_us);
    else book.outOfService(alarmId, about, why, t_us);
  }

  #raise(cause: AdvisoryCause, by: string, t_us: number): void {
    const { rig, desk } = this.#on;
    const title = rig.plans.find((plan) => plan.cause === cause)?.title ?? cause;
    desk.open(cause, '', `${title}: raised by ${by}`, t_us);
  }
}
