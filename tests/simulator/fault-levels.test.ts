/** How faults come on, go, and add up; and that the line never changes the order of bytes. */
import { describe, expect, test } from 'vitest';
import { Wire } from '../../simulator/bench/wire.ts';
import { type FaultId, type FaultOptions, faultIds, faultLevel, faults } from '../../simulator/faults.ts';
import { randomStream } from '../../simulator/physics/random.ts';
import { SimulatedBench } from '../../simulator/simulated-bench.ts';

// plug-fouled is graded with a usual ramp of 5 s; stop-open is there or not.
test.each<{ fault: FaultId; options: FaultOptions; since_s: number; level: number }>([
  { fault: 'plug-fouled', options: {}, since_s: 0, level: 0 },
  { fault: 'plug-fouled', options: {}, since_s: 2.5, level: 0.5 },
  { fault: 'plug-fouled', options: {}, since_s: 60, level: 1 },
  { fault: 'plug-fouled', options: { severity: 0.4 }, since_s: 60, level: 0.4 },
  { fault: 'plug-fouled', options: { ramp_s: 0 }, since_s: 0, level: 1 },
  { fault: 'plug-fouled', options: { onset_s: 10 }, since_s: 9.99, level: 0 },
  { fault: 'plug-fouled', options: { onset_s: 10, ramp_s: 20, severity: 0.5 }, since_s: 20, level: 0.25 },
  { fault: 'plug-fouled', options: { severity: Number.NaN }, since_s: 60, level: 1 },
  { fault: 'stop-open', options: {}, since_s: 0, level: 1 },
  { fault: 'stop-open', options: { onset_s: 3 }, since_s: 2.9, level: 0 },
])('given $fault with $options, then after $since_s s its level is $level', ({ fault, options, since_s, level }) => {
  expect(faultLevel(fault, options, since_s)).toBeCloseTo(level, 12);
});

test('given a fault with onset and ramp, when it is injected live, then it begins and grows as told, and is gone when cleared', () => {
  const bench = new SimulatedBench({ seed: 1, scenario: 'full-throttle' });
  bench.inject('overspeed', { onset_s: 2, ramp_s: 4, share: 0.3 });
  bench.advance(1.9);
  expect(bench.levelOf('overspeed')).toBe(0);
  const before_rpm = bench.truth.engineSpeed_rpm;
  bench.advance(2.1);
  expect(bench.levelOf('overspeed')).toBeCloseTo(0.5, 2);
  bench.advance(6);
  expect(bench.levelOf('overspeed')).toBe(1);
  expect(bench.truth.engineSpeed_rpm).toBeGreaterThan(before_rpm + 400);
  bench.clear('overspeed');
  expect(bench.levelOf('overspeed')).toBeUndefined();
  bench.advance(5);
  expect(Math.abs(bench.truth.engineSpeed_rpm - before_rpm)).toBeLessThan(60);
});

test('given half the severity, then a fouled plug costs less than at the whole', () => {
  const lost = [0.5, 1].map((severity) => {
    const bench = new SimulatedBench({ seed: 1, scenario: 'full-throttle' });
    bench.advance(2);
    const from_rpm = bench.truth.engineSpeed_rpm;
    bench.inject('plug-fouled', { severity, ramp_s: 0 });
    bench.advance(20);
    return from_rpm - bench.truth.engineSpeed_rpm;
  });
  expect(lost[0]).toBeGreaterThan(100);
  expect(lost[1]).toBeGreaterThan(1.3 * lost[0]!);
});

// A flat battery stays flat, and a stopped engine stopped, when the cause has gone.
const lasting = [
  'battery-weak',
  'ignition-dead',
  'fuel-starvation',
  'stop-open',
  'reboot',
  'starter-stuck',
  'servo-jam',
];

describe('given a fault that was there for 5 s', () => {
  test.each(faultIds.filter((id) => !lasting.includes(id)))(
    'when %s is cleared, then minutes later the stand is as before',
    (id) => {
      const bench = new SimulatedBench({ seed: 1, scenario: 'full-throttle' });
      bench.advance(5);
      const before = bench.truth;
      bench.inject(id, faults[id].isGraded ? { ramp_s: 0 } : {});
      bench.advance(5);
      bench.clear(id);
      bench.advance(240);
      bench.takeBytes();
      const after = bench.truth;
      expect(Math.abs(after.engineSpeed_rpm - before.engineSpeed_rpm)).toBeLessThan(80);
      expect(Math.abs(after.thrust_N - before.thrust_N)).toBeLessThan(8);
      after.cht_degC.forEach((cht, i) => {
        expect(Math.abs(cht - before.cht_degC[i]!)).toBeLessThan(4);
      });
      after.egt_degC.forEach((egt, i) => {
        expect(Math.abs(egt - before.egt_degC[i]!)).toBeLessThan(8);
      });
    },
  );
});

describe('given a line that holds bytes back', () => {
  test('when delay comes, changes and goes, then every byte arrives once and in order', () => {
    const wire = new Wire(randomStream(1, 'wire'));
    const seen: number[] = [];
    let sent = 0;
    for (let ms = 0; ms < 3000; ms++) {
      if (ms === 200) wire.setDelay(300);
      if (ms === 900) wire.setDelay(40);
      if (ms === 1500) wire.setDelay(500);
      if (ms === 2000) wire.setDelay(0);
      wire.tick(ms);
      if (ms < 2400) wire.send(Uint8Array.of(sent++ & 0xff));
      seen.push(...wire.take());
    }
    expect(seen).toHaveLength(sent);
    expect(seen.every((byte, i) => byte === (i & 0xff))).toBe(true);
  });

  test('when the host writes, then its bytes come as much later, in order', () => {
    const wire = new Wire(randomStream(1, 'wire'));
    wire.tick(0);
    wire.setDelay(100);
    expect(wire.receive(Uint8Array.of(1, 2))).toHaveLength(0);
    wire.tick(50);
    expect(wire.receive(Uint8Array.of(3))).toHaveLength(0);
    expect(wire.tick(99)).toHaveLength(0);
    expect([...wire.tick(100)]).toEqual([1, 2]);
    expect([...wire.tick(150)]).toEqual([3]);
  });

  test('when it loses bytes, then whole stretches go and the rest stays in order', () => {
    const wire = new Wire(randomStream(2, 'wire'));
    wire.lossesPerMinute = 300;
    const seen: number[] = [];
    for (let ms = 0; ms < 20_000; ms++) {
      wire.tick(ms);
      wire.send(Uint8Array.of(ms & 0x7f, (ms >> 7) & 0x7f));
      seen.push(...wire.take());
    }
    expect(seen.length).toBeLessThan(40_000 - 30 * 120);
    expect(seen.length).toBeGreaterThan(5000);
  });
});
