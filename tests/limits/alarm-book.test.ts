import { describe, expect, test } from 'vitest';
import { AlarmBook, type Trip } from '../../shared-core/limits/alarm-book.ts';
import type { AlarmLevel } from '../../shared-core/limits/rules.ts';
import { rule } from '../pipeline-support.ts';

function bookWithLog() {
  const log: string[] = [];
  const book = new AlarmBook({
    onAlarm: (t_us, change, alarm, life) =>
      log.push(`${t_us} ${change} ${alarm.id} ${life}${alarm.isFirstOut ? ' first' : ''}`),
  });
  return { book, log };
}
function trip(id: string, t_us: number, level: AlarmLevel = 'warning', latch = false): Trip {
  const each = rule.threshold(id, { level, latch });
  return { id, rule: each, title: id, subject: 'cht1', t_us, value: 221, limit: 220, unit: '°C' };
}
const firstOut = (book: AlarmBook) => book.alarms.filter((alarm) => alarm.isFirstOut).map((alarm) => alarm.id);

describe('first-out', () => {
  test('given trips handed over out of order, then the earliest sample is first, not the first to arrive', () => {
    const { book } = bookWithLog();
    book.trip([trip('late', 300), trip('early', 100), trip('middle', 200)]);
    expect(firstOut(book)).toEqual(['early']);
    expect(book.alarms.map((alarm) => alarm.id)).toEqual(['early', 'middle', 'late']);
  });
  test('given an earlier sample in a later hand-over, then it takes the place', () => {
    const { book } = bookWithLog();
    book.trip([trip('late', 300)]);
    book.trip([trip('early', 100)]);
    expect(firstOut(book)).toEqual(['early']);
  });
  test('given several in one sample, then the gravest is first, and of like ones the first rule', () => {
    const { book } = bookWithLog();
    book.trip([trip('caution', 100, 'caution'), trip('abort', 100, 'abort'), trip('abort2', 100, 'abort')]);
    expect(firstOut(book)).toEqual(['abort']);
  });
  test('given it returns and is gone while others stand, then none takes its place, and its own re-trip has it', () => {
    const { book } = bookWithLog();
    book.trip([trip('first', 100), trip('second', 200)]);
    book.acknowledge('first', 300);
    book.returned('first', 400);
    expect(firstOut(book)).toEqual([]);
    book.trip([trip('third', 500)]);
    expect(firstOut(book)).toEqual([]);
    book.trip([trip('first', 600)]);
    expect(firstOut(book)).toEqual(['first']);
  });
  test('given a reset, then the next trip is first, although an older alarm still stands', () => {
    const { book } = bookWithLog();
    book.trip([trip('old', 100)]);
    book.reset(200);
    expect(firstOut(book)).toEqual([]);
    book.trip([trip('new', 300)]);
    expect(firstOut(book)).toEqual(['new']);
  });
  test('given nothing stands any more, then the next trip is first', () => {
    const { book } = bookWithLog();
    book.trip([trip('a', 100)]);
    book.returned('a', 200);
    book.acknowledge('a', 300);
    expect(book.alarms).toEqual([]);
    book.trip([trip('b', 400)]);
    expect(firstOut(book)).toEqual(['b']);
  });
  test('given a notice stands, then it is not first-out', () => {
    const { book } = bookWithLog();
    book.trip([trip('notice', 100, 'notice')]);
    book.trip([trip('warning', 200)]);
    expect(firstOut(book)).toEqual(['warning']);
  });
});

describe('the life of an alarm in the book', () => {
  test('given a latching alarm, then it stays through return and acknowledgement until reset', () => {
    const { book, log } = bookWithLog();
    book.trip([trip('a', 100, 'abort', true)]);
    book.reset(150);
    book.returned('a', 200);
    book.reset(250);
    book.acknowledge('a', 300);
    book.acknowledge('a', 310);
    book.reset(400);
    expect(log).toEqual([
      '100 tripped a active-unacknowledged first',
      '200 returned a returned-unacknowledged',
      '300 acknowledged a latched',
      '400 cleared a normal',
    ]);
    expect(book.alarms).toEqual([]);
  });
  test('given it trips again before it was seen, then it is active anew with the new sample', () => {
    const { book } = bookWithLog();
    book.trip([trip('a', 100)]);
    book.returned('a', 200);
    book.trip([trip('a', 300)]);
    expect(book.alarms).toMatchObject([{ state: 'active-unacknowledged', trippedAt_us: 300, returnedAt_us: null }]);
  });
  test('given it is active, then a second trip changes nothing', () => {
    const { book, log } = bookWithLog();
    book.trip([trip('a', 100)]);
    book.acknowledge('a', 150);
    book.trip([trip('a', 200)]);
    expect(book.alarms).toMatchObject([{ state: 'active-acknowledged', trippedAt_us: 100 }]);
    expect(log).toHaveLength(2);
  });
  test('given several, then acknowledging all acknowledges each', () => {
    const { book } = bookWithLog();
    book.trip([trip('a', 100), trip('b', 100)]);
    book.returned('a', 200);
    book.acknowledgeAll(300);
    expect(book.alarms.map((alarm) => `${alarm.id} ${alarm.state}`)).toEqual(['b active-acknowledged']);
  });
  test('given its channel is gone, then it ends whatever its state, and unknown ids are ignored', () => {
    const { book, log } = bookWithLog();
    book.trip([trip('a', 100, 'abort', true)]);
    book.end('a', 200);
    book.end('a', 300);
    book.acknowledge('never', 300);
    expect(log).toEqual(['100 tripped a active-unacknowledged first', '200 cleared a normal first']);
  });
});
