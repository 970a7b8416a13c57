/** State of a checklist item from what was ticked and what its input or channel shows. Pure. */
import type { InputState } from '../../shared-core/line/messages.ts';
import type { Checklist, ChecklistItem } from '../../shared-core/program/checklist.ts';

/** `contradicted`: ticked, yet the input shows otherwise. `shown`: not ticked, yet the input shows it. */
export type ItemState = 'open' | 'shown' | 'open-contradicted' | 'done' | 'contradicted';

/** @param value of the item's channel; NaN where it is not good: then it shows nothing */
export function channelAgrees(check: NonNullable<ChecklistItem['channel']>, value: number): boolean {
  return check.is === 'above' ? value > check.value : value < check.value;
}

export function itemState(
  item: ChecklistItem,
  done: readonly string[],
  input: InputState | null,
  value: number | null = null,
): ItemState {
  const isDone = done.includes(item.id);
  const said = [
    ...(item.input && input !== null ? [input === item.input.state] : []),
    ...(item.channel && value !== null ? [channelAgrees(item.channel, value)] : []),
  ];
  if (said.length === 0) return isDone ? 'done' : 'open';
  const agrees = said.every(Boolean);
  if (isDone) return agrees ? 'done' : 'contradicted';
  return agrees ? 'shown' : 'open-contradicted';
}

/** Items of a list that nobody has ticked. */
export function openItems(list: Checklist, done: readonly string[]): readonly ChecklistItem[] {
  return list.items.filter((item) => !done.includes(item.id));
}
