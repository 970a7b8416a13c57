/** Starter duty, and what else keeps the starter off, in a few words. Pure. */
import type { StarterDuty } from '../../shared-core/pipeline-contract.ts';
import type { StartLists } from '../../shared-core/program/checklist-ticks.ts';
import { formatClock } from '../ui/format.ts';

/** "8 s left" while cranking may go on or begin; "rest 1:43" while it may not. */
export function dutyWord(starter: StarterDuty | null): string {
  if (!starter) return '';
  if (starter.isEngaged) return `${Math.max(0, Math.ceil(starter.left_s))} s left`;
  if (starter.restLeft_s > 0) return `rest ${formatClock(Math.ceil(starter.restLeft_s))}`;
  return `ready, ${Math.floor(starter.left_s)} s`;
}

/** The open list stands before a starter that is ready; while it cranks or rests, its duty does. */
export function starterWord(starter: StarterDuty | null, lists: StartLists): string {
  const isReady = starter !== null && !starter.isEngaged && starter.restLeft_s <= 0;
  if (isReady && lists.open > 0 && !lists.isOverridden) return `list: ${lists.open} open`;
  return dutyWord(starter);
}
