/** Of which moment a mark is. */
import { describe, expect, test } from 'vitest';
import { markedAt_us } from '../../shared-core/program/mark-time.ts';

describe('given a mark that was recorded at 20 s', () => {
  test.each([
    { t_us: 12e6, at_us: 12e6, when: 'its key was pressed at 12 s' },
    { t_us: 20e6, at_us: 20e6, when: 'its key was pressed at that moment' },
    { t_us: 20e6 + 1, at_us: 20e6, when: 'the page is ahead of the recording' },
    { t_us: -1, at_us: 20e6, when: 'the page says a time before the session' },
    { t_us: NaN, at_us: 20e6, when: 'the page knew no time' },
    { t_us: undefined, at_us: 20e6, when: 'an older page says none' },
  ])('when $when, then it is of $at_us µs', ({ t_us, at_us }) => {
    expect(markedAt_us({ kind: 'mark', text: 'lean', t_us }, 20e6)).toBe(at_us);
  });
});
