/** Shelving, out of service, silence: who may, for how long, and that a replay gives the same. */
import { describe, expect, test } from 'vitest';
import type { OperatorAction } from '../../shared-core/journal.ts';
import { LONGEST_SHELF_min, removeRefusal, shelveRefusal } from '../../shared-core/limits/set-aside.ts';
import { Pipeline } from '../../shared-core/pipeline.ts';
import { JournalTape, rule, type Said, Stand, smallRig } from '../pipeline-support.ts';

const s = 1_000_000;
const min = 60 * s;
const caution = { title: 'CHT high', level: 'caution', life: 'active-unacknowledged' } as const;

describe('who may shelve', () => {
  test.each([
    { what: 'a caution for 30 min', alarm: caution, reason: 'loose lead', for_min: 30, refused: null },
    { what: 'it for a moment more', alarm: caution, reason: 'loose lead', for_min: 30.1, refused: 'at most 30' },
    { what: 'it for no time', alarm: caution, reason: 'loose lead', for_min: 0, refused: 'at most 30' },
    { what: 'it for NaN', alarm: caution, reason: 'loose lead', for_min: NaN, refused: 'at most 30' },
    { what: 'it without a reason', alarm: caution, reason: '  ', for_min: 5, refused: 'reason' },
    {
      what: 'an abort',
      alarm: { ...caution, level: 'abort' },
      reason: 'loose lead',
      for_min: 1,
      refused: 'never shelved',
    },
    { what: 'one that is gone', alarm: { ...caution, life: 'latched' }, reason: 'x', for_min: 1, refused: 'Reset' },
    {
      what: 'one that is gone unseen',
      alarm: { ...caution, life: 'returned-unacknowledged' },
      reason: 'x',
      for_min: 1,
      refused: 'Acknowledge',
    },
    { what: 'one twice', alarm: { ...caution, life: 'shelved' }, reason: 'x', for_min: 1, refused: 'already' },
    { what: 'none', alarm: null, reason: 'x', for_min: 1, refused: 'no such alarm' },
  ] as const)('given $what, then refused: $refused', ({ alarm, reason, for_min, refused }) => {
    const answer = shelveRefusal(alarm, reason, for_min);
    if (refused === null) expect(answer).toBeNull();
    else expect(answer).toContain(refused);
    expect(LONGEST_SHELF_min).toBe(30);
  });
  test.each([
    { level: 'abort', state: 'running', refused: 'stays in service' },
    { level: 'abort', state: 'cranking', refused: 'stays in service' },
    { level: 'abort', state: 'standing', refused: null },
    { level: 'abort', state: 'cooling', refused: null },
    { level: 'warning', state: 'running', refused: null },
  ] as const)('given $level while $state, when it is taken out of service, then refused: $refused', (each) => {
    const answer = removeRefusal({ ...caution, level: each.level }, 'probe broken', each.state);
    if (each.refused === null) expect(answer).toBeNull();
    else expect(answer).toContain(each.refused);
  });
});

const rig = smallRig([
  rule.threshold('hot', { level: 'warning' }),
  rule.threshold('over', { channel: 'cht2', level: 'abort' }),
  rule.sensor('lost', { channels: ['cht1'], level: 'caution' }),
]);
const shelve = (alarmId: string, for_min = 10): OperatorAction => ({
  kind: 'shelve',
  alarmId,
  reason: 'known nuisance',
  for_min,
});

