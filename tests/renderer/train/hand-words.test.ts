/** Who works the simulated stand, in words. */
import { expect, test } from 'vitest';
import { handWords } from '../../../renderer/train/hand-words.ts';

test.each([
  { person: true, live: false, says: 'the person at the stand' },
  { person: true, live: true, says: 'the person at the stand' },
  { person: false, live: true, says: 'you, with outputs live' },
  { person: false, live: false, says: 'nobody: the person has stood back, and outputs are locked' },
])('given the person there: $person, outputs live: $live, then it says so', ({ person, live, says }) => {
  expect(handWords(person, live)).toBe(says);
});
