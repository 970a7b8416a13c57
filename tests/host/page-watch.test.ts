import { describe, expect, test, vi } from 'vitest';
import { PAGE_GRACE_MS, PageWatch } from '../../electron/host/page-watch.ts';

function start() {
  vi.useFakeTimers();
  const said: string[] = [];
  const watch = new PageWatch<string>((why) => said.push(why));
  watch.opened('a');
  return { said, watch };
}

describe('given one page', () => {
  test.each([
    { title: 'hidden', away: (w: PageWatch<string>) => w.says('a', false), why: 'the page is hidden' },
    { title: 'gone', away: (w: PageWatch<string>) => w.gone('a'), why: 'no page open' },
  ])('when it is $title, then after the grace nobody watches, and not before', ({ away, why }) => {
    const { said, watch } = start();
    away(watch);
    vi.advanceTimersByTime(PAGE_GRACE_MS - 1);
    expect(said).toEqual([]);
    vi.advanceTimersByTime(1);
    expect(said).toEqual([why]);
    vi.useRealTimers();
  });

  test('when it is back within the grace, or loaded again, then nothing is said', () => {
    const { said, watch } = start();
    watch.says('a', false);
    vi.advanceTimersByTime(PAGE_GRACE_MS - 1);
    watch.says('a', true);
    watch.gone('a');
    vi.advanceTimersByTime(PAGE_GRACE_MS - 1);
    watch.opened('b');
    vi.advanceTimersByTime(60_000);
    expect(said).toEqual([]);
    vi.useRealTimers();
  });

  test('when it says again and again that it is hidden, then the grace is not prolonged', () => {
    const { said, watch } = start();
    for (let i = 0; i < 4; i++) {
      watch.says('a', false);
      vi.advanceTimersByTime(PAGE_GRACE_MS / 3);
    }
    expect(said).toEqual(['the page is hidden']);
    expect(watch.isSeen('a')).toBe(false);
    vi.useRealTimers();
  });
});

test('given two pages, when one is hidden and the other not, then somebody watches; a page that never came cannot be seen', () => {
  const { said, watch } = start();
  watch.opened('b');
  watch.says('a', false);
  watch.says('stranger', true);
  vi.advanceTimersByTime(60_000);
  expect(said).toEqual([]);
  expect([watch.isSeen('a'), watch.isSeen('b'), watch.isSeen('stranger')]).toEqual([false, true, false]);
  watch.gone('b');
  vi.advanceTimersByTime(PAGE_GRACE_MS);
  expect(said).toEqual(['the page is hidden']);
  vi.useRealTimers();
});