describe('given an alarm that stands', () => {
  function hot(): Stand {
    const stand = new Stand(rig);
    stand.runTo(s, { cht1: 230 });
    return stand;
  }
  test('when it is shelved, then it stands no more, is counted with who and why, and comes back by itself', () => {
    const stand = hot();
    stand.operator(shelve('hot'));
    expect(stand.alarmsSaid()).toEqual(['tripped hot', 'shelved hot']);
    expect(stand.pipeline.alarms).toEqual([]);
    expect(stand.pipeline.setAside).toMatchObject([
      {
        ...{ id: 'hot', state: 'shelved', by: 'operator 1', reason: 'known nuisance' },
        ...{ since_us: s, until_us: s + 10 * min, isTripped: true, level: 'warning' },
      },
    ]);
    stand.runTo(s + 10 * min - 10_000);
    expect(stand.alarmsSaid()).toEqual([]);
    stand.runTo(s + 10 * min);
    expect(stand.alarmsSaid()).toEqual(['unshelved hot']);
    expect(stand.pipeline.setAside).toEqual([]);
    expect(stand.pipeline.alarms).toMatchObject([{ id: 'hot', state: 'active-unacknowledged', trippedAt_us: 100_000 }]);
  });
  test('when its condition comes and goes on the shelf, then nothing is said, and back it is normal', () => {
    const stand = hot();
    stand.operator(shelve('hot'));
    stand.alarmsSaid();
    for (let i = 2; i < 12; i++) stand.runTo(i * s, { cht1: i % 2 === 0 ? 100 : 230 });
    stand.runTo(13 * s, { cht1: 100 });
    expect(stand.pipeline.setAside).toMatchObject([{ isTripped: false }]);
    stand.operator({ kind: 'unshelve', alarmId: 'hot' });
    expect(stand.alarmsSaid()).toEqual(['unshelved hot']);
    expect(stand.pipeline.alarms).toEqual([]);
    stand.runTo(14 * s, { cht1: 230 });
    expect(stand.alarmsSaid()).toEqual(['tripped hot']);
  });
  test('when nothing is heard, then the shelf ends all the same, by the ticks', () => {
    const stand = hot();
    stand.operator(shelve('hot', 1));
    stand.alarmsSaid();
    for (let t_us = 2 * s; t_us <= s + min; t_us += 500_000) stand.tick(t_us);
    expect(stand.alarmsSaid()).toContain('unshelved hot');
  });
  test('when it is out of service, then it stays so until it is put back', () => {
    const stand = hot();
    stand.operator({ kind: 'out-of-service', alarmId: 'hot', reason: 'probe broken' });
    expect(stand.alarmsSaid()).toEqual(['tripped hot', 'removed hot']);
    stand.runTo(45 * min);
    stand.operator({ kind: 'unshelve', alarmId: 'hot' });
    expect(stand.alarmsSaid()).toEqual([]);
    expect(stand.pipeline.setAside).toMatchObject([{ state: 'out-of-service', until_us: null }]);
    stand.operator({ kind: 'back-in-service', alarmId: 'hot' });
    expect(stand.alarmsSaid()).toEqual(['restored hot']);
    expect(stand.pipeline.alarms).toHaveLength(1);
  });
});

describe('given an abort alarm', () => {
  test('when it is shelved, then that is refused with a sentence, and the fold ignores it', () => {
    const stand = new Stand(rig);
    stand.runTo(s, { cht2: 230 });
    expect(stand.pipeline.refusalOf(shelve('over'))).toBe(
      '"over" is an abort alarm: those are never shelved. Act on it.',
    );
    stand.operator(shelve('over'));
    expect(stand.alarmsSaid()).toEqual(['tripped over']);
    expect(stand.pipeline.setAside).toEqual([]);
  });
  test('when the engine runs, then it stays in service; at rest it may be taken out', () => {
    const stand = new Stand(rig);
    const remove: OperatorAction = { kind: 'out-of-service', alarmId: 'over', reason: 'probe broken' };
    stand.runTo(3 * s, { rpm: 5000 });
    expect(stand.pipeline.refusalOf(remove)).toContain('stays in service');
    stand.operator(remove);
    expect(stand.pipeline.setAside).toEqual([]);
    stand.runTo(5 * s, { rpm: 0 });
    expect(stand.pipeline.refusalOf(remove)).toBeNull();
    stand.operator(remove);
    expect(stand.pipeline.setAside).toMatchObject([{ id: 'over', level: 'abort', isTripped: false }]);
  });
});

