/** Edits of the checklists of a rig sheet, and what must be put right before they can be saved. Pure. */
import {
  type Checklist,
  type ChecklistItem,
  type ChecklistStage,
  checklistStages,
} from '../../shared-core/program/checklist.ts';

export const stageTitles: Readonly<Record<ChecklistStage, string>> = {
  mount: 'Mount',
  wire: 'Wire',
  fuel: 'Fuel',
  guard: 'Guard',
  'before-start': 'Before the start',
  prime: 'Prime',
  start: 'Start',
  'shut-down': 'Shut down',
};

/** Every stage in order; those that the sheet lacks are empty. */
export function allStages(lists: readonly Checklist[]): readonly Checklist[] {
  return checklistStages.map(
    (stage) => lists.find((each) => each.stage === stage) ?? { stage, title: stageTitles[stage], items: [] },
  );
}

/** As the sheet keeps them: without the empty ones. */
export function keptLists(lists: readonly Checklist[]): readonly Checklist[] {
  return lists.filter((each) => each.items.length > 0);
}

export function withItems(
  lists: readonly Checklist[],
  stage: ChecklistStage,
  edit: (items: readonly ChecklistItem[]) => readonly ChecklistItem[],
): readonly Checklist[] {
  return lists.map((each) => (each.stage === stage ? { ...each, items: edit(each.items) } : each));
}

/** A new item at the end, with an id that no list has. */
export function withNewItem(lists: readonly Checklist[], stage: ChecklistStage): readonly Checklist[] {
  const taken = new Set(lists.flatMap((list) => list.items.map((item) => item.id)));
  let n = 1;
  while (taken.has(`${stage}-${n}`)) n++;
  return withItems(lists, stage, (items) => [...items, { id: `${stage}-${n}`, text: '', why: '' }]);
}

export function itemMoved(items: readonly ChecklistItem[], at: number, by: -1 | 1): readonly ChecklistItem[] {
  const [here, there] = [items[at], items[at + by]];
  if (here === undefined || there === undefined) return items;
  return items.map((each, i) => (i === at ? there : i === at + by ? here : each));
}

/** One sentence for each item that cannot be saved as it is. */
export function itemFindings(lists: readonly Checklist[]): readonly string[] {
  return lists.flatMap((list) =>
    list.items.flatMap((item, i) => {
      const where = `${stageTitles[list.stage]}, item ${i + 1}`;
      return [
        ...(item.text.trim() === '' ? [`${where}: say what is checked.`] : []),
        ...(item.why.trim() === '' ? [`${where}: give the reason; an item without one is ticked unread.`] : []),
        ...(item.channel && !Number.isFinite(item.channel.value) ? [`${where}: the live check needs a number.`] : []),
      ];
    }),
  );
}
