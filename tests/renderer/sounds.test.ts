import { describe, expect, test } from 'vitest';
import { levelToSound, noSilence, SILENCE_MS, silenced, soundPatterns } from '../../renderer/alarms/sounds.ts';
import { ruleId } from '../../shared-core/base/ids.ts';
import type { Alarm, AlarmLevel, AlarmState } from '../../shared-core/limits/rules.ts';

function alarm(id: string, level: AlarmLevel, state: AlarmState = 'active-unacknowledged', trippedAt_us = 1): Alarm {
  return {
    id,
    rule: ruleId(id),
    level,
    title: id,
    subject: null,
    state,
    trippedAt_us,
    returnedAt_us: null,
    acknowledgedAt_us: null,
    value: 1,
    limit: 0,
    unit: '',
    isFirstOut: false,
    consequence: '',
    operatorAction: '',
  };
}

describe('given alarms that stand', () => {
  test.each([
    { name: 'none', alarms: [], level: null },
    { name: 'a notice', alarms: [alarm('n', 'notice')], level: null },
    { name: 'a caution', alarms: [alarm('c', 'caution')], level: 'caution' },
    { name: 'a caution and an abort', alarms: [alarm('c', 'caution'), alarm('a', 'abort')], level: 'abort' },
    { name: 'an acknowledged abort', alarms: [alarm('a', 'abort', 'active-acknowledged')], level: null },
    { name: 'a latched one', alarms: [alarm('a', 'abort', 'latched')], level: null },
    { name: 'one that returned unseen', alarms: [alarm('w', 'warning', 'returned-unacknowledged')], level: 'warning' },
  ] as const)('when there is $name, then $level sounds', ({ alarms, level }) => {
    expect(levelToSound(alarms, noSilence, 1000)).toBe(level);
  });
});

describe('given silence for what waits', () => {
  const waiting = [alarm('c', 'caution'), alarm('a', 'abort')];
  const silence = silenced(waiting, 1000);

  test('when nothing new trips, then it is quiet for a minute, and sounds again after it', () => {
    expect(levelToSound(waiting, silence, 1000)).toBeNull();
    expect(levelToSound(waiting, silence, 1000 + SILENCE_MS - 1)).toBeNull();
    expect(levelToSound(waiting, silence, 1000 + SILENCE_MS)).toBe('abort');
  });

  test('when another trips, then it sounds at once, though it is less grave', () => {
    expect(levelToSound([...waiting, alarm('w', 'warning')], silence, 2000)).toBe('warning');
  });

  test('when a hushed one returns and trips again, then it is new', () => {
    expect(levelToSound([alarm('c', 'caution', 'active-unacknowledged', 99)], silence, 2000)).toBe('caution');
  });
});

test('given the patterns, then each level has its own rhythm, and a round ends before the next', () => {
  const rhythms = Object.values(soundPatterns).map(({ tones }) => tones.length);
  expect(new Set(rhythms).size).toBe(rhythms.length);
  for (const { tones, every_ms } of Object.values(soundPatterns)) {
    for (const tone of tones) expect(tone.at_ms + tone.length_ms).toBeLessThan(every_ms);
  }
  expect(soundPatterns.abort.every_ms).toBeLessThan(soundPatterns.warning.every_ms);
  expect(soundPatterns.warning.every_ms).toBeLessThan(soundPatterns.caution.every_ms);
});