describe('given an alarm that does not stand', () => {
  test('when it is shelved, then it may trip unseen; one that does not exist is refused', () => {
    const stand = new Stand(rig);
    stand.operator(shelve('lost:cht1'));
    expect(stand.pipeline.setAside).toMatchObject([{ title: 'lost: CHT 1', isTripped: false }]);
    stand.runTo(s, { cht1: 'open' });
    expect(stand.pipeline.alarms).toEqual([]);
    expect(stand.pipeline.setAside).toMatchObject([{ isTripped: true }]);
    expect(stand.pipeline.refusalOf(shelve('cht9-abort'))).toContain('no such alarm');
    expect(stand.pipeline.refusalOf({ kind: 'unshelve', alarmId: 'hot' })).toContain('not shelved');
    expect(stand.pipeline.refusalOf({ kind: 'back-in-service', alarmId: 'hot' })).toContain('in service');
  });
});

describe('the sound', () => {
  test('given alarms of several levels, then the gravest that nobody has acknowledged sounds; notices do not', () => {
    const stand = new Stand(
      smallRig([
        rule.threshold('notice', { level: 'notice', trip: 50, reset: 40 }),
        rule.threshold('caution', { level: 'caution', trip: 100, reset: 90 }),
        rule.threshold('warning', { level: 'warning', trip: 150, reset: 140 }),
      ]),
    );
    stand.runTo(s, { cht1: 60 });
    expect(stand.pipeline.sound).toBeNull();
    stand.runTo(2 * s, { cht1: 160 });
    expect(stand.pipeline.sound).toBe('warning');
    stand.operator({ kind: 'acknowledge', alarmId: 'warning' });
    expect(stand.pipeline.sound).toBe('caution');
    stand.runTo(3 * s, { cht1: 20 });
    expect(stand.pipeline.sound).toBeNull();
  });
  test('given it is silenced, then for 60 s, without acknowledging; a new alarm sounds at once', () => {
    const stand = new Stand(rig);
    stand.runTo(s, { cht1: 230 });
    stand.operator({ kind: 'silence' });
    expect(stand.pipeline.sound).toBeNull();
    expect(stand.pipeline.silencedUntil_us).toBe(61 * s);
    expect(stand.pipeline.alarms[0]?.state).toBe('active-unacknowledged');
    stand.runTo(60.9 * s);
    expect(stand.pipeline.sound).toBeNull();
    stand.runTo(61 * s);
    expect(stand.pipeline.sound).toBe('warning');
    expect(stand.pipeline.silencedUntil_us).toBeNull();
    stand.operator({ kind: 'silence' });
    stand.runTo(62 * s, { cht2: 230 });
    expect(stand.pipeline.sound).toBe('abort');
  });
});

describe('given a session with every act on alarms', () => {
  test('when its journal is played again, then every state and output is the same', () => {
    const tape = new JournalTape();
    const stand = new Stand(rig, {}, undefined, tape);
    for (let i = 0; i < 40; i++) {
      stand.runTo((2 * i + 1) * s, { cht1: i % 3 === 0 ? 230 : 100, cht2: i % 7 === 0 ? 230 : 90 });
      if (i === 5) stand.operator(shelve('hot', 0.5));
      if (i === 6) stand.operator(shelve('over'));
      if (i === 9) stand.operator({ kind: 'silence' });
      if (i === 12) stand.operator({ kind: 'acknowledge-all' });
      if (i === 20) stand.operator({ kind: 'out-of-service', alarmId: 'hot', reason: 'probe broken' });
      if (i === 30) stand.operator({ kind: 'back-in-service', alarmId: 'hot' });
      if (i === 35) stand.operator({ kind: 'reset-alarms' });
    }
    const again: Said[] = [];
    const pipeline = new Pipeline(rig, {
      onValues: () => {},
      onOutput: (t_us, output) => again.push({ t_us, output }),
    });
    tape.playTo(pipeline);
    const statesOf = ({ alarms, setAside, flood, sound, silencedUntil_us, hours }: Pipeline) => ({
      ...{ alarms, setAside, flood, sound, silencedUntil_us, hours },
    });
    expect(stand.said.length).toBeGreaterThan(30);
    expect(again).toEqual(stand.said);
    expect(statesOf(pipeline)).toEqual(statesOf(stand.pipeline));
  });
});
