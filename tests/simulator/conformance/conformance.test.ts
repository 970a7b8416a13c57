/**
 * The conformance kit: our simulated bench passes it, over bytes in memory,
 * and each bench with one deliberate fault is found out by the check that is
 * meant to, and by no other than what follows from it.
 */
import { describe, expect, test } from 'vitest';
import { conforms, reportLines } from '../../../simulator/conformance/conformance-report.ts';
import { ConformanceRun } from '../../../simulator/conformance/conformance-run.ts';
import type { Finding } from '../../../simulator/conformance/findings.ts';
import { brokenCases } from './breakages.ts';
import { type Breakage, BrokenBench } from './broken-bench.ts';

const TICK_ms = 5;

/** Drives the kit against a bench in simulated time. */
function judged(breakage: Breakage, options: { withOutputs: boolean; lateJoin_ms?: number }): readonly Finding[] {
  const bench = new BrokenBench(breakage);
  if (options.lateJoin_ms) {
    bench.advanceMs(options.lateJoin_ms);
    bench.takeBytes();
  }
  const run = new ConformanceRun({ listen_s: 12, withOutputs: options.withOutputs, host: 'C0DE', other: 'BEEF' });
  for (let now_ms = 0; !run.isDone; now_ms += TICK_ms) {
    if (now_ms > 180_000) throw new Error('the kit did not come to an end');
    bench.advanceMs(TICK_ms);
    const bytes = bench.takeBytes();
    if (bytes.length > 0) run.bytes(bytes, now_ms);
    for (const out of run.tick(now_ms)) bench.write(out);
  }
  return run.list();
}

const failing = (findings: readonly Finding[]): string[] =>
  findings.filter((each) => each.state === 'fails').map((each) => `${each.check}: ${each.detail}`);

describe('given the simulated bench as it is', () => {
  test('when only IDENTIFY is asked, then all that needs no outputs holds', () => {
    const findings = judged({}, { withOutputs: false });
    expect(failing(findings)).toEqual([]);
    expect(findings.filter((each) => each.state === 'unseen').map((each) => each.check)).toEqual(['boot-restarts']);
    expect(
      findings.filter((each) => each.state === 'not-asked').every((each) => each.detail.includes('--with-outputs')),
    ).toBe(true);
    expect(conforms(findings)).toBe(true);
  });

  test('when outputs are driven too, then everything holds, and it is left safe', () => {
    const findings = judged({}, { withOutputs: true });
    expect(failing(findings)).toEqual([]);
    expect(findings.filter((each) => each.state !== 'holds').map((each) => each.check)).toEqual(['boot-restarts']);
  });

  test('when the kit joins late, then the same', () => {
    expect(failing(judged({}, { withOutputs: false, lateJoin_ms: 7777 }))).toEqual([]);
  });

  test.each([
    { who: 'it', goesOn: false, state: 'holds' },
    { who: 'one whose running number goes on', goesOn: true, state: 'fails' },
  ] as const)('when $who reboots meanwhile, then that $state', ({ goesOn, state }) => {
    // The wrapper keeps its own running number over the reboot; the bench inside begins anew.
    const bench = new BrokenBench({});
    const run = new ConformanceRun({ listen_s: 12, withOutputs: false, host: 'C0DE', other: 'BEEF' });
    for (let now_ms = 0; now_ms < 10_000; now_ms += TICK_ms) {
      if (now_ms === 4000) bench.bench.inject('reboot');
      if (goesOn) {
        bench.advanceMs(TICK_ms);
        run.bytes(bench.takeBytes(), now_ms);
      } else {
        bench.bench.advance(TICK_ms / 1000);
        run.bytes(bench.bench.takeBytes(), now_ms);
      }
      run.tick(now_ms);
    }
    expect(run.list().find((each) => each.check === 'boot-restarts')?.state).toBe(state);
  });
});

describe('given a bench that breaks one rule', () => {
  test.each(brokenCases)('when it $does, then the check "$finds" finds it', ({ finds, also, withOutputs, make }) => {
    const findings = judged(make(), { withOutputs: withOutputs ?? false });
    const found = findings.find((each) => each.check === finds);
    expect({ check: finds, state: found?.state }).toEqual({ check: finds, state: 'fails' });
    expect(found?.detail).not.toBe('');
    const strange = findings.filter(
      (each) => each.state === 'fails' && each.check !== finds && !also?.includes(each.check),
    );
    expect(strange.map((each) => `${each.check}: ${each.detail}`)).toEqual([]);
    expect(conforms(findings)).toBe(found?.weight === 'should');
  });

  test('then there are at least ten of them', () => {
    expect(brokenCases.length).toBeGreaterThanOrEqual(10);
  });
});

test('given a bench that only sends, then it is judged by what it sends, and said so', () => {
  const findings = judged({ fromHost: () => [] }, { withOutputs: true });
  expect(failing(findings)).toEqual([]);
  expect(findings.find((each) => each.check === 'answer-time')).toMatchObject({ state: 'not-asked' });
  expect(reportLines(findings).join('\n')).toContain('only sends');
  expect(conforms(findings)).toBe(true);
});

test('given a line on which nothing comes, then nothing is said to hold', () => {
  const run = new ConformanceRun({ listen_s: 6, withOutputs: true, host: 'C0DE', other: 'BEEF' });
  for (let now_ms = 0; !run.isDone; now_ms += 100) expect(run.tick(now_ms)).toEqual([]);
  expect(conforms(run.list())).toBe(false);
  expect(reportLines(run.list()).join('\n')).toContain('not one line was heard');
});

test('given an open stop circuit, when outputs are to be driven, then none is', () => {
  const bench = new BrokenBench({});
  bench.bench.inject('stop-open');
  const run = new ConformanceRun({ listen_s: 8, withOutputs: true, host: 'C0DE', other: 'BEEF' });
  for (let now_ms = 0; !run.isDone; now_ms += TICK_ms) {
    bench.advanceMs(TICK_ms);
    run.bytes(bench.takeBytes(), now_ms);
    for (const out of run.tick(now_ms)) bench.write(out);
  }
  expect(run.list().find((each) => each.check === 'starter-lets-go')).toMatchObject({ state: 'not-asked' });
  expect(bench.bench.truth.isSupplyOn).toBe(false);
});

test('given the report, then each check stands with its part, and a failure with its first instance', () => {
  const lines = reportLines(judged(brokenCases[0]!.make(), { withOutputs: false }));
  expect(lines.some((line) => /^part 2 +FAILS +a line ends in "~"/.test(line))).toBe(true);
  expect(lines.some((line) => /^part 3 +holds +bench time never goes back/.test(line))).toBe(true);
  expect(lines.at(-1)).toBe('This bench does not conform to PROTOCOL.md.');
});
