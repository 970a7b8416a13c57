/** The rules that watch by themselves, judged on a bench: gating, bad values, delays, what the alarm says. */
import { describe, expect, test } from 'vitest';
import { rule, Stand, smallRig } from '../pipeline-support.ts';

const s = 1_000_000;
const h = 3600 * s;

/** Runs on with values that follow a curve of seconds, ten frames a second of both groups. */
function follow(stand: Stand, to_s: number, curve: (t_s: number) => Record<string, number>): void {
  const from_s = Math.round(stand.t_us / s);
  for (let i = 1; i <= (to_s - from_s) * 10; i++) stand.runTo((from_s + i / 10) * s, curve(from_s + i / 10));
}

describe('given a rule for the running engine, judged once it has run for 5 s', () => {
  const rig = smallRig([
    rule.threshold('slow', {
      channel: 'rpm',
      direction: 'low',
      trip: 1500,
      reset: 1600,
      when: ['running'],
      whenFor_s: 5,
    }),
  ]);
  test('when it runs too slowly from the start, then it trips 5 s after it runs, and anew after each start', () => {
    const stand = new Stand(rig);
    stand.runTo(2 * s, { rpm: 1200 });
    expect(stand.pipeline.run.state).toBe('running');
    const ranAt_us = stand.pipeline.run.since_us;
    stand.runTo(ranAt_us + 5 * s - 10_000);
    expect(stand.alarmsSaid()).toEqual([]);
    stand.runTo(ranAt_us + 5 * s);
    expect(stand.alarmsSaid()).toEqual(['tripped slow']);
    stand.runTo(10 * s, { rpm: 0 });
    expect(stand.alarmsSaid()).toEqual(['returned slow']);
    stand.runTo(14 * s, { rpm: 1200 });
    expect(stand.alarmsSaid()).toEqual([]);
    stand.runTo(18 * s);
    expect(stand.alarmsSaid()).toEqual(['tripped slow']);
  });
});

describe('given heads that may rise by 4 K/s', () => {
  const rig = smallRig([rule.rate('rise')]);
  test('when CHT 1 rises by 3.5 K/s, then not; by 5 K/s it trips, and says the rate', () => {
    const stand = new Stand(rig);
    follow(stand, 20, (t_s) => ({ cht1: 20 + 3.5 * t_s }));
    expect(stand.alarmsSaid()).toEqual([]);
    follow(stand, 30, (t_s) => ({ cht1: 90 + 5 * (t_s - 20) }));
    expect(stand.alarmsSaid()).toEqual(['tripped rise']);
    expect(stand.pipeline.alarms).toMatchObject([{ limit: 4, unit: 'K/s', subject: 'cht1' }]);
    expect(stand.pipeline.alarms[0]!.value).toBeGreaterThan(4);
    follow(stand, 40, () => ({ cht1: 140 }));
    expect(stand.alarmsSaid()).toEqual(['returned rise']);
  });
  test('when the sensor fails and no rule speaks for it, then it trips; with one, that speaks alone', () => {
    const bare = new Stand(rig);
    bare.runTo(10 * s);
    bare.runTo(11 * s, { cht1: 'open' });
    expect(bare.alarmsSaid()).toEqual(['tripped rise']);
    const covered = new Stand(smallRig([rule.rate('rise'), rule.sensor('lost')]));
    covered.runTo(10 * s);
    covered.runTo(11 * s, { cht1: 'open' });
    expect(covered.alarmsSaid()).toEqual(['tripped lost:cht1']);
  });
});

describe('given two heads that may be 40 K apart', () => {
  test('when they are, then it trips; a head that is spoken for is left out', () => {
    const stand = new Stand(smallRig([rule.spread('apart'), rule.sensor('lost')]));
    stand.runTo(s, { cht1: 100, cht2: 140 });
    expect(stand.alarmsSaid()).toEqual([]);
    stand.runTo(2 * s, { cht2: 140.1 });
    expect(stand.alarmsSaid()).toEqual(['tripped apart']);
    stand.runTo(3 * s, { cht2: 'open' });
    expect(stand.alarmsSaid()).toEqual(['tripped lost:cht2']);
    stand.runTo(4 * s, { cht2: 129.9 });
    expect(stand.alarmsSaid()).toEqual(['returned lost:cht2', 'returned apart']);
  });
  test('when one fails and nobody speaks for it, then it trips', () => {
    const stand = new Stand(smallRig([rule.spread('apart')]));
    stand.runTo(s, { cht2: 'short' });
    expect(stand.alarmsSaid()).toEqual(['tripped apart']);
    expect(stand.pipeline.alarms[0]).toMatchObject({ value: NaN, unit: 'K' });
  });
});

