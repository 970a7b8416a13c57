import { describe, expect, test } from 'vitest';
import { rule, Stand, smallRig, smallTable } from '../pipeline-support.ts';

const s = 1_000_000;

describe('given a threshold on CHT 1 and no sensor rule for it', () => {
  const rig = smallRig([rule.threshold('hot')]);

  test.each(['open', 'short', 'under', 'stale'] as const)(
    'when the sensor is %s, then the threshold trips',
    (reading) => {
      const stand = new Stand(rig);
      stand.runTo(s);
      stand.runTo(2 * s, { cht1: reading });
      expect(stand.alarmsSaid()).toEqual(['tripped hot']);
      expect(stand.pipeline.alarms).toMatchObject([{ value: NaN, limit: 220, unit: '°C', subject: 'cht1' }]);
    },
  );
  test('when its group alone stops coming, then it trips once the channel is stale', () => {
    const stand = new Stand(rig);
    stand.runTo(s);
    for (let t_us = s + 10_000; t_us <= 3 * s; t_us += 10_000) stand.frame(1, t_us);
    expect(stand.alarmsSaid()).toEqual([]);
    for (let t_us = 3 * s + 10_000; t_us <= 3.1 * s; t_us += 10_000) stand.frame(1, t_us);
    expect(stand.alarmsSaid()).toEqual(['tripped hot']);
    expect(stand.quality('cht1')).toBe(5);
  });
  test('when the first sample has not come yet, then nothing trips before the channel is stale', () => {
    const stand = new Stand(rig);
    for (let t_us = 0; t_us <= 2 * s; t_us += 10_000) stand.frame(1, t_us);
    expect(stand.alarmsSaid()).toEqual([]);
    for (let t_us = 2 * s; t_us <= 3 * s; t_us += 10_000) stand.frame(1, t_us);
    expect(stand.alarmsSaid()).toEqual(['tripped hot']);
  });
  test('when the value comes back inside, then the alarm returns', () => {
    const stand = new Stand(rig);
    stand.runTo(s, { cht1: 'open' });
    stand.runTo(2 * s, { cht1: 100 });
    expect(stand.alarmsSaid()).toEqual(['tripped hot', 'returned hot']);
  });
});

describe('given a threshold and a sensor rule on CHT 1', () => {
  const rig = smallRig([rule.threshold('hot'), rule.sensor('lost', { onDelay_ms: 300 })]);

  test('when the lead breaks, then the sensor rule speaks and the threshold holds its state', () => {
    const stand = new Stand(rig);
    stand.runTo(s);
    stand.runTo(2 * s, { cht1: 'open' });
    expect(stand.alarmsSaid()).toEqual(['tripped lost:cht1']);
    expect(stand.pipeline.alarms[0]?.title).toBe('lost: CHT 1 (open)');
  });
  test('when it was tripped before, then it stays tripped', () => {
    const stand = new Stand(rig);
    stand.runTo(s, { cht1: 230 });
    stand.runTo(2 * s, { cht1: 'open' });
    expect(stand.alarmsSaid()).toEqual(['tripped hot', 'tripped lost:cht1']);
    expect(stand.pipeline.alarms.map((alarm) => alarm.state)).toEqual([
      'active-unacknowledged',
      'active-unacknowledged',
    ]);
  });
  test('when the sensor reads over its range, then the high limit trips all the same', () => {
    const stand = new Stand(rig);
    stand.runTo(s, { cht1: 'over' });
    expect(stand.alarmsSaid()).toEqual(['tripped hot', 'tripped lost:cht1']);
  });
  test('when the failure is shorter than the on-delay, then nothing is said', () => {
    const stand = new Stand(rig);
    stand.runTo(s);
    stand.runTo(1.2 * s, { cht1: 'open' });
    stand.runTo(2 * s, { cht1: 100 });
    expect(stand.alarmsSaid()).toEqual([]);
  });
  test('when the contact is loose, then one alarm is raised, and returns when it is good for the delay', () => {
    const stand = new Stand(rig);
    stand.runTo(1.5 * s, { cht1: 'open' });
    for (let i = 0; i < 10; i++) stand.runTo((1.7 + 0.2 * i) * s, { cht1: i % 2 === 0 ? 100 : 'open' });
    expect(stand.alarmsSaid()).toEqual(['tripped lost:cht1']);
    stand.runTo(5 * s, { cht1: 100 });
    expect(stand.alarmsSaid()).toEqual(['returned lost:cht1']);
  });
  test('when one head fails, then hottest goes by the other, and each head has its own alarm', () => {
    const stand = new Stand(rig);
    stand.runTo(2 * s, { cht1: 'open', cht2: 150 });
    expect(stand.value('cht_max')).toBe(150);
    stand.runTo(3 * s, { cht2: 'short' });
    expect(stand.alarmsSaid()).toEqual(['tripped lost:cht1', 'tripped lost:cht2']);
    expect(stand.value('cht_max')).toBeNaN();
    expect(stand.quality('cht_max')).toBe(1);
  });
});

