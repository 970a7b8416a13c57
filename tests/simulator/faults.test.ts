/** Each simulated fault shows the trace that its description promises. */
import { describe, expect, test } from 'vitest';
import { type FaultId, faultIds, faults, parameterOf } from '../../simulator/faults.ts';
import { scenarioIds, scenarios } from '../../simulator/scenarios.ts';
import { SimulatedBench } from '../../simulator/simulated-bench.ts';
import { HostEnd } from './host-end.ts';

function running(scenario: 'warm-idle' | 'full-throttle' = 'warm-idle'): HostEnd {
  const host = new HostEnd(new SimulatedBench({ seed: 4, scenario }));
  host.run(2);
  return host;
}

test('given CHT 1 open, then it reads open while CHT 2 stays, and clearing brings it back', () => {
  const host = running();
  const before = host.value('cht2');
  host.bench.inject('cht-open');
  host.run(0.3);
  expect(host.value('cht1')).toBeNaN();
  expect(Math.abs(host.value('cht2') - before)).toBeLessThan(2);
  host.bench.inject('cht-open', { cylinder: 2 });
  host.run(0.3);
  expect(host.value('cht1')).toBeGreaterThan(40);
  expect(host.value('cht2')).toBeNaN();
  host.bench.clear('cht-open');
  host.run(0.3);
  expect(host.value('cht2')).toBeGreaterThan(40);
});

test('given EGT 1 short, then it reads short and nothing else does', () => {
  const host = running();
  host.bench.inject('egt-short');
  host.run(0.3);
  expect(host.value('egt1')).toBeNaN();
  expect(host.value('egt2')).toBeGreaterThan(200);
});

test('given a failed fan, then its input still says on, and the heads climb', () => {
  const host = running('full-throttle');
  const before = host.value('cht1');
  host.bench.inject('fan-off');
  host.run(60);
  expect(host.state('fan')).toBe(1);
  expect(host.value('cht1')).toBeGreaterThan(before + 20);
});

test('given an open stop circuit, then ignition falls whatever the lease, and no start is possible', () => {
  const host = running();
  host.bench.inject('stop-open');
  host.run(6);
  expect(host.state('stop')).toBe(0);
  expect(host.state('ignition')).toBe(0);
  expect(host.value('rpm')).toBe(0);
});

test('given a fuel meter that reads high, then flow and totaliser disagree by the factor', () => {
  const host = running('full-throttle');
  host.bench.inject('fuel-meter-high', { factor: 1.2 });
  host.run(10);
  const total = host.value('fuel_total');
  let sum = 0;
  let count = 0;
  host.run(60, () => {
    sum += host.value('fuel_flow');
    count++;
  });
  const slope_Lperh = (host.value('fuel_total') - total) * 0.06;
  expect(sum / count / slope_Lperh).toBeGreaterThan(1.17);
  expect(sum / count / slope_Lperh).toBeLessThan(1.23);
});

test('given a stuck thrust cell, then thrust stands still while torque moves', () => {
  const host = running('full-throttle');
  host.bench.inject('thrust-stuck');
  const thrust = host.bench.truth.thrust_N;
  host.run(0.1);
  const shown = host.value('thrust');
  host.bench.act({ kind: 'throttle', percent: 30 });
  host.run(5);
  // The slide is stuck; the amplifier still drifts by a count or two.
  expect(Math.abs(host.value('thrust') - shown)).toBeLessThanOrEqual(0.05);
  expect(host.bench.truth.thrust_N).toBeLessThan(thrust / 2);
});

describe('given a noisy line', () => {
  test('when 1e-4 of all bits flip for a minute, then damage is counted, no wrong value gets through, and losses are exact', () => {
    const host = running('full-throttle');
    const clean = new HostEnd(new SimulatedBench({ seed: 4, scenario: 'full-throttle' }));
    clean.run(2);
    host.bench.inject('line-noise', { rate: 1e-4 });
    host.run(60, () => {
      expect(Math.abs(host.value('rpm') - 6300)).toBeLessThan(200);
    });
    host.bench.clear('line-noise');
    host.run(1);
    clean.run(61);
    expect(host.damaged).toBeGreaterThan(50);
    const { counts } = host.decoder;
    expect(counts.accepted + host.missing).toBe(clean.decoder.counts.accepted);
  });

  test('when it is clean again, then nothing more is damaged', () => {
    const host = running();
    host.bench.inject('line-noise');
    host.run(20);
    host.bench.clear('line-noise');
    host.run(1);
    const { damaged } = host;
    expect(damaged).toBeGreaterThan(0);
    host.run(20);
    expect(host.damaged).toBe(damaged);
  });
});

test('given a reboot, then silence, a new boot, running number from 0, and all outputs off', () => {
  const host = running();
  const first = host.identities[0];
  host.bench.inject('reboot');
  const lines = host.sampleLines;
  host.run(1.1);
  expect(host.sampleLines - lines).toBeLessThanOrEqual(1);
  host.run(0.5);
  const last = host.identities.at(-1);
  expect(last?.boot).not.toBe(first?.boot);
  expect(last?.layout).toBe(first?.layout);
  expect(host.bench.activeFaults).toEqual([]);
  expect(host.bench.truth).toMatchObject({ isIgnitionOn: false, isSupplyOn: false, isFanOn: false });
  expect(host.missing).toBe(0);
  expect(host.value('fuel_total')).toBe(0);
});

test('given another protocol version, then the host sees which, and no values', () => {
  const host = new HostEnd(new SimulatedBench({ seed: 1, scenario: 'warm-idle', version: '2.0' }));
  host.run(2);
  expect(host.wrongVersion).toBe('2.0');
  expect(host.sampleLines).toBe(0);
});

test('given garbage between lines, then at most a line is lost and counted', () => {
  const host = running();
  for (let i = 0; i < 20; i++) {
    host.bench.injectGarbage(40);
    host.run(0.5);
  }
  expect(host.damaged).toBeGreaterThan(0);
  expect(host.missing).toBeLessThanOrEqual(20);
  expect(Math.abs(host.value('rpm') - 1880)).toBeLessThan(100);
});

describe('given faults and scenarios as data', () => {
  test('then every fault can come and go on a running engine without a throw', () => {
    const host = running();
    for (const fault of faultIds) {
      host.bench.inject(fault);
      host.run(0.2);
      host.bench.clear(fault);
      host.run(0.1);
    }
    expect(host.bench.activeFaults).toEqual([]);
  });

  test.each(scenarioIds)('then scenario %s knows its faults and keeps its actions in order', (id) => {
    const scenario = scenarios[id];
    expect(scenario.id).toBe(id);
    for (const timed of scenario.faults) expect(faults[timed.fault].id).toBe(timed.fault);
    const times = scenario.actions.map((timed) => timed.at_s);
    expect([...times].sort((a, b) => a - b)).toEqual(times);
  });

  test.each([
    { given: undefined, value: 0.4 },
    { given: 0.2, value: 0.2 },
    { given: 9, value: 0.8 },
    { given: Number.NaN, value: 0.4 },
  ])('then a parameter given as $given is taken as $value', ({ given, value }) => {
    expect(parameterOf('overspeed', 'share', given === undefined ? undefined : { share: given })).toBe(value);
  });

  test("then an unknown parameter is a caller's mistake", () => {
    expect(() => parameterOf('overspeed' satisfies FaultId, 'colour', {})).toThrow(RangeError);
  });
});
