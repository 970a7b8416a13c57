/** Whether a condition of a lesson is fulfilled, from the pipeline's view and what the lesson has come to. Pure. */
import { quality } from '../channels/quality.ts';
import { findChannel } from '../channels/usual-keys.ts';
import type { PipelineView } from '../pipeline-contract.ts';
import type { RigSheet } from '../rig/rig-sheet.ts';
import { isAct } from './acts.ts';
import type { Condition } from './lesson.ts';
import type { LessonState } from './lesson-state.ts';

export interface ConditionScene {
  readonly view: PipelineView;
  readonly rig: RigSheet;
  readonly state: LessonState;
}

/** Present good value of the channel that the key means; NaN where there is none. */
export function valueOfChannel(view: PipelineView, key: string): number {
  const { channels, value, quality: qualities } = view.values;
  const channel = findChannel(channels, key);
  if (channel === undefined || qualities[channel.ordinal] !== quality.good) return NaN;
  return value[channel.ordinal] ?? NaN;
}

export function isFulfilled(condition: Condition, scene: ConditionScene): boolean {
  const { view, state } = scene;
  switch (condition.is) {
    case 'channel': {
      const value = valueOfChannel(view, condition.channel);
      // Every comparison with NaN is false: a sensor that fails fulfils nothing.
      if (condition.above !== undefined && !(value > condition.above)) return false;
      if (condition.below !== undefined && !(value < condition.below)) return false;
      return !Number.isNaN(value);
    }
    case 'input':
      return view.inputs.find((each) => each.key === condition.input)?.state === condition.state;
    case 'run-state':
      return condition.states.includes(view.run.state);
    case 'has-run':
      return state.runStates.some((each) => each.state === 'running');
    case 'outputs': {
      const last = state.acts.findLast((each) => each.kind === 'outputs');
      return (last?.value === 1) === condition.live;
    }
    case 'starter-free':
      return !view.starter.isEngaged;
    case 'starter-rested':
      return !view.starter.isEngaged && view.starter.restLeft_s <= 0;
    case 'attempts':
      return state.cranks.filter((each) => each.to_s !== null).length >= condition.atLeast;
    case 'checklist': {
      const list = scene.rig.checklists.find((each) => each.stage === condition.stage);
      return (list?.items ?? []).every((item) => view.checklistDone.has(item.id));
    }
    case 'alarm':
      return state.alarms.some(
        (each) => condition.rules.includes(each.rule) && (condition.standing !== true || each.returnedAt_s === null),
      );
    case 'advisory':
      return state.advisories.some(
        (each) =>
          each.cause === condition.cause &&
          (condition.step === undefined
            ? each.change === (condition.change ?? 'opened')
            : each.step === condition.step && each.change === 'step-done'),
      );
    case 'done': {
      const since_s = condition.after === undefined ? 0 : (state.events[condition.after]?.happenedAt_s ?? Infinity);
      return state.acts.some((each) => each.at_s >= since_s && isAct(each, condition.what));
    }
    case 'event': {
      const at_s = state.events[condition.event]?.happenedAt_s ?? null;
      return at_s !== null && state.now_s >= at_s + (condition.ago_s ?? 0);
    }
    case 'all':
      return condition.of.every((each) => isFulfilled(each, scene));
    case 'any':
      return condition.of.some((each) => isFulfilled(each, scene));
    case 'not':
      return !isFulfilled(condition.of, scene);
  }
}