describe('given a sensor rule that is judged only while running', () => {
  test('when the sensor fails at rest, then the threshold trips, because nobody speaks for it', () => {
    const stand = new Stand(smallRig([rule.threshold('hot'), rule.sensor('lost', { when: ['running'] })]));
    stand.runTo(s, { cht1: 'open' });
    expect(stand.alarmsSaid()).toEqual(['tripped hot']);
  });
});

describe('given a threshold on a derived channel', () => {
  test('when its formula gives nothing at rest, then it does not trip', () => {
    const stand = new Stand(smallRig([rule.threshold('thirsty', { channel: 'bsfc', trip: 600, reset: 550 })]));
    stand.runTo(3 * s);
    expect(stand.quality('bsfc')).toBe(6);
    expect(stand.alarmsSaid()).toEqual([]);
  });
  test('when a source fails that has a sensor rule, then that speaks; one that has none trips it', () => {
    const hot = rule.threshold('power', { channel: 'brake_power', trip: 20, reset: 18 });
    const covered = new Stand(smallRig([hot, rule.sensor('lost', { channels: ['torque'] })]));
    covered.runTo(s, { torque: 'open' });
    expect(covered.alarmsSaid()).toEqual(['tripped lost:torque']);
    const bare = new Stand(smallRig([hot, rule.sensor('lost', { channels: ['torque'] })]));
    bare.runTo(s, { rpm: 'open' });
    expect(bare.alarmsSaid()).toEqual(['tripped power']);
  });
});

describe('given rules for run states', () => {
  test('when the engine stops, then a rule for the running engine returns', () => {
    const stand = new Stand(
      smallRig([
        rule.threshold('slow', { channel: 'rpm', direction: 'low', trip: 1500, reset: 1600, when: ['running'] }),
      ]),
    );
    stand.runTo(3 * s, { rpm: 1200 });
    expect(stand.alarmsSaid()).toEqual(['tripped slow']);
    stand.runTo(5 * s, { rpm: 0 });
    expect(stand.alarmsSaid()).toEqual(['returned slow']);
  });
});

