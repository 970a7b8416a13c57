/** Run states as they stand on screen. */
import type { RunState } from '../../shared-core/limits/rules.ts';

export const runStateWords: Readonly<Record<RunState, string>> = {
  standing: 'Standing',
  cranking: 'Cranking',
  running: 'Running',
  cooling: 'Cooling',
};
