import { expect, test } from 'vitest';
import { outputsWord } from '../../renderer/run/outputs-word.ts';

const locked = { live: false, kept: false, why: '', liveFor_s: 0, falls_s: null, commands: [] };

test.each([
  { view: locked, word: 'Locked since the start.' },
  { view: { ...locked, why: 'link lost' }, word: 'Locked: link lost.' },
  {
    view: { ...locked, live: true, liveFor_s: 42, falls_s: 257.5 },
    word: 'Live for 0:42, locks in 4:18 without a command.',
  },
  { view: { ...locked, live: true, liveFor_s: 3601 }, word: 'Live for 1:00:01, while the engine turns.' },
  {
    view: {
      ...locked,
      kept: true,
      why: 'advisory running: Fire; the lease is kept while the engine runs',
      falls_s: 300,
    },
    word: 'Locked: advisory running: Fire; the lease is kept while the engine runs, at most 5:00 more.',
  },
  { view: { ...locked, unavailable: 'Only listened to.' }, word: 'Only listened to.' },
])('given outputs as they stand, then they are told as "$word"', ({ view, word }) => {
  expect(outputsWord(view)).toBe(word);
});