describe('given a link rule of 1 s and thresholds and sensors beside it', () => {
  const rules = [rule.threshold('hot'), rule.sensor('lost'), rule.link('link'), rule.input('stop')];

  test('when nothing comes any more, then the link alone speaks, and returns with the first line', () => {
    const stand = new Stand(smallRig(rules));
    stand.input('stop', 1);
    stand.runTo(s);
    stand.input('stop', 1);
    for (let t_us = 1.1 * s; t_us <= 2 * s; t_us += 100_000) stand.tick(t_us);
    expect(stand.alarmsSaid()).toEqual([]);
    stand.tick(2.1 * s);
    expect(stand.alarmsSaid()).toEqual(['tripped link']);
    stand.event({ kind: 'link', state: 'silent', detail: '' });
    for (let t_us = 2.2 * s; t_us <= 30 * s; t_us += 100_000) stand.tick(t_us);
    stand.operator({ kind: 'mark', text: 'seen' });
    expect(stand.value('cht1')).toBeNaN();
    expect(stand.quality('cht1')).toBe(5);
    expect(stand.pipeline.inputs[0]?.state).toBe('X');
    stand.event({ kind: 'link', state: 'heard', detail: '' });
    for (let t_us = 30.01 * s; t_us <= 30.9 * s; t_us += 10_000) stand.frame(1, t_us);
    stand.frame(2, 30.9 * s);
    expect(stand.alarmsSaid()).toEqual(['returned link']);
  });
  test('when a group does not come back with the others, then its sensors are lost', () => {
    const stand = new Stand(smallRig(rules));
    stand.input('stop', 1);
    stand.runTo(s);
    for (let t_us = 1.1 * s; t_us <= 5 * s; t_us += 100_000) {
      stand.tick(t_us);
      if (t_us === 1.5 * s) stand.event({ kind: 'link', state: 'silent', detail: '' });
    }
    stand.alarmsSaid();
    stand.event({ kind: 'link', state: 'heard', detail: '' });
    for (let t_us = 5.01 * s; t_us <= 7 * s; t_us += 10_000) stand.frame(1, t_us);
    expect(stand.alarmsSaid()).toEqual(['returned link', 'tripped lost:cht1', 'tripped lost:cht2']);
  });
  test('when the port closes, then it trips at once', () => {
    const stand = new Stand(smallRig(rules));
    stand.input('stop', 1);
    stand.runTo(s);
    stand.event({ kind: 'link', state: 'closed', detail: 'unplugged' });
    expect(stand.alarmsSaid()).toEqual(['tripped link']);
    stand.event({ kind: 'link', state: 'opened', detail: '' });
    expect(stand.alarmsSaid()).toEqual(['returned link']);
  });
  test('when there is no link rule, then the sensors speak in the silence', () => {
    const stand = new Stand(smallRig([rule.sensor('lost', { channels: ['cht1'] })]));
    stand.runTo(s);
    for (let t_us = 1.1 * s; t_us <= 2.5 * s; t_us += 100_000) stand.tick(t_us);
    expect(stand.alarmsSaid()).toEqual(['tripped lost:cht1']);
  });
  test('when a limit was pending as the line went silent, then its on-delay runs on', () => {
    const stand = new Stand(smallRig([rule.threshold('hot', { onDelay_ms: 500 }), rule.link('link')]));
    stand.runTo(s, { cht1: 230 });
    stand.frame(2, 1.1 * s);
    for (let t_us = 1.2 * s; t_us <= 1.4 * s; t_us += 100_000) stand.tick(t_us);
    expect(stand.alarmsSaid()).toEqual(['tripped hot']);
  });
});

describe('given an input rule on the stop circuit, bad at 0', () => {
  const rig = smallRig([rule.input('stop')]);
  test('when it opens, then it trips; closed, it returns', () => {
    const stand = new Stand(rig);
    stand.input('stop', 1);
    stand.runTo(s);
    stand.input('stop', 0);
    expect(stand.alarmsSaid()).toEqual(['tripped stop']);
    stand.input('stop', 1);
    expect(stand.alarmsSaid()).toEqual(['returned stop']);
  });
  test('when the bench says that it is not known, then it trips at once', () => {
    const stand = new Stand(rig);
    stand.input('stop', 'X');
    expect(stand.alarmsSaid()).toEqual(['tripped stop']);
  });
  test('when its line has not come for more than 5 s, then it trips', () => {
    const stand = new Stand(rig);
    stand.runTo(5 * s);
    expect(stand.alarmsSaid()).toEqual([]);
    stand.runTo(5.1 * s);
    expect(stand.alarmsSaid()).toEqual(['tripped stop']);
  });
});

describe('given two sources of one quantity that may differ by 15 %', () => {
  const rig = smallRig([rule.disagreement('apart')]);
  test.each([
    { cht1: 100, cht2: 85, trips: false },
    { cht1: 100, cht2: 84.9, trips: true },
    { cht1: 84.9, cht2: 100, trips: true },
    { cht1: 9, cht2: 1, trips: false },
    { cht1: 10, cht2: 1, trips: true },
    { cht1: 'open', cht2: 100, trips: true },
  ] as const)('when they read $cht1 and $cht2, then tripped: $trips', ({ cht1, cht2, trips }) => {
    const stand = new Stand(rig);
    stand.runTo(s, { cht1, cht2 });
    expect(stand.alarmsSaid()).toEqual(trips ? ['tripped apart'] : []);
  });
  test('when between reset and trip, then the state is kept', () => {
    const stand = new Stand(rig);
    stand.runTo(s, { cht1: 100, cht2: 80 });
    stand.runTo(2 * s, { cht2: 88 });
    expect(stand.alarmsSaid()).toEqual(['tripped apart']);
    stand.runTo(3 * s, { cht2: 90.1 });
    expect(stand.alarmsSaid()).toEqual(['returned apart']);
  });
});

