import { expect, test } from 'vitest';
import { soundPatterns } from '../../renderer/alarms/sounds.ts';

test('given the patterns, then each level has its own rhythm, the graver the quicker, and a round ends before the next', () => {
  const rhythms = Object.values(soundPatterns).map(({ tones }) => tones.length);
  expect(new Set(rhythms).size).toBe(rhythms.length);
  for (const { tones, every_ms } of Object.values(soundPatterns)) {
    for (const tone of tones) expect(tone.at_ms + tone.length_ms).toBeLessThan(every_ms);
  }
  expect(soundPatterns.abort.every_ms).toBeLessThan(soundPatterns.warning.every_ms);
  expect(soundPatterns.warning.every_ms).toBeLessThan(soundPatterns.caution.every_ms);
});
