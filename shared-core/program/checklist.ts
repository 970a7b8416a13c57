/** Checklists as data; what was ticked is a session event. */
import type { ChannelKey } from '../channels/channel.ts';

/** In the order of the work: the first four once for each build-up, the others for each run. */
export const checklistStages = [
  'mount',
  'wire',
  'fuel',
  'guard',
  'before-start',
  'prime',
  'start',
  'shut-down',
] as const;
export type ChecklistStage = (typeof checklistStages)[number];

export interface ChecklistItem {
  readonly id: string;
  readonly text: string;
  readonly why: string;
  /** What the page offers beside it: to hear the sound of each level. */
  readonly act?: 'sound-test' | undefined;
  /** A discrete input that shows it live, where one can. */
  readonly input?: { readonly key: string; readonly state: 0 | 1 } | undefined;
  /** A channel that shows it live: "supply above 11.5 V". The value is in the channel's core unit. */
  readonly channel?: { readonly key: ChannelKey; readonly is: 'above' | 'below'; readonly value: number } | undefined;
}

export interface Checklist {
  readonly stage: ChecklistStage;
  readonly title: string;
  readonly items: readonly ChecklistItem[];
}