describe('given the starter', () => {
  test('when it is held for more than 8 s, then it trips until let go', () => {
    const stand = new Stand(smallRig([rule.duty('duty')]));
    stand.input('starter', 1);
    stand.runTo(8 * s);
    expect(stand.alarmsSaid()).toEqual([]);
    expect(stand.pipeline.starter).toEqual({ isEngaged: true, attempt_s: 8, left_s: 0, restLeft_s: 0 });
    stand.runTo(8.01 * s);
    expect(stand.alarmsSaid()).toEqual(['tripped duty']);
    stand.input('starter', 0);
    expect(stand.alarmsSaid()).toEqual(['returned duty']);
  });
  test('when it is engaged again within the rest, then the title says so', () => {
    const stand = new Stand(smallRig([rule.duty('duty')]));
    stand.input('starter', 1);
    stand.runTo(3 * s);
    stand.input('starter', 0);
    stand.runTo(10 * s);
    stand.input('starter', 1);
    expect(stand.pipeline.alarms).toMatchObject([{ title: 'duty: rest cut short', value: 7, limit: 120, unit: 's' }]);
  });
});

describe('given a bench without some of the channels', () => {
  const rig = smallRig([
    rule.threshold('hot'),
    rule.threshold('hot3', { channel: 'cht3' }),
    rule.sensor('lost', { channels: ['cht1', 'cht3'] }),
    rule.sensor('lost4', { channels: ['cht4'] }),
    rule.input('cage', { input: 'cage' }),
    rule.disagreement('apart', { channels: ['cht1', 'cht4'] }),
  ]);
  test('when it is judged, then what is not there raises nothing and is listed as not judged', () => {
    const stand = new Stand(rig);
    stand.runTo(10 * s);
    expect(stand.alarmsSaid()).toEqual([]);
    expect(stand.pipeline.unjudgedRules.map((each) => each.id)).toEqual(['hot3', 'lost4', 'cage', 'apart']);
  });
  test('when no table has come, then all but the link is not judged', () => {
    const stand = new Stand(smallRig([rule.threshold('hot'), rule.duty('duty'), rule.link('link')]), {}, null);
    expect(stand.pipeline.unjudgedRules.map((each) => each.id)).toEqual(['hot', 'duty']);
  });
});

describe('given a bench that calls its channels by other names', () => {
  test('when a rule names the usual key, then quantity and order find the channel', () => {
    const renamed = smallTable([
      ['head_front', 'head-temperature', 'Cel', 1],
      ['head_rear', 'head-temperature', 'Cel', 1],
    ]);
    const stand = new Stand(smallRig([rule.threshold('hot2', { channel: 'cht2' })]), {}, renamed);
    stand.pipeline.frame(10, s, 2, Int32Array.of(1000, 2300), 2);
    expect(stand.pipeline.alarms).toMatchObject([{ id: 'hot2', subject: 'head_rear', value: 230 }]);
  });
});

describe('given alarms, and a table with other channels comes', () => {
  test('when an alarm is about a channel that is gone, then it ends; the others go on', () => {
    const stand = new Stand(
      smallRig([rule.threshold('hot1', { latch: true }), rule.threshold('hot2', { channel: 'cht2' })]),
    );
    stand.runTo(s, { cht1: 230, cht2: 230 });
    expect(stand.alarmsSaid()).toEqual(['tripped hot1', 'tripped hot2']);
    const { layoutVersion } = stand.pipeline;
    stand.event({ kind: 'table', table: smallTable([['cht1', 'head-temperature', 'Cel', 1]]) });
    expect(stand.pipeline.layoutVersion).toBe(layoutVersion + 1);
    expect(stand.alarmsSaid()).toEqual(['cleared hot2']);
    stand.pipeline.frame(1000, 1.1 * s, 2, Int32Array.of(2300), 1);
    expect(stand.alarmsSaid()).toEqual([]);
    stand.pipeline.frame(1001, 1.2 * s, 2, Int32Array.of(1000), 1);
    expect(stand.alarmsSaid()).toEqual(['returned hot1']);
  });
  test('when the same table comes again, then nothing is built anew', () => {
    const stand = new Stand(smallRig([rule.threshold('hot1')]));
    stand.runTo(s, { cht1: 230 });
    const { layoutVersion, values } = stand.pipeline;
    stand.event({ kind: 'table', table: smallTable() });
    expect(stand.pipeline.layoutVersion).toBe(layoutVersion);
    expect(stand.pipeline.values).toBe(values);
  });
});
