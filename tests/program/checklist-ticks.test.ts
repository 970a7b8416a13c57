import { describe, expect, test } from 'vitest';
import type { RunState } from '../../shared-core/limits/rules.ts';
import type { Checklist } from '../../shared-core/program/checklist.ts';
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

describe('given lists before a start', () => {
  const lists: readonly Checklist[] = [
    { stage: 'mount', title: 'Mount', items: [{ id: 'bolts', text: 'Bolts', why: 'invented' }] },
    {
      stage: 'before-start',
      title: 'Before',
      items: ['cage', 'plane'].map((id) => ({ id, text: id, why: 'invented' })),
    },
    { stage: 'prime', title: 'Prime', items: [{ id: 'primed', text: 'Primed', why: 'invented' }] },
    { stage: 'start', title: 'Start', items: [{ id: 'clear', text: 'Clear', why: 'invented' }] },
  ];
  test('when nothing is ticked, then only what comes before cranking is open', () => {
    expect(new ChecklistTicks(lists).start).toEqual({ open: 2, isOverridden: false });
    expect(new ChecklistTicks([]).start).toEqual({ open: 0, isOverridden: false });
  });
  test('when one is ticked and unticked, then it counts as it stands', () => {
    const ticks = new ChecklistTicks(lists);
    ticks.tick('cage', true);
    ticks.tick('plane', true);
    expect(ticks.start.open).toBe(0);
    ticks.tick('cage', false);
    expect(ticks.start.open).toBe(1);
  });
  test('when the override was recorded, then it outlasts a failed attempt and ends with the run', () => {
    const ticks = new ChecklistTicks(lists);
    ticks.override();
    for (const state of ['cranking', 'standing', 'cranking', 'running'] as const) {
      ticks.runStateIs(state);
      expect(ticks.start.isOverridden).toBe(true);
    }
    ticks.runStateIs('cooling');
    expect(ticks.start).toEqual({ open: 2, isOverridden: false });
  });
});
