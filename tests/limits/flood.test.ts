import { describe, expect, test } from 'vitest';
import { FloodWatch } from '../../shared-core/limits/flood.ts';
import { rule, Stand, smallRig } from '../pipeline-support.ts';

const s = 1_000_000;

// ANSI/ISA-18.2-2016 clause 16.4 as publicly described: begins with more than 10 in 10 min, ends with fewer than 5.
describe('given alarms in ten minutes', () => {
  test('when the tenth comes, then no flood; the eleventh begins it', () => {
    const watch = new FloodWatch();
    for (let i = 0; i < 10; i++) expect(watch.alarm(i * 10 * s)).toBe(false);
    expect(watch.flood).toBeNull();
    expect(watch.alarm(599 * s)).toBe(true);
    expect(watch.flood).toEqual({ since_us: 599 * s, alarms: 11 });
    expect(watch.alarm(599.5 * s)).toBe(false);
  });
  test('when the eleventh comes as the first is ten minutes old, then no flood', () => {
    const watch = new FloodWatch();
    for (let i = 0; i < 10; i++) watch.alarm(i * s);
    expect(watch.alarm(600 * s)).toBe(false);
  });
  test('when five are left, then it goes on; with four it ends', () => {
    const watch = new FloodWatch();
    for (let i = 0; i <= 10; i++) watch.alarm(i * 10 * s);
    // Of those at 0, 10 … 100 s, five are younger than 600 s until 660 s.
    expect(watch.passed(659.9 * s)).toBe(false);
    expect(watch.flood?.alarms).toBe(5);
    expect(watch.passed(660 * s)).toBe(true);
    expect(watch.flood).toBeNull();
    expect(watch.passed(661 * s)).toBe(false);
  });
});

describe('given a loose lead without a deadband', () => {
  test('when it raises an alarm each second, then begin and end of the flood are events', () => {
    const stand = new Stand(smallRig([rule.threshold('hot', { reset: 220 })]));
    for (let i = 0; i < 24; i++) stand.runTo((i + 1) * s, { cht1: i % 2 === 0 ? 230 : 100 });
    stand.runTo(700 * s, { cht1: 100 });
    const floods = stand.said.flatMap(({ t_us, output }) =>
      output.kind === 'flood' ? [{ t_s: t_us / s, on: output.on, alarms: output.alarms }] : [],
    );
    // Trips at 0.1, 2.1, 4.1 … 22.1 s; the eighth to the twelfth are five, so it ends with the eighth at 14.1 + 600 s.
    expect(floods).toEqual([
      { t_s: 20.1, on: true, alarms: 11 },
      { t_s: 614.1, on: false, alarms: 4 },
    ]);
    expect(stand.pipeline.flood).toBeNull();
  });
});
