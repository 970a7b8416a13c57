import { describe, expect, test } from 'vitest';
import type { AdvisoryPlan } from '../../shared-core/advisory/plans.ts';
import { rule, type Said, Stand, smallRig } from '../pipeline-support.ts';

const s = 1_000_000;

const overTemperature: AdvisoryPlan = {
  cause: 'over-temperature',
  rank: 4,
  title: 'Over-temperature',
  imperative: 'Close the throttle now',
  steps: [
    {
      id: 'idle',
      imperative: 'Close the throttle',
      why: 'invented',
      proof: { kind: 'channel', channel: 'rpm', is: 'below', value: 2400, hold_ms: 1000 },
      allowed_s: 8,
    },
    {
      id: 'falling',
      imperative: 'Wait until the head is falling',
      why: 'invented',
      proof: { kind: 'falling', channel: 'cht_max', atLeast_perS: -0.5, hold_ms: 2000 },
      allowed_s: 60,
    },
    {
      id: 'cut',
      imperative: 'Cut the ignition',
      why: 'invented',
      proof: { kind: 'input', input: 'ignition', state: 0 },
      allowed_s: 10,
    },
    { id: 'find', imperative: 'Find the cause', why: 'invented', proof: { kind: 'operator' }, allowed_s: 1800 },
  ],
};
const overspeed: AdvisoryPlan = {
  cause: 'overspeed',
  rank: 2,
  title: 'Overspeed',
  imperative: 'Cut the ignition now',
  steps: [{ id: 'look', imperative: 'Look', why: 'invented', proof: { kind: 'operator' }, allowed_s: 60 }],
};
const rules = [
  rule.threshold('hot', { level: 'abort', advisory: 'over-temperature', latch: true }),
  rule.threshold('hot2', { channel: 'cht2', level: 'abort', advisory: 'over-temperature' }),
  rule.threshold('fast', { channel: 'rpm', trip: 7000, reset: 6500, level: 'abort', advisory: 'overspeed' }),
  rule.threshold('warm', { trip: 190, reset: 185, level: 'caution', advisory: 'over-temperature' }),
  rule.threshold('fuel', { channel: 'fuel_temp', trip: 60, reset: 50, level: 'abort', advisory: 'fuel-low' }),
  rule.sensor('lost', { channels: ['rpm'], level: 'caution' }),
];
const rig = smallRig(rules, { plans: [overTemperature, overspeed] });

function advisoriesSaid(said: Said[]): string[] {
  return said
    .splice(0)
    .flatMap(({ t_us, output }) =>
      output.kind === 'advisory'
        ? [
            [t_us / s, output.change, output.cause, output.stepId, output.doneBy]
              .filter((each) => each !== null)
              .join(' '),
          ]
        : [],
    );
}
/** At full throttle, then the head goes over its limit at 2.0 s. */
function hotStand(): Stand {
  const stand = new Stand(rig);
  stand.input('ignition', 1);
  stand.runTo(1.9 * s, { rpm: 6000, cht1: 180 });
  stand.runTo(2 * s, { cht1: 221 });
  return stand;
}
const statesOf = (stand: Stand) => stand.pipeline.advisories[0]?.steps.map((each) => each.state);