describe('given a channel that must follow its demand within 1 s', () => {
  const rig = smallRig([rule.deviation('follows')]);
  test('when it follows in time, then nothing is said; when not, it trips a second after the demand', () => {
    const stand = new Stand(rig);
    stand.runTo(3 * s, { torque: 10, thrust: 200 });
    stand.runTo(3.9 * s, { torque: 50 });
    stand.runTo(6 * s, { thrust: 600 });
    expect(stand.alarmsSaid()).toEqual([]);
    stand.runTo(6.99 * s, { torque: 20 });
    expect(stand.alarmsSaid()).toEqual([]);
    stand.runTo(7.02 * s);
    expect(stand.alarmsSaid()).toEqual(['tripped follows']);
    expect(stand.pipeline.alarms).toMatchObject([{ value: 300, limit: 20, subject: 'thrust' }]);
    stand.runTo(9 * s, { thrust: 300 });
    expect(stand.alarmsSaid()).toEqual(['returned follows']);
  });
});

describe('given a pickup that must not freeze while running', () => {
  const rig = smallRig([rule.frozen('frozen', { when: ['running'] })]);
  const flicker = (stand: Stand, to_us: number) => {
    for (let i = 0; stand.t_us < to_us; i++) stand.runTo(stand.t_us + 100_000, { rpm: 6000 + (i % 2) });
  };
  test('when it stands still at rest, then nothing; while running it trips after 5 s, and says for how long', () => {
    const stand = new Stand(rig);
    stand.runTo(20 * s);
    flicker(stand, 30 * s);
    expect(stand.alarmsSaid()).toEqual([]);
    stand.runTo(34.9 * s, { rpm: 6003 });
    expect(stand.alarmsSaid()).toEqual([]);
    stand.runTo(35.1 * s);
    expect(stand.alarmsSaid()).toEqual(['tripped frozen:rpm']);
    expect(stand.pipeline.alarms).toMatchObject([{ value: 5, limit: 5, unit: 's' }]);
    flicker(stand, 36 * s);
    expect(stand.alarmsSaid()).toEqual(['returned frozen:rpm']);
  });
  test('when nothing is heard for a while, then silence is not stillness', () => {
    const stand = new Stand(smallRig([rule.frozen('frozen', { when: ['running'] }), rule.link('link')]));
    flicker(stand, 10 * s);
    stand.event({ kind: 'link', state: 'silent', detail: '' });
    for (let t_us = 10.1 * s; t_us <= 30 * s; t_us += 100_000) stand.tick(t_us);
    expect(stand.alarmsSaid()).toEqual(['tripped link']);
  });
});

describe('given notes of bench and host clock', () => {
  const rig = smallRig([rule.clockDrift('drift')]);
  /** A note each minute; the host reads so many ppm slower than the bench. */
  function note(stand: Stand, minute: number, ppm: number, bench_us = minute * 60 * s): void {
    stand.t_us = minute * 60 * s;
    const host_epochMs = 1_700_000_000_000 + (minute * 60_000) / (1 + ppm / 1e6);
    stand.event({ kind: 'clock', bench_us, session_us: stand.t_us, host_epochMs });
  }
  test('when they part by 600 ppm, then it trips once they span 2 min', () => {
    const stand = new Stand(rig);
    for (const minute of [0, 1]) note(stand, minute, 600);
    expect(stand.alarmsSaid()).toEqual([]);
    note(stand, 2, 600);
    expect(stand.alarmsSaid()).toEqual(['tripped drift']);
    expect(stand.pipeline.alarms[0]!.value).toBeCloseTo(600, 0);
  });
  test('when they keep time within 100 ppm, then never; when the bench reboots, then it is measured anew', () => {
    const stand = new Stand(rig);
    for (let minute = 0; minute < 10; minute++) note(stand, minute, 100);
    note(stand, 10, 100, 5 * s);
    note(stand, 11, 100, 65 * s);
    note(stand, 12, 100, 125 * s);
    expect(stand.alarmsSaid()).toEqual([]);
  });
});

