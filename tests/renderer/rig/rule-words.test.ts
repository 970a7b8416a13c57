/** Limit rules in words; the rules are those of the demo rig sheet. */
import { describe, expect, test } from 'vitest';
import {
  delayWords,
  durationWords,
  judgedWords,
  needsHardWiredTrip,
  ruleWords,
} from '../../../renderer/rig/rule-words.ts';
import { lapwing120 } from '../../../shared-core/rig/lapwing.ts';

const channels = new Map([
  ['rpm', { label: 'Rpm', unit: 'rpm', decimals: 0 }],
  ['cht1', { label: 'CHT 1', unit: '°C', decimals: 1 }],
  ['supply_volt', { label: 'Supply voltage', unit: 'V', decimals: 2 }],
]);
const inputs = [{ key: 'cage', words: ['open', 'closed'] as const }];

function wordsOf(id: string) {
  const rule = lapwing120.rules.find((each) => each.id === id);
  if (!rule) throw new Error(`the demo rig has no rule ${id}`);
  return ruleWords(rule, channels, inputs);
}

describe('given a threshold rule', () => {
  test('when it is high, then trip and reset stand with unit and delays', () => {
    expect(wordsOf('rpm-abort')).toEqual({
      watches: 'Rpm',
      trips: 'above 7\u2009000\u2009rpm for 50\u2009ms',
      resets: 'below 6\u2009500\u2009rpm for 500\u2009ms',
      judged: 'always',
    });
  });
  test('when it is low, then below and above change places, and decimals are those of the limit', () => {
    const words = wordsOf('supply-low');
    expect(words.trips).toBe('below 11.5\u2009V for 3\u2009s');
    expect(words.resets).toBe('above 11.8\u2009V for 1\u2009s');
    expect(words.judged).toBe('standing, running or cooling');
  });
  test('when this bench does not have the channel, then that is said', () => {
    expect(wordsOf('cht3-abort').watches).toBe('cht3 (this bench has none)');
  });
  test('when no channel table has come, then nothing is claimed about the bench', () => {
    const rule = lapwing120.rules.find((each) => each.id === 'cht3-abort');
    expect(rule && ruleWords(rule, new Map(), []).watches).toBe('cht3');
  });
});

test('given a rule on an input, when the bench has named its states, then those words are used', () => {
  expect(wordsOf('cage-open').trips).toBe('open for 100\u2009ms');
  expect(wordsOf('cage-open').resets).toBe('closed');
  expect(wordsOf('stop-circuit').trips).toBe('in state 0');
});

test('given every rule of the demo rig, when put into words, then no part is empty', () => {
  for (const rule of lapwing120.rules) {
    for (const [part, text] of Object.entries(ruleWords(rule, channels, inputs))) {
      expect(text, `${rule.id} ${part}`).not.toBe('');
      expect(text, `${rule.id} ${part}`).not.toContain('undefined');
    }
  }
});

test.each([
  { timeToAct_s: 4.9, needs: true },
  { timeToAct_s: 5, needs: false },
  { timeToAct_s: 5.1, needs: false },
])('given a time to act of $timeToAct_s s, then a hard-wired trip is needed: $needs', ({ timeToAct_s, needs }) => {
  expect(needsHardWiredTrip({ timeToAct_s })).toBe(needs);
});

test.each([
  { ms: 0, words: 'at once' },
  { ms: 999, words: '999\u2009ms' },
  { ms: 1000, words: '1\u2009s' },
  { ms: 1500, words: '1.5\u2009s' },
  { ms: 120_000, words: '2\u2009min' },
])('given a delay of $ms ms, then it reads "$words"', ({ ms, words }) => {
  expect(delayWords(ms)).toBe(words);
});

test.each([
  { s: 119, words: '119\u2009s' },
  { s: 120, words: '2\u2009min' },
  { s: 121, words: '121\u2009s' },
  { s: 300, words: '5\u2009min' },
])('given $s s, then it reads "$words"', ({ s, words }) => {
  expect(durationWords(s)).toBe(words);
});

test('given run states, when one, two or none is named, then they are joined as said aloud', () => {
  expect(judgedWords([])).toBe('always');
  expect(judgedWords(['running'])).toBe('running');
  expect(judgedWords(['cranking', 'running'])).toBe('cranking or running');
});
