/** Reads the counts out of what the test runners write. */

export interface Counts {
  readonly passed: number;
  readonly failed: number;
  readonly skipped: number;
}

export function sumOf(all: readonly Counts[]): Counts {
  return all.reduce(
    (sum, each) => ({
      passed: sum.passed + each.passed,
      failed: sum.failed + each.failed,
      skipped: sum.skipped + each.skipped,
    }),
    { passed: 0, failed: 0, skipped: 0 },
  );
}

/** The plain last line. */
export function lineOf(counts: Counts): string {
  const skipped = counts.skipped === 0 ? '' : `, ${counts.skipped} skipped`;
  return `${counts.passed} passed, ${counts.failed} failed${skipped}`;
}

/** Vitest's JSON. A file that could not be run at all counts as one failure. */
export function countsOfVitest(json: string): Counts {
  const report = JSON.parse(json) as {
    numPassedTests: number;
    numFailedTests: number;
    numPendingTests: number;
    numTodoTests: number;
    testResults: { status: string; assertionResults: { status: string }[] }[];
  };
  const brokenFiles = report.testResults.filter(
    (file) => file.status === 'failed' && !file.assertionResults.some((test) => test.status === 'failed'),
  );
  return {
    passed: report.numPassedTests,
    failed: report.numFailedTests + brokenFiles.length,
    skipped: report.numPendingTests + report.numTodoTests,
  };
}

/** Playwright's JSON. A flaky test passed only at a second try, and counts as failed. */
export function countsOfPlaywright(json: string): Counts {
  const report = JSON.parse(json) as {
    stats: { expected: number; unexpected: number; flaky: number; skipped: number };
    errors: unknown[];
  };
  const { expected, unexpected, flaky, skipped } = report.stats;
  return { passed: expected, failed: unexpected + flaky + report.errors.length, skipped };
}

interface PlaywrightSuite {
  readonly suites?: readonly PlaywrightSuite[];
  readonly specs?: readonly {
    readonly title: string;
    readonly tests: readonly {
      readonly annotations: readonly { readonly type: string; readonly description?: string }[];
    }[];
  }[];
}

/** Why browser tests were skipped, a line each: a skip without its reason would pass for an oversight. */
export function skipReasonsOf(json: string): string[] {
  const visit = (suite: PlaywrightSuite): string[] => [
    ...(suite.specs ?? []).flatMap((spec) =>
      spec.tests
        .flatMap((test) => test.annotations)
        .filter((annotation) => annotation.type === 'skip')
        .map((annotation) => `skipped (${annotation.description ?? 'no reason given'}): ${spec.title}`),
    ),
    ...(suite.suites ?? []).flatMap(visit),
  ];
  return visit(JSON.parse(json) as PlaywrightSuite);
}
