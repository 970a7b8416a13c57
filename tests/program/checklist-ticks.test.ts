import { describe, expect, test } from 'vitest';
import type { RunState } from '../../shared-core/limits/rules.ts';
import { ChecklistTicks } from '../../shared-core/program/checklist-ticks.ts';

/** Both lists ticked at rest, then the run states follow. */
function afterStates(...states: RunState[]): string[] {
  const ticks = new ChecklistTicks([
    { stage: 'start', title: 'Start', items: [{ id: 'clear', text: 'Arc clear', why: 'invented' }] },
    { stage: 'shut-down', title: 'Shut down', items: [{ id: 'fuel-off', text: 'Fuel off', why: 'invented' }] },
  ]);
  ticks.tick('clear', true);
  ticks.tick('fuel-off', true);
  for (const state of states) ticks.runStateIs(state);
  return [...ticks.done];
}

describe('given ticked lists before and after a run', () => {
  test.each<{ states: RunState[]; left: string[] }>([
    { states: ['cranking'], left: ['clear', 'fuel-off'] },
    { states: ['cranking', 'standing'], left: ['clear', 'fuel-off'] },
    { states: ['cranking', 'running'], left: ['clear'] },
    { states: ['cranking', 'running', 'cooling'], left: [] },
    { states: ['cranking', 'running', 'standing'], left: [] },
  ])('when the engine goes through $states, then $left is still ticked', ({ states, left }) => {
    expect(afterStates(...states)).toEqual(left);
  });
  test('when a hot engine cools after its run, then what was ticked in the meantime stays', () => {
    const ticks = new ChecklistTicks([
      { stage: 'start', title: 'Start', items: [{ id: 'clear', text: 'Arc clear', why: 'invented' }] },
    ]);
    for (const state of ['cranking', 'running', 'cooling'] as const) ticks.runStateIs(state);
    ticks.tick('clear', true);
    ticks.runStateIs('standing');
    expect([...ticks.done]).toEqual(['clear']);
  });
});