describe('given what the host says of its recorder', () => {
  test('when it holds for too long, then the rule trips; written again, it returns', () => {
    const stand = new Stand(smallRig([rule.recorder('recorder')]));
    const say = (t_s: number, state: 'recording' | 'holding' | 'stopped', held_s: number) => {
      stand.t_us = t_s * s;
      stand.event({ kind: 'recorder', state, held_s, freeBytes: 1e9 });
    };
    say(0, 'recording', 0);
    say(5, 'holding', 5);
    expect(stand.alarmsSaid()).toEqual([]);
    say(11, 'holding', 11);
    expect(stand.alarmsSaid()).toEqual(['tripped recorder']);
    expect(stand.pipeline.alarms).toMatchObject([{ value: 11, limit: 10, unit: 's', subject: null }]);
    say(12, 'recording', 0);
    expect(stand.alarmsSaid()).toEqual(['returned recorder']);
  });
});

describe('given a tank and a meter', () => {
  // The level stands in the channel of the fuel temperature here: this small bench has no tank.
  test('when less than 10 min are left at the present rate, then it trips with the minutes', () => {
    const stand = new Stand(smallRig([rule.fuelTime('fuel')]));
    stand.runTo(60 * s, { fuel_temp: 1, fuel_flow: 5.9 });
    expect(stand.alarmsSaid()).toEqual([]);
    stand.runTo(180 * s, { fuel_flow: 6.1 });
    expect(stand.alarmsSaid()).toEqual(['tripped fuel']);
    expect(stand.pipeline.alarms[0]!.value).toBeCloseTo(10, 1);
    stand.runTo(181 * s, { fuel_flow: 'open' });
    expect(stand.alarmsSaid()).toEqual([]);
  });
  test('when the meter fails and nobody speaks for it, then it trips', () => {
    const stand = new Stand(smallRig([rule.fuelTime('fuel')]));
    stand.runTo(s, { fuel_temp: 1, fuel_flow: 'open' });
    expect(stand.alarmsSaid()).toEqual(['tripped fuel']);
  });
});

describe('given fasteners that are due after 6 h in one run or 30 h since locked', () => {
  const rig = smallRig([rule.endurance('fasteners')]);
  /** One frame a second, running or at rest. */
  function pass(stand: Stand, hours: number, rpm: number): void {
    const to_us = stand.t_us + hours * h;
    for (let t_us = stand.t_us + s; t_us <= to_us; t_us += s) stand.frame(1, t_us, { rpm });
  }
  test('when the engine runs for 31 h in runs of 5 h, then they are due after 30 of them, until locked', () => {
    const stand = new Stand(rig);
    for (let run = 0; run < 6; run++) {
      pass(stand, 5, 5000 + run);
      expect(stand.alarmsSaid()).toEqual([]);
      pass(stand, 0.01, 0);
    }
    // Each run counts from when it is known to run, a second or two after its crank.
    expect(stand.pipeline.hours.sinceLocked_h).toBeGreaterThan(29.99);
    expect(stand.pipeline.hours.sinceLocked_h).toBeLessThanOrEqual(30);
    pass(stand, 1, 5000);
    expect(stand.alarmsSaid()).toEqual(['tripped fasteners']);
    const { hours, alarms } = stand.pipeline;
    expect(alarms[0]!.value).toBeCloseTo(30, 2);
    expect(hours.total_h).toBeCloseTo(31, 1);
    expect(hours.longestRun_h).toBeCloseTo(5, 2);
    stand.operator({ kind: 'fasteners-locked' });
    expect(stand.alarmsSaid()).toEqual(['returned fasteners']);
    expect(stand.pipeline.hours.sinceLocked_h).toBe(0);
    expect(stand.pipeline.hours.total_h).toBeCloseTo(31, 1);
  });
  test('when one run lasts longer than 6 h, then they are due, also after it', () => {
    const stand = new Stand(rig);
    pass(stand, 6, 5000);
    expect(stand.alarmsSaid()).toEqual([]);
    pass(stand, 0.01, 5001);
    expect(stand.alarmsSaid()).toEqual(['tripped fasteners']);
    pass(stand, 0.1, 0);
    expect(stand.alarmsSaid()).toEqual([]);
    expect(stand.pipeline.alarms).toMatchObject([{ limit: 6, unit: 'h' }]);
  });
  test('when 29.9 h are carried over from earlier sessions, then six minutes more are enough', () => {
    const stand = new Stand(rig);
    stand.event({ kind: 'hours', total_h: 120, sinceLocked_h: 29.9, longestRun_h: 2 });
    pass(stand, 0.09, 5000);
    expect(stand.alarmsSaid()).toEqual([]);
    pass(stand, 0.02, 5001);
    expect(stand.alarmsSaid()).toEqual(['tripped fasteners']);
    expect(stand.pipeline.hours.total_h).toBeCloseTo(120.11, 2);
  });
});
