/** State of a checklist item from what was ticked and what its input shows. Pure. */
import type { InputState } from '../../shared-core/line/messages.ts';
import type { Checklist, ChecklistItem } from '../../shared-core/program/checklist.ts';

/** `contradicted`: ticked, yet the input shows otherwise. `shown`: not ticked, yet the input shows it. */
export type ItemState = 'open' | 'shown' | 'open-contradicted' | 'done' | 'contradicted';

export function itemState(item: ChecklistItem, done: readonly string[], input: InputState | null): ItemState {
  const isDone = done.includes(item.id);
  if (!item.input || input === null) return isDone ? 'done' : 'open';
  const agrees = input === item.input.state;
  if (isDone) return agrees ? 'done' : 'contradicted';
  return agrees ? 'shown' : 'open-contradicted';
}

/** Items of a list that nobody has ticked. */
export function openItems(list: Checklist, done: readonly string[]): readonly ChecklistItem[] {
  return list.items.filter((item) => !done.includes(item.id));
}
