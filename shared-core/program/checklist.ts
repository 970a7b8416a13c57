/** Checklists as data; what was ticked is a session event. */
export const checklistStages = ['before-start', 'prime', 'start', 'shut-down'] as const;
export type ChecklistStage = (typeof checklistStages)[number];

export interface ChecklistItem {
  readonly id: string;
  readonly text: string;
  readonly why: string;
  /** What the page offers beside it: to hear the sound of each level. */
  readonly act?: 'sound-test' | undefined;
  /** A discrete input that shows it live, where one can. */
  readonly input?: { readonly key: string; readonly state: 0 | 1 } | undefined;
}

export interface Checklist {
  readonly stage: ChecklistStage;
  readonly title: string;
  readonly items: readonly ChecklistItem[];
}
