/** Advisories that insist, lead and give way; fire; the cool-down with its prediction and its tail. */
import { describe, expect, test } from 'vitest';
import type { AdvisoryPlan } from '../../shared-core/advisory/plans.ts';
import { rule, Stand, smallRig } from '../pipeline-support.ts';

const s = 1_000_000;
const step = (id: string, allowed_s: number) =>
  ({ id, imperative: id, why: 'invented', proof: { kind: 'operator' }, allowed_s }) as const;
const plan = (cause: AdvisoryPlan['cause'], rank: number, more: Partial<AdvisoryPlan> = {}): AdvisoryPlan => ({
  ...{ cause, rank, title: cause, imperative: cause, steps: [step('one', 4), step('two', 6)], ...more },
});
const coolDown = plan('cool-down', 50, {
  kind: 'cool-down',
  steps: [
    {
      ...step('cooled', 300),
      proof: { kind: 'cooled', channel: 'cht_max', below: 130, settled_perS: 0.05, settledAfter_s: 8, hold_ms: 2000 },
    },
    { ...step('cut', 60), proof: { kind: 'input', input: 'ignition', state: 0 } },
    step('tank', 300),
    step('backup', 300),
  ],
});
const rig = smallRig(
  [
    rule.threshold('fast', { channel: 'rpm', trip: 7000, reset: 6500, level: 'abort', advisory: 'overspeed' }),
    rule.threshold('hot', { level: 'abort', advisory: 'over-temperature' }),
    rule.coolDown('cool', { level: 'caution', advisory: 'cool-down' }),
  ],
  { plans: [plan('overspeed', 3), plan('over-temperature', 5), plan('fire', 1), coolDown] },
);

function said(stand: Stand): string[] {
  return stand.said
    .splice(0)
    .flatMap(({ t_us, output }) =>
      output.kind === 'advisory'
        ? [
            [t_us / s, output.change, output.cause, output.stepId, output.escalation]
              .filter((each) => each != null)
              .join(' '),
          ]
        : [],
    );
}
const open = (stand: Stand) => stand.pipeline.advisories.filter((each) => each.closedAt_us === null);
const confirm = (stand: Stand, stepId: string, nth = 0) =>
  stand.operator({ kind: 'advisory-step', advisoryId: open(stand)[nth]!.id, stepId });

describe('given steps that are not done in their time', () => {
  test('when the first is overdue, then it insists; at twice its time more; done, no more', () => {
    const stand = new Stand(rig);
    stand.runTo(s, { rpm: 7100 });
    stand.runTo(4 * s);
    expect(open(stand)[0]?.escalation).toBe(0);
    stand.runTo(8 * s);
    expect(open(stand)[0]?.escalation).toBe(1);
    stand.runTo(9 * s);
    expect(open(stand)[0]?.escalation).toBe(2);
    // Opened with the first frame, at 0.01 s.
    expect(said(stand)).toEqual([
      '0.01 opened overspeed',
      '4.02 step-overdue overspeed one',
      '4.02 escalated overspeed one 1',
      '8.02 escalated overspeed one 2',
    ]);
    confirm(stand, 'one');
    expect(open(stand)[0]?.escalation).toBe(0);
  });
  test('when a second step is overdue, then it insists more at once', () => {
    const stand = new Stand(rig);
    stand.runTo(5 * s, { rpm: 7100 });
    confirm(stand, 'one');
    stand.runTo(11.02 * s);
    expect(said(stand).slice(-2)).toEqual(['11.01 step-overdue overspeed two', '11.01 escalated overspeed two 2']);
  });
  test('when its alarm was acknowledged, then it sounds again; silence holds for a minute or until it insists more', () => {
    const stand = new Stand(rig);
    stand.runTo(s, { rpm: 7100 });
    stand.operator({ kind: 'acknowledge-all' });
    expect(stand.pipeline.sound).toBeNull();
    stand.runTo(5 * s);
    expect(stand.pipeline.sound).toBe('abort');
    stand.operator({ kind: 'silence' });
    expect(stand.pipeline.sound).toBeNull();
    stand.runTo(9 * s);
    expect(stand.pipeline.sound).toBe('abort');
  });
});

describe('given two causes at once', () => {
  test('when the second is graver, then it leads, and the first waits in sight', () => {
    const stand = new Stand(rig);
    stand.runTo(s, { cht1: 230 });
    stand.runTo(2 * s, { rpm: 7100 });
    expect(open(stand).map((each) => each.cause)).toEqual(['overspeed', 'over-temperature']);
  });
  test('when somebody sees fire, then that leads before all', () => {
    const stand = new Stand(rig);
    stand.runTo(s, { rpm: 7100 });
    stand.operator({ kind: 'raise-advisory', cause: 'fire' });
    expect(open(stand)[0]).toMatchObject({
      cause: 'fire',
      kind: 'abort',
      alarmId: '',
      causeText: 'fire: raised by operator 1',
    });
    stand.operator({ kind: 'raise-advisory', cause: 'fire' });
    expect(open(stand)).toHaveLength(2);
  });
  test('when the sheet has no plan for fire, then that is said', () => {
    const stand = new Stand(smallRig([]));
    expect(stand.pipeline.refusalOf({ kind: 'raise-advisory', cause: 'fire' })).toContain('no plan for fire');
  });
});

