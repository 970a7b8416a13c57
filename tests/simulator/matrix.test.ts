/**
 * Every fault against the demo rig sheet, through the real intake and
 * pipeline: what it promises appears, and no abort alarm that it does not
 * name. Every scenario without faults runs to its end without a caution.
 */
import { describe, expect, test } from 'vitest';
import { lapwing120 } from '../../shared-core/rig/lapwing.ts';
import { faultIds, faults } from '../../simulator/faults.ts';
import { scenarioIds, scenarios } from '../../simulator/scenarios.ts';
import { SimulatedBench } from '../../simulator/simulated-bench.ts';
import { HostFold } from './host-fold.ts';

const SEED = 3;
const FAULT_AT_s = 10;
/** So long it is watched for alarms that it should not raise, whenever its own have shown. */
const WATCHED_s = 60;

describe('given each fault in the scenario that it names', () => {
  test.each(faultIds)('when %s comes on, then its rules trip, its signs show, and no other abort does', (id) => {
    const { expects } = faults[id];
    const host = new HostFold(new SimulatedBench({ seed: SEED, scenario: expects.scenario }));
    host.run(FAULT_AT_s);
    expect(host.trips).toEqual([]);
    host.faultComes();
    host.bench.inject(id);
    const acts = [...(expects.acts ?? [])];
    const missingRules = (): string[] => expects.rules.filter((rule) => !host.trips.some((trip) => trip.rule === rule));
    // A few seconds at least, so that "now" holds nothing from before.
    const isDone = (): boolean =>
      acts.length === 0 &&
      host.time_s >= FAULT_AT_s + Math.min(4, expects.within_s) &&
      missingRules().length === 0 &&
      expects.signs.every((sign) => host.shows(sign));
    while (!isDone() && host.time_s < FAULT_AT_s + expects.within_s) {
      while (acts[0] && host.time_s >= FAULT_AT_s + acts[0].at_s) host.bench.act(acts.shift()!.action);
      host.run(0.5);
    }
    expect({ missingRules: missingRules(), hidden: expects.signs.filter((sign) => !host.shows(sign)) }).toEqual({
      missingRules: [],
      hidden: [],
    });
    if (host.time_s < FAULT_AT_s + WATCHED_s) host.run(FAULT_AT_s + WATCHED_s - host.time_s);
    const allowed = [...expects.rules, ...(expects.mayTrip ?? [])];
    expect(host.trips.filter((trip) => !allowed.includes(trip.rule))).toEqual([]);
  });

  test('then the rules that faults name are rules of the demo rig sheet', () => {
    const known = new Set<string>(lapwing120.rules.map((rule) => rule.id));
    for (const id of faultIds) {
      const { rules, mayTrip } = faults[id].expects;
      for (const rule of [...rules, ...(mayTrip ?? [])]) expect(known).toContain(rule);
    }
  });

  test('then at least 25 of them have onset, ramp and severity, and each has its words and an alarm or a sign', () => {
    const keysOf = (id: (typeof faultIds)[number]): string[] => faults[id].parameters.map((each) => each.key);
    const whole = faultIds.filter((id) => ['onset_s', 'ramp_s', 'severity'].every((key) => keysOf(id).includes(key)));
    expect(whole.length).toBeGreaterThanOrEqual(25);
    // What is there or not has no ramp; it has its moment.
    for (const id of faultIds) expect([id, keysOf(id).includes('onset_s')]).toEqual([id, true]);
    for (const id of faultIds) expect(faults[id].trace.length).toBeGreaterThan(20);
    for (const id of faultIds)
      expect(faults[id].expects.rules.length + faults[id].expects.signs.length).toBeGreaterThan(0);
  });
});

describe('given two faults at once', () => {
  test('when the fan fails behind a broken CHT lead, then both show, and the head that is left gives the abort', () => {
    const host = new HostFold(new SimulatedBench({ seed: SEED, scenario: 'two-troubles' }));
    host.run(260);
    const rules = host.trips.map((trip) => trip.rule);
    expect(rules).toContain('head-sensors');
    expect(rules).toContain('cht2-abort');
    expect(rules).not.toContain('cht1-abort');
  });

  test('when a sick engine is on a noisy line, then the engine fault is still seen', () => {
    const host = new HostFold(new SimulatedBench({ seed: SEED, scenario: 'full-throttle' }));
    host.run(10);
    host.faultComes();
    host.bench.inject('line-noise');
    host.bench.inject('plug-fouled');
    host.run(60);
    for (const sign of [...faults['line-noise'].expects.signs.slice(0, 2), ...faults['plug-fouled'].expects.signs]) {
      expect([sign, host.shows(sign)]).toEqual([sign, true]);
    }
  });
});

const healthy = scenarioIds.filter((id) => scenarios[id].faults.length === 0);

describe('given each scenario without faults', () => {
  test('then there are at least twelve scenarios in all, from a cold first start to the endurance hour', () => {
    expect(scenarioIds.length).toBeGreaterThanOrEqual(12);
    expect(scenarioIds).toContain('first-start');
    expect(scenarioIds).toContain('endurance-hour');
  });

  test.each(healthy)('when %s runs to its end, then no alarm of any level trips', (id) => {
    const scenario = scenarios[id];
    const last_s = scenario.repeat_s ?? Math.max(60, ...scenario.actions.map((timed) => timed.at_s)) + 30;
    const host = new HostFold(new SimulatedBench({ seed: SEED, scenario: id }));
    host.run(last_s);
    expect(host.trips).toEqual([]);
    // It did run: a scenario that never starts would raise nothing either.
    if (id !== 'standing') expect(host.pipeline.run.run).toBeGreaterThan(0);
  });
});
