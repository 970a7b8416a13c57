import { describe, expect, test } from 'vitest';
import { countsOfPlaywright, countsOfVitest, lineOf, skipReasonsOf, sumOf } from '../../build/test-counts.ts';

describe("given the runners' reports", () => {
  test('when a vitest file could not be run, then that is a failure', () => {
    const report = {
      numPassedTests: 3,
      numFailedTests: 1,
      numPendingTests: 2,
      numTodoTests: 0,
      testResults: [
        { status: 'failed', assertionResults: [{ status: 'failed' }] },
        { status: 'failed', assertionResults: [] },
        { status: 'failed', assertionResults: [{ status: 'passed' }] },
        { status: 'passed', assertionResults: [{ status: 'passed' }] },
      ],
    };
    expect(countsOfVitest(JSON.stringify(report))).toEqual({ passed: 3, failed: 3, skipped: 2 });
  });

  test('when a browser test passed only at a second try, then that is a failure', () => {
    const report = { stats: { expected: 5, unexpected: 1, flaky: 1, skipped: 2 }, errors: [{}] };
    expect(countsOfPlaywright(JSON.stringify(report))).toEqual({ passed: 5, failed: 3, skipped: 2 });
  });

  test('when they are summed, then the line names the skipped only where there are some', () => {
    const five = { passed: 5, failed: 0, skipped: 0 };
    expect(lineOf(sumOf([five, five]))).toBe('10 passed, 0 failed');
    expect(lineOf(sumOf([five, { passed: 0, failed: 1, skipped: 1 }]))).toBe('5 passed, 1 failed, 1 skipped');
  });

  test('when a browser test was skipped, deep in its suites, then its reason is told', () => {
    const skipped = {
      title: 'the desktop opens',
      tests: [{ annotations: [{ type: 'skip', description: 'no binary' }] }],
    };
    const passed = { title: 'the page opens', tests: [{ annotations: [] }] };
    const report = { suites: [{ specs: [passed], suites: [{ specs: [skipped] }] }] };
    expect(skipReasonsOf(JSON.stringify(report))).toEqual(['skipped (no binary): the desktop opens']);
  });
});
