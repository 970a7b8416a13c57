/** The line of the cool-down strip. */
import { describe, expect, test } from 'vitest';
import { coolDownWords, roundWait } from '../../renderer/alarms/cool-down-words.ts';
import type { AdvisoryStepView } from '../../shared-core/advisory/plans.ts';

function view(over: Partial<AdvisoryStepView>): AdvisoryStepView {
  return {
    step: {
      ...{ id: 'cooled', imperative: 'Wait', why: '', allowed_s: 300 },
      proof: {
        ...{ kind: 'cooled', channel: 'cht_max', below: 130 },
        ...{ settled_perS: 0.05, settledAfter_s: 60, hold_ms: 0 },
      },
    },
    ...{ state: 'current', startedAt_us: 0, doneAt_us: null, isOverdue: false, proofText: '', waitLeft_s: 23 },
    ...over,
  };
}

describe('given a head that cools down', () => {
  test.each([
    {
      head: 148.4,
      rate: -0.42,
      left: 23,
      words: 'Hottest head 148\u2009°C, falling 0.4\u2009K/s; the cut is safe in about 30\u2009s.',
    },
    {
      head: 148.4,
      rate: 0.2,
      left: null,
      words: 'Hottest head 148\u2009°C, still rising; wait: it is not falling yet.',
    },
    {
      head: 148.4,
      rate: 0,
      left: null,
      words: 'Hottest head 148\u2009°C, hardly falling; wait: it is not falling yet.',
    },
    {
      head: 129.6,
      rate: -0.42,
      left: 0,
      words: 'Hottest head 130\u2009°C, falling 0.4\u2009K/s; the cut is about to be safe.',
    },
    { head: null, rate: null, left: null, words: 'Hottest head not known; wait: it is not falling yet.' },
  ])('when it is $head °C and changes by $rate K/s, then it says "$words"', ({ head, rate, left, words }) => {
    expect(coolDownWords(view({ waitLeft_s: left }), head, rate)).toBe(words);
  });
  test('when idle is not held yet, then that comes first; when it has cooled, then the cut is safe', () => {
    expect(coolDownWords(view({ state: 'waiting', waitLeft_s: null }), 160, null)).toContain('first hold idle');
    expect(coolDownWords(view({ state: 'done-by-channel' }), 129, null)).toContain('the cut is safe.');
  });
  test.each([
    { left_s: 0.1, text: '5\u2009s' },
    { left_s: 20, text: '20\u2009s' },
    { left_s: 20.1, text: '30\u2009s' },
    { left_s: 119, text: '2:00\u2009min' },
    { left_s: 121, text: '2:30\u2009min' },
  ])('when $left_s s are left, then it promises no less: $text', ({ left_s, text }) => {
    expect(roundWait(left_s)).toBe(text);
  });
});