describe('given a plan for over-temperature and an abort rule that names it', () => {
  test('when the rule trips, then the advisory opens with its cause, and its first step is current', () => {
    const stand = hotStand();
    expect(advisoriesSaid(stand.said)).toEqual(['2 opened over-temperature']);
    expect(stand.pipeline.advisories).toMatchObject([
      {
        id: 'over-temperature@2000000',
        causeText: 'hot: 221.0 °C, limit 220 °C',
        alarmId: 'hot',
        openedAt_us: 2 * s,
        completedAt_us: null,
        closedAt_us: null,
      },
    ]);
    expect(statesOf(stand)).toEqual(['current', 'waiting', 'waiting', 'waiting']);
  });
  test('when only a caution that names it trips, then none opens', () => {
    const stand = new Stand(rig);
    stand.runTo(s, { cht1: 200 });
    expect(advisoriesSaid(stand.said)).toEqual([]);
    expect(stand.pipeline.alarms).toHaveLength(1);
  });
  test('when there is no plan for the cause, then none opens', () => {
    const stand = new Stand(rig);
    stand.runTo(s, { fuel_temp: 70 });
    expect(stand.pipeline.advisories).toEqual([]);
  });
  test('when the second head trips too, or the first again, then they join the one that stands', () => {
    const stand = hotStand();
    stand.runTo(3 * s, { cht2: 230 });
    stand.runTo(4 * s, { cht1: 100 });
    stand.runTo(5 * s, { cht1: 230 });
    expect(stand.pipeline.advisories).toHaveLength(1);
  });
  test('when all is done as it should be, then channels turn their steps, the operator the last, and only he closes it', () => {
    const stand = hotStand();
    // Speed falls below 2,400 at 4.0 s and holds for 1 s.
    stand.runTo(3.99 * s);
    stand.runTo(4.5 * s, { rpm: 2300 });
    expect(statesOf(stand)).toEqual(['current', 'waiting', 'waiting', 'waiting']);
    stand.runTo(5 * s);
    expect(statesOf(stand)).toEqual(['done-by-channel', 'current', 'waiting', 'waiting']);
    // The head falls by 2 K/s.
    for (let i = 1; i <= 120; i++) stand.runTo((5 + i / 10) * s, { cht1: 221 - i * 0.2 });
    expect(statesOf(stand)).toEqual(['done-by-channel', 'done-by-channel', 'current', 'waiting']);
    stand.input('ignition', 0);
    expect(statesOf(stand)).toEqual(['done-by-channel', 'done-by-channel', 'done-by-channel', 'current']);
    const id = stand.pipeline.advisories[0]?.id ?? '';
    stand.operator({ kind: 'advisory-step', advisoryId: id, stepId: 'find' });
    const said = advisoriesSaid(stand.said);
    expect(said.map((each) => each.replace(/^[\d.]+ /, ''))).toEqual([
      'opened over-temperature',
      'step-done over-temperature idle channel',
      'step-done over-temperature falling channel',
      'step-done over-temperature cut channel',
      'step-done over-temperature find operator',
      'completed over-temperature',
    ]);
    expect(said[1]).toMatch(/^5 /);
    expect(stand.pipeline.advisories[0]).toMatchObject({ completedAt_us: 17 * s, closedAt_us: null });
    stand.operator({ kind: 'advisory-close', advisoryId: id });
    expect(stand.pipeline.advisories[0]).toMatchObject({ closedAt_us: 17 * s });
  });
});

describe('given a step that a channel proves', () => {
  test('when the proof breaks before its hold is over, then the hold begins anew', () => {
    const stand = hotStand();
    stand.runTo(3 * s, { rpm: 2300 });
    stand.runTo(3.1 * s, { rpm: 2500 });
    stand.runTo(4.09 * s, { rpm: 2300 });
    expect(statesOf(stand)?.[0]).toBe('current');
    stand.runTo(4.12 * s);
    expect(statesOf(stand)?.[0]).toBe('done-by-channel');
  });
  test('when at the level itself, then it is not proved', () => {
    const stand = hotStand();
    stand.runTo(9 * s, { rpm: 2400 });
    expect(statesOf(stand)?.[0]).toBe('current');
  });
  test('when the operator confirms it while its channel is good, then it does not count', () => {
    const stand = hotStand();
    stand.operator({ kind: 'advisory-step', advisoryId: 'over-temperature@2000000', stepId: 'idle' });
    expect(statesOf(stand)?.[0]).toBe('current');
  });
  test('when its channel has failed, then the operator may confirm it', () => {
    const stand = hotStand();
    stand.runTo(2.1 * s, { rpm: 'open' });
    expect(stand.pipeline.advisories[0]?.steps[0]?.proofText).toBe('Rpm below 2\u2009400: no reading (open)');
    stand.operator({ kind: 'advisory-step', advisoryId: 'over-temperature@2000000', stepId: 'idle' });
    expect(statesOf(stand)).toEqual(['done-by-operator', 'current', 'waiting', 'waiting']);
  });
  test('when the operator confirms a step that is not current, then it does not count', () => {
    const stand = hotStand();
    stand.operator({ kind: 'advisory-step', advisoryId: 'over-temperature@2000000', stepId: 'find' });
    expect(statesOf(stand)).toEqual(['current', 'waiting', 'waiting', 'waiting']);
  });
  test('when it takes longer than allowed, then it is overdue, said once, and can still be done', () => {
    const stand = hotStand();
    stand.runTo(10 * s);
    expect(advisoriesSaid(stand.said)).toEqual(['2 opened over-temperature']);
    stand.runTo(12 * s);
    expect(advisoriesSaid(stand.said)).toEqual([
      '10.01 step-overdue over-temperature idle',
      '10.01 escalated over-temperature idle',
    ]);
    expect(stand.pipeline.advisories[0]?.steps[0]?.isOverdue).toBe(true);
    stand.runTo(14 * s, { rpm: 2300 });
    expect(advisoriesSaid(stand.said)).toEqual(['13.01 step-done over-temperature idle channel']);
  });
  test('when a later step is proved already, then it turns as soon as it is current', () => {
    const stand = hotStand();
    stand.input('ignition', 0);
    for (let i = 0; i <= 130; i++) stand.runTo((2 + i / 10) * s, { rpm: 2300, cht1: 221 - i * 0.2 });
    expect(statesOf(stand)).toEqual(['done-by-channel', 'done-by-channel', 'done-by-channel', 'current']);
    const [, , falling, cut] = advisoriesSaid(stand.said).map((each) => each.split(' ')[0]);
    expect(cut).toBe(falling);
  });
  test('when the link is silent, then overdue steps are still noticed, by the ticks', () => {
    const stand = hotStand();
    for (let t_us = 2.1 * s; t_us <= 10.1 * s; t_us += 100_000) stand.tick(t_us);
    expect(advisoriesSaid(stand.said)).toEqual([
      '2 opened over-temperature',
      '10.1 step-overdue over-temperature idle',
      '10.1 escalated over-temperature idle',
    ]);
  });
});

