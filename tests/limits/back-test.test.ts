import { describe, expect, test } from 'vitest';
import { BackTest } from '../../shared-core/limits/back-test.ts';
import type { LimitRule } from '../../shared-core/limits/rules.ts';
import { JournalTape, rule, Stand, smallRig } from '../pipeline-support.ts';

const s = 1_000_000;
const rig = smallRig([
  rule.threshold('warm', { level: 'caution', trip: 190, reset: 185 }),
  rule.threshold('over', { level: 'abort', trip: 220, reset: 205 }),
  rule.sensor('lost', { channels: ['cht1'] }),
]);

/** CHT 1 rises by 1 K/s from 150 °C, twice; the first time to 225, the second time to 200; then its lead breaks. */
function recorded() {
  const tape = new JournalTape();
  const stand = new Stand(rig, {}, undefined, tape);
  const ramp = (from_s: number, to_s: number) => {
    for (let t_s = from_s; t_s < to_s; t_s++) stand.runTo((t_s + 1) * s, { cht1: 150 + t_s + 1 - from_s });
  };
  ramp(0, 75);
  stand.runTo(200 * s, { cht1: 150 });
  ramp(200, 250);
  stand.runTo(300 * s, { cht1: 150 });
  stand.runTo(310 * s, { cht1: 'open' });
  return { tape, outputs: stand.said.map(({ t_us, output }) => ({ t_us, body: output })) };
}
function backTest(tested: readonly LimitRule[]) {
  const { tape, outputs } = recorded();
  const test = new BackTest('s1', rig, tested);
  tape.playTo(test);
  return test.result(outputs);
}
const warm = (trip: number) => rule.threshold('warm', { level: 'caution', trip, reset: trip - 5 });

describe('given a recording in which a head rose twice, once to its abort', () => {
  test('when the rule is tried as it was, then it trips as it did', () => {
    const { rules, aborts } = backTest([warm(190)]);
    expect(aborts).toMatchObject([{ id: 'over', t_us: 70.1 * s }]);
    expect(rules).toMatchObject([
      {
        ...{ ruleId: 'warm', isJudged: true, count: 2, first_us: 40.1 * s, earlier_s: 0 },
        recorded: { count: 2, first_us: 40.1 * s, trips_us: [40.1 * s, 240.1 * s] },
        ...{ caught: 1, missed: 0, unfollowed: 1, medianLead_s: 30 },
      },
    ]);
    expect(rules[0]?.trips).toMatchObject([
      { t_us: 40.1 * s, value: 191, lead_s: 30 },
      { t_us: 240.1 * s, lead_s: null },
    ]);
  });
  test.each([
    { trip: 170, count: 2, earlier_s: 20, lead_s: 50, unfollowed: 1 },
    { trip: 205, count: 1, earlier_s: -15, lead_s: 15, unfollowed: 0 },
  ])('when it trips at $trip, then $earlier_s s earlier, with a lead of $lead_s s', (each) => {
    const [found] = backTest([warm(each.trip)]).rules;
    expect(found).toMatchObject({ count: each.count, unfollowed: each.unfollowed, caught: 1 });
    expect(found?.earlier_s).toBeCloseTo(each.earlier_s, 6);
    expect(found?.medianLead_s).toBeCloseTo(each.lead_s, 6);
  });
  test('when it would never have tripped, then the abort was missed', () => {
    const [found] = backTest([warm(230)]).rules;
    expect(found).toMatchObject({
      count: 0,
      first_us: null,
      earlier_s: null,
      caught: 0,
      missed: 1,
      medianLead_s: null,
    });
  });
  test('when the abort itself is moved, then its own trip is no outcome', () => {
    const [found] = backTest([rule.threshold('over', { level: 'abort', trip: 210, reset: 200 })]).rules;
    expect(found).toMatchObject({ count: 1, recorded: { count: 1 }, caught: 0, missed: 0 });
    expect(found?.earlier_s).toBeCloseTo(10, 6);
  });
  test('when only the first rise was folded, then what was recorded later counts for nothing', () => {
    const { tape, outputs } = recorded();
    const test = new BackTest('s1', rig, [warm(190)]);
    tape.playTo({
      frame: (ord, t_us, group, raw, columns) => t_us <= 200 * s && test.frame(ord, t_us, group, raw, columns),
      tick: (ord, t_us) => t_us <= 200 * s && test.tick(ord, t_us),
      event: (ord, t_us, body) => t_us <= 200 * s && test.event(ord, t_us, body),
    });
    expect(test.result(outputs).rules).toMatchObject([{ count: 1, recorded: { count: 1, trips_us: [40.1 * s] } }]);
  });
  test('when it tripped more than 500 times then, then the first 500 are listed and all are counted', () => {
    const test = new BackTest('s1', rig, [warm(190)]);
    test.tick(0, 600 * s);
    const trip = recorded().outputs.find(({ body }) => body.kind === 'alarm' && body.rule === 'warm')!;
    const { recorded: then } = test.result(Array.from({ length: 501 }, (_, i) => ({ ...trip, t_us: i * s }))).rules[0]!;
    expect(then).toMatchObject({ count: 501, first_us: 0 });
    expect(then?.trips_us).toHaveLength(500);
    expect(then?.trips_us.at(-1)).toBe(499 * s);
  });
  test('when a rule is new, or its channel was not there, then that is said', () => {
    const { rules } = backTest([
      rule.rate('fast', { trip_perS: 0.5, reset_perS: 0.2 }),
      rule.threshold('none', { channel: 'cht9' }),
    ]);
    expect(rules).toMatchObject([
      { ruleId: 'fast', recorded: null, isJudged: true },
      { ruleId: 'none', count: 0, isJudged: false },
    ]);
    expect(rules[0]!.count).toBeGreaterThan(0);
  });
  test('when a lead breaks that its sensor rule speaks for, then the rule holds as it would live', () => {
    const [found] = backTest([warm(140)]).rules;
    expect(found?.trips.every((trip) => trip.t_us < 300 * s)).toBe(true);
  });
  test('when a rule looks at a derived channel, then it is computed; its fold gives what the live one gave', () => {
    const { tape } = recorded();
    const spread = rule.threshold('spread', { channel: 'cht_spread', trip: 190, reset: 180 });
    const live = new Stand(smallRig([spread, rule.sensor('lost', { channels: ['cht1'] })]), {}, null);
    tape.playTo(live.pipeline);
    const trips = live.said.filter(
      ({ output }) => output.kind === 'alarm' && output.rule === 'spread' && output.change === 'tripped',
    );
    const test = new BackTest('s1', rig, [spread]);
    tape.playTo(test);
    expect(trips.length).toBeGreaterThan(0);
    expect(test.result([]).rules[0]?.trips.map((trip) => trip.t_us)).toEqual(trips.map(({ t_us }) => t_us));
  });
});
