/** Events of a session as a page has them, over a host that is made up here. */
import { describe, expect, test } from 'vitest';
import { EventFeed } from '../../renderer/app/event-feed.ts';
import type { JournalEvent } from '../../shared-core/journal.ts';
import { noCounts } from '../../shared-core/line/messages.ts';

const event = (ord: number, body: JournalEvent['body']): JournalEvent =>
  ({ ord, t_us: ord * 1e6, side: 'in', body }) as JournalEvent;
const heard = (ord: number): JournalEvent => event(ord, { kind: 'link', state: 'heard', detail: '' });
const counts = (ord: number): JournalEvent => event(ord, { kind: 'counts', counts: noCounts() });

/** What is recorded, and from where it was asked for. */
function host(recorded: JournalEvent[]) {
  const asked: number[] = [];
  const feed = new EventFeed('s1', async ({ id, fromOrd }) => {
    expect(id).toBe('s1');
    asked.push(fromOrd);
    return { ok: true, value: recorded.filter(({ ord }) => ord >= fromOrd) };
  });
  return { feed, asked };
}
const eventsOf = async (feed: EventFeed) => {
  const answer = await feed.refresh();
  return answer.ok ? answer.value : answer.error.kind;
};

describe('given a session that is being recorded', () => {
  test('when it is asked again, then only from behind the last event, and all are there', async () => {
    const recorded = [heard(0), counts(3), heard(5)];
    const { feed, asked } = host(recorded);
    expect(await eventsOf(feed)).toEqual([heard(0), heard(5)]);
    recorded.push(heard(9));
    expect(await eventsOf(feed)).toEqual([heard(0), heard(5), heard(9)]);
    expect(asked).toEqual([0, 6]);
  });
  test('when only counts have come, then the list itself is the same, and they are not asked for again', async () => {
    const recorded = [heard(0)];
    const { feed, asked } = host(recorded);
    const before = await eventsOf(feed);
    recorded.push(counts(7));
    expect(await eventsOf(feed)).toBe(before);
    expect(await eventsOf(feed)).toBe(before);
    expect(asked).toEqual([0, 1, 8]);
  });
  test('when it is asked twice at once, then no event is there twice', async () => {
    const { feed, asked } = host([heard(0), heard(1)]);
    const [first, second] = await Promise.all([eventsOf(feed), eventsOf(feed)]);
    expect(first).toEqual([heard(0), heard(1)]);
    expect(second).toBe(first);
    expect(asked).toEqual([0, 2]);
  });
  test('when the host cannot be asked, then that is said, and the next time brings all', async () => {
    let isLost = true;
    const error = { kind: 'lost', sentence: 'The connection is lost.', remedy: 'Wait.' };
    const feed = new EventFeed('s1', async () => (isLost ? { ok: false, error } : { ok: true, value: [heard(0)] }));
    expect(await eventsOf(feed)).toBe('lost');
    isLost = false;
    expect(await eventsOf(feed)).toEqual([heard(0)]);
  });
});