describe('given a head that must be falling by 0.5 K/s', () => {
  test.each([
    { slope_KPers: 0, state: 'current' },
    { slope_KPers: -0.4, state: 'current' },
    { slope_KPers: -0.6, state: 'done-by-channel' },
    { slope_KPers: 0.6, state: 'current' },
  ])('when it changes by $slope_KPers K/s for 12 s, then the step is $state', ({ slope_KPers, state }) => {
    const stand = hotStand();
    stand.runTo(3.5 * s, { rpm: 2300 });
    for (let i = 1; i <= 120; i++) stand.runTo((3.5 + i / 10) * s, { cht1: 221 + (i / 10) * slope_KPers });
    expect(statesOf(stand)?.[1]).toBe(state);
  });
});

describe('given two advisories at once', () => {
  test('when the graver comes later, then it leads; closed ones come last', () => {
    const stand = hotStand();
    stand.runTo(2.1 * s, { rpm: 7100 });
    const [first, second] = stand.pipeline.advisories;
    expect([first?.cause, second?.cause]).toEqual(['overspeed', 'over-temperature']);
    stand.operator({ kind: 'advisory-close', advisoryId: first?.id ?? '' });
    expect(stand.pipeline.advisories.map((each) => each.cause)).toEqual(['over-temperature', 'overspeed']);
    expect(stand.pipeline.advisories[1]).toMatchObject({ completedAt_us: null, closedAt_us: 2.1 * s });
  });
  test('when one is closed and its cause trips again, then a new one opens', () => {
    const stand = new Stand(rig);
    stand.runTo(s, { rpm: 7100 });
    stand.operator({ kind: 'advisory-close', advisoryId: stand.pipeline.advisories[0]?.id ?? '' });
    stand.runTo(2 * s, { rpm: 6000 });
    stand.runTo(3 * s, { rpm: 7100 });
    expect(stand.pipeline.advisories.map((each) => each.openedAt_us)).toEqual([2_010_000, 10_000]);
  });
});

describe('what tripped, in words', () => {
  const plan = (cause: AdvisoryPlan['cause']): AdvisoryPlan => ({ ...overspeed, cause });
  const rigOf = (...rules: Parameters<typeof smallRig>[0]) =>
    smallRig(rules, { plans: [plan('link-lost'), plan('stop-circuit'), plan('sensor-lost')] });
  test('given the link, then how long nothing was heard, or that the port is closed', () => {
    const link = rule.link('Link lost', { level: 'abort', advisory: 'link-lost' });
    const silent = new Stand(rigOf(link));
    silent.runTo(s);
    for (let t_us = 1.1 * s; t_us <= 2.2 * s; t_us += 100_000) silent.tick(Math.round(t_us));
    expect(silent.pipeline.advisories[0]?.causeText).toBe('Link lost: nothing heard for 1.1 s');
    const closed = new Stand(rigOf(link));
    closed.runTo(s);
    closed.event({ kind: 'link', state: 'closed', detail: '' });
    expect(closed.pipeline.advisories[0]?.causeText).toBe('Link lost: port closed');
  });
  test('given an input, then its word', () => {
    const stand = new Stand(rigOf(rule.input('Stop circuit', { level: 'abort', advisory: 'stop-circuit' })));
    stand.input('stop', 0);
    expect(stand.pipeline.advisories[0]?.causeText).toBe('Stop circuit: off');
  });
  test('given a failed sensor, then that there is no reading', () => {
    const stand = new Stand(rigOf(rule.sensor('Lost', { level: 'abort', advisory: 'sensor-lost' })));
    stand.runTo(s, { cht1: 'open' });
    expect(stand.pipeline.advisories[0]?.causeText).toBe('Lost: CHT 1 (open): no reading');
  });
});

describe('how proofs read', () => {
  test('given good values, then what is wanted and what is', () => {
    const stand = hotStand();
    expect(stand.pipeline.advisories[0]?.steps.map((each) => each.proofText)).toEqual([
      'Rpm below 2\u2009400: 6\u2009000',
      expect.stringMatching(/^Hottest head falling by 0\.5 K\/s: /),
      'ignition off: on',
      '',
    ]);
  });
});
