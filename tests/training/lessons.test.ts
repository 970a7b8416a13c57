/** Every lesson on the simulator: what the strip says is enough to pass it, and nobody passes by doing nothing. */
import { afterEach, describe, expect, test } from 'vitest';
import { lapwing120 } from '../../shared-core/rig/lapwing.ts';
import { isGained } from '../../shared-core/training/lesson.ts';
import { lessons } from '../../shared-core/training/lesson-book.ts';
import { isFaultId } from '../../simulator/faults.ts';
import { isScenarioId, scenarios } from '../../simulator/scenarios.ts';
import { DeskRig, followTheStrip } from './desk-rig.ts';

let rig: DeskRig | null = null;
afterEach(async () => {
  await rig?.close();
  rig = null;
});

describe.each(lessons.map((lesson) => ({ id: lesson.id, lesson })))('given the lesson $id as data', ({ lesson }) => {
  test('when its points are added up, then what can be gained is 100', () => {
    const gained = lesson.rules.filter(isGained).reduce((sum, rule) => sum + rule.points, 0);
    expect(gained).toBe(100);
  });

  test('when what it names is looked up, then scenario, faults, rules, goals and events are all there', () => {
    if (!isScenarioId(lesson.scenario)) throw new Error(`no scenario ${lesson.scenario}`);
    // The lesson alone decides what goes wrong, and when.
    expect(scenarios[lesson.scenario].faults).toEqual([]);
    for (const event of lesson.events)
      expect([event.does.fault, isFaultId(event.does.fault)]).toEqual([event.does.fault, true]);
    const text = JSON.stringify(lesson);
    const rules: string[] = lapwing120.rules.map((rule) => rule.id);
    for (const [, list = ''] of text.matchAll(/"rules":\[("[^\]]*)\]/g)) {
      for (const id of JSON.parse(`[${list}]`) as string[]) expect(rules).toContain(id);
    }
    for (const expectation of lesson.expectations) {
      expect(lesson.events.map((each) => each.id)).toContain(expectation.event);
    }
    for (const rule of lesson.rules) {
      if (rule.kind === 'goal') expect(lesson.goals.map((each) => each.id)).toContain(rule.goal);
      if (rule.kind === 'order') expect(lesson.orders.map((each) => each.id)).toContain(rule.order);
      if ('expectation' in rule) expect(lesson.expectations.map((each) => each.id)).toContain(rule.expectation);
      expect(Object.keys(lesson.advice)).toContain(rule.id);
    }
  });

  test('when a trainee does what the strip says, then it is passed with 90 or more, and the recording tells the same', async () => {
    const desk = new DeskRig();
    rig = desk;
    const { session } = await desk.get('train.start', { lesson: lesson.id, mode: 'guided', trainee: 'trainee 1' });
    await followTheStrip(desk);
    const debrief = await desk.get('train.debrief', { sessionId: session });
    expect(debrief.verdict).toMatch(/^Passed/);
    expect(debrief.score).toBeGreaterThanOrEqual(90);
    expect(debrief.steps.every((step) => step.doneAt_s !== null)).toBe(true);
    await desk.acquisition.close();
    desk.now = null;
    expect(await desk.get('train.debrief', { sessionId: session })).toEqual(debrief);
    expect((await desk.get('train.records', {})).records).toMatchObject([
      { session, score: debrief.score, isPassed: true, lesson: lesson.id },
    ]);
  });

  test('when nobody does anything, then it is not passed', async () => {
    const desk = new DeskRig();
    rig = desk;
    await desk.get('train.start', { lesson: lesson.id, mode: 'assessment', trainee: 'trainee 1', seed: 3 });
    desk.pass(150);
    await desk.get('train.stop', { by: 'trainee 1' });
    expect(desk.view.ended).toMatchObject({ isPassed: false });
    expect(desk.view.ended!.score).toBeLessThan(lesson.pass);
  });
});
