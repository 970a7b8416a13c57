/** Words of the training screens, settings of faults, and lesson events in the list of Review. */
import { describe, expect, test } from 'vitest';
import { trainingLine } from '../../../renderer/review/training-words.ts';
import { optionFault, optionsOf } from '../../../renderer/train/fault-option-values.ts';
import { unbroken } from '../../../renderer/train/training-words.ts';
import { lessons } from '../../../shared-core/training/lesson-book.ts';

test.each([
  { text: 'below 130 °C, then', shown: 'below 130\u00a0°C, then' },
  { text: 'at most 8 s.', shown: 'at most 8\u00a0s.' },
  { text: 'within 10 seconds', shown: 'within 10 seconds' },
  { text: 'to 30 %: press', shown: 'to 30\u00a0%: press' },
])('given "$text", when it is shown, then number and unit stay together', ({ text, shown }) => {
  expect(unbroken(text)).toBe(shown);
});

describe('given a setting from 0 to 1', () => {
  const severity = { key: 'severity', label: 'severity', unit: '1', usual: 1, low: 0, high: 1 };
  test.each([
    { text: '0', isGood: true },
    { text: '1', isGood: true },
    { text: '0,5', isGood: true },
    { text: '1.01', isGood: false },
    { text: '-0.1', isGood: false },
    { text: '', isGood: false },
    { text: 'much', isGood: false },
    { text: 'NaN', isGood: false },
  ])('when "$text" is written, then good is $isGood', ({ text, isGood }) => {
    expect(optionFault(severity, text) === '').toBe(isGood);
    expect(optionsOf([severity], { severity: text }) !== null).toBe(isGood);
  });
  test('when nothing is written, then nothing is sent', () => {
    expect(optionsOf([severity], {})).toEqual({});
  });
});

test('given what a session keeps of a lesson, when it is listed, then each event has a line in plain words', () => {
  const head = { lesson: 'overspeed', version: 1, mode: 'practice', trainee: 'trainee 1', seed: 1 } as const;
  expect(trainingLine({ what: 'lesson-started', head })).toMatchObject({
    title: 'Lesson begins: Overspeed',
    detail: 'practice',
    by: 'trainee 1',
  });
  expect(trainingLine({ what: 'rewound', from: 's1', to_s: 75 })).toMatchObject({
    title: 'Rewound to 1:15',
    detail: 'from session s1',
  });
  expect(
    trainingLine({ what: 'fault', fault: 'fan-off', title: 'cooling fan fails', on: true, by: 'lesson' }),
  ).toMatchObject({ title: 'Simulated fault in: cooling fan fails', by: 'lesson' });
  expect(trainingLine({ what: 'hand', act: { kind: 'prime' }, tookEffect: false, by: 'trainee 1' })).toMatchObject({
    title: 'At the simulated stand: One stroke of the primer',
    detail: 'no effect',
  });
});

test('given every guided step, when it names controls, then a verb stands before each name, as a trainee needs', () => {
  for (const lesson of lessons) {
    for (const step of lesson.steps) {
      const names = [...step.says.matchAll(/“[^”]+”/g)].length;
      const acts = [...step.says.matchAll(/(?:press|hold|write|list|near|slider) “[^”]+”/gi)].length;
      expect([lesson.id, step.id, acts]).toEqual([lesson.id, step.id, names]);
    }
  }
});