describe('given a minute of high power', () => {
  /** Then idle, with the head falling by 1 K/s from 180 °C. */
  function atIdle(stand: Stand, to_s: number): void {
    for (let t_s = Math.round(stand.t_us / s); t_s < to_s; t_s++) {
      for (let i = 1; i <= 10; i++) stand.runTo((t_s + i / 10) * s, { rpm: 2000, cht1: 180 - (t_s + i / 10 - 60) });
    }
  }
  function afterPower(): Stand {
    const stand = new Stand(rig);
    stand.input('ignition', 1);
    stand.runTo(60 * s, { rpm: 6000, cht1: 180, cht2: 90 });
    return stand;
  }
  test('when it comes to idle, then the cool-down opens after 5 s, says how long to wait, and turns when it is cool', () => {
    const stand = afterPower();
    atIdle(stand, 65);
    expect(said(stand)).toEqual([]);
    atIdle(stand, 80);
    expect(said(stand)).toEqual(['65.01 opened cool-down']);
    const [advisory] = open(stand);
    expect(advisory).toMatchObject({ kind: 'cool-down', alarmId: '', escalation: 0 });
    // 160 °C, falling by 1 K/s: 30 s to 130 °C.
    expect(advisory?.steps[0]?.waitLeft_s).toBeCloseTo(30, 0);
    expect(advisory?.steps[0]?.proofText).toMatch(
      /^Hottest head at or below 130 °C: 160\.0; wait: 3[01] s more at this fall$/,
    );
    atIdle(stand, 113);
    expect(said(stand)).toEqual(['112 step-done cool-down cooled']);
    expect(stand.pipeline.alarms).toEqual([]);
    stand.input('ignition', 0);
    confirm(stand, 'tank');
    confirm(stand, 'backup');
    expect(said(stand)).toEqual([
      '113 step-done cool-down cut',
      '113 step-done cool-down tank',
      '113 step-done cool-down backup',
      '113 completed cool-down',
    ]);
    expect(stand.pipeline.alarms).toEqual([]);
  });
  test('when the ignition is cut hot, then the rule trips', () => {
    const stand = afterPower();
    atIdle(stand, 70);
    stand.input('ignition', 0);
    expect(stand.pipeline.alarms).toMatchObject([{ id: 'cool', level: 'caution', value: 170, limit: 130, unit: '°C' }]);
  });
  test('when the head has settled above the limit, then more waiting brings nothing: the cut is safe', () => {
    const stand = afterPower();
    atIdle(stand, 70);
    for (let t_s = 70; t_s < 80; t_s++) stand.runTo((t_s + 1) * s, { cht1: 150 - (t_s - 70) * 0.01 });
    expect(said(stand).at(-1)).toMatch(/step-done cool-down cooled$/);
  });
  test('when it goes back to power, then the cool-down is withdrawn, and offered anew after the next spell', () => {
    const stand = afterPower();
    atIdle(stand, 70);
    stand.runTo(100 * s, { rpm: 6000 });
    expect(said(stand)).toEqual(['65.01 opened cool-down', '75.01 withdrawn cool-down']);
    stand.runTo(110 * s, { rpm: 2000 });
    expect(said(stand)).toEqual(['105.01 opened cool-down']);
  });
  test('when the operator closes it, then it is not offered again for this spell', () => {
    const stand = afterPower();
    atIdle(stand, 66);
    stand.operator({ kind: 'advisory-close', advisoryId: open(stand)[0]!.id });
    atIdle(stand, 100);
    expect(open(stand)).toEqual([]);
  });
  test('when an abort stands, then none opens beside it; an abort that comes later leads', () => {
    const aborting = afterPower();
    aborting.runTo(61 * s, { rpm: 7100 });
    atIdle(aborting, 80);
    expect(open(aborting).map((each) => each.cause)).toEqual(['overspeed']);
    const later = afterPower();
    atIdle(later, 70);
    later.runTo(71 * s, { cht1: 230 });
    expect(open(later).map((each) => each.cause)).toEqual(['over-temperature', 'cool-down']);
  });
  test('when the head sensor fails, then the operator may confirm that it has cooled', () => {
    const stand = afterPower();
    atIdle(stand, 70);
    stand.runTo(71 * s, { cht1: 'open', cht2: 'open' });
    // Nobody speaks for the heads here: their abort trips, and leads.
    expect(open(stand)[1]?.steps[0]?.waitLeft_s).toBeNull();
    confirm(stand, 'cooled', 1);
    expect(open(stand)[1]?.steps[0]?.state).toBe('done-by-operator');
  });
});
