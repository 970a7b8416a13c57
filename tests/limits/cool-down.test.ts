import { describe, expect, test } from 'vitest';
import { type CoolDownSight, newCoolDown, stepCoolDown } from '../../shared-core/limits/cool-down.ts';
import { rule } from '../pipeline-support.ts';

/** High power above 4,500 rpm for 20 s, remembered for 180 s; idle below 2,600 rpm for 5 s; safe at 130 °C. */
const coolDown = rule.coolDown('cool');
const s = 1_000_000;
const power = { speed_rpm: 6000, head_degC: 180, ignition: 1, state: 'running', isOrdered: false } as const;
const idle = { ...power, speed_rpm: 2000 };
const cut = { ...idle, speed_rpm: 1500, ignition: 0 } as const;

/** Moments by second; the last one's answer. */
function play(moments: readonly (readonly [t_s: number, sight: Omit<CoolDownSight, 't_us'>])[], state = newCoolDown()) {
  let isCutHot = false;
  for (const [t_s, sight] of moments) isCutHot = stepCoolDown(coolDown, state, { t_us: t_s * s, ...sight });
  return { isCutHot, state };
}
/** Twenty seconds of high power. */
const spell = [
  [0, power],
  [20, power],
] as const;

describe('given 20 s of high power', () => {
  test.each([
    { what: 'cut at 130.1 °C', head_degC: 130.1, is: true },
    { what: 'cut at 130 °C', head_degC: 130, is: false },
    { what: 'cut at 129.9 °C', head_degC: 129.9, is: false },
    { what: 'cut with a head that is not known', head_degC: NaN, is: true },
  ])('when $what, then held against it: $is', ({ head_degC, is }) => {
    expect(play([...spell, [30, idle], [40, { ...cut, head_degC }]]).isCutHot).toBe(is);
  });
  test('when cut 180 s after it, then it trips; a moment later not', () => {
    expect(play([...spell, [199, idle], [200, cut]]).isCutHot).toBe(true);
    expect(play([...spell, [199, idle], [200.001, cut]]).isCutHot).toBe(false);
  });
  test('when an abort advisory orders the cut, then it is not held against anybody', () => {
    expect(play([...spell, [21, { ...cut, isOrdered: true }]]).isCutHot).toBe(false);
  });
  test('when nobody can read the ignition, then not; once it can be read, it counts', () => {
    expect(play([...spell, [21, { ...cut, ignition: 'X' }]]).isCutHot).toBe(false);
    expect(play([...spell, [21, { ...cut, ignition: 'X' }], [22, cut]]).isCutHot).toBe(true);
  });
  test('when the bench has no such input, then the end of the run is the cut', () => {
    const without = [...spell.map(([t_s, sight]) => [t_s, { ...sight, ignition: null }] as const)];
    expect(play([...without, [21, { ...cut, ignition: null, state: 'cooling' }]]).isCutHot).toBe(true);
  });
  test('when it was cut hot, then it stands until the head is below 130 °C, or the engine runs again', () => {
    const { state } = play([...spell, [21, cut]]);
    expect(stepCoolDown(coolDown, state, { t_us: 60 * s, ...cut, state: 'cooling', head_degC: 130 })).toBe(true);
    expect(stepCoolDown(coolDown, state, { t_us: 61 * s, ...cut, state: 'cooling', head_degC: 129.9 })).toBe(false);
    const again = play([...spell, [21, cut]]).state;
    expect(stepCoolDown(coolDown, again, { t_us: 30 * s, ...power })).toBe(false);
  });
});

describe('given power that was not high for long enough', () => {
  test.each([
    {
      what: '19.9 s of it',
      moments: [
        [0, power],
        [19.9, power],
        [20, idle],
        [21, cut],
      ] as const,
    },
    {
      what: '4,500 rpm itself',
      moments: [
        [0, { ...power, speed_rpm: 4500 }],
        [60, cut],
      ] as const,
    },
    {
      what: 'a speed that is not known',
      moments: [
        [0, { ...power, speed_rpm: NaN }],
        [60, cut],
      ] as const,
    },
  ])('when cut hot after $what, then nothing is said', ({ moments }) => {
    expect(play(moments).isCutHot).toBe(false);
  });
});

describe('when the advisory is due', () => {
  test('given idle for 5 s after power and a hot head, then it is; sooner, cooler or without power it is not', () => {
    expect(play([...spell, [21, idle], [25.9, idle]]).state.isDue).toBe(false);
    expect(play([...spell, [21, idle], [26, idle]]).state.isDue).toBe(true);
    expect(play([...spell, [21, idle], [26, { ...idle, head_degC: 130 }]]).state.isDue).toBe(false);
    expect(
      play([
        [0, idle],
        [26, idle],
      ]).state.isDue,
    ).toBe(false);
  });
  test('given power again, above half way from idle to high for 5 s, then it is at power', () => {
    const { state } = play([...spell, [21, idle], [30, { ...power, speed_rpm: 3551 }]]);
    stepCoolDown(coolDown, state, { t_us: 35 * s, ...power, speed_rpm: 3551 });
    expect(state.isAtPower).toBe(true);
    stepCoolDown(coolDown, state, { t_us: 36 * s, ...power, speed_rpm: 3550 });
    expect(state.isAtPower).toBe(false);
  });
});
