/**
 * `npm test`: types, lint, the build, unit tests, browser tests.
 * Everything runs even when something before it failed. The last line counts
 * what passed, failed and was skipped; a check counts as one.
 */
import { spawnSync } from 'node:child_process';
import { existsSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { delimiter, dirname, join } from 'node:path';
import { findChromium } from '../tests/e2e/support/chromium.ts';
import { bundle } from './bundle.ts';
import { type Counts, countsOfPlaywright, countsOfVitest, lineOf, skipReasonsOf, sumOf } from './test-counts.ts';

const root = join(import.meta.dirname, '..');
const require = createRequire(import.meta.url);
const one: Record<'passed' | 'failed', Counts> = {
  passed: { passed: 1, failed: 0, skipped: 0 },
  failed: { passed: 0, failed: 1, skipped: 0 },
};

const results = mkdtempSync(join(tmpdir(), 'runstand-test-'));
const counts: Counts[] = [
  check('types of shared-core', 'typescript', 'tsc', ['-p', 'shared-core']),
  check('types of the simulator', 'typescript', 'tsc', ['-p', 'simulator']),
  check('types of everything', 'typescript', 'tsc', ['-p', 'tsconfig.json']),
  check('lint and form', '@biomejs/biome', 'biome', ['check', '.']),
  // First: several unit tests run what is built.
  await built(),
  unitTests(),
  browserTests(),
];
rmSync(results, { recursive: true, force: true });

const total = sumOf(counts);
console.log(lineOf(total));
process.exitCode = total.failed === 0 && total.passed > 0 ? 0 : 1;

function check(title: string, packageName: string, binary: string, args: string[]): Counts {
  console.log(`\n== ${title}`);
  return run(binOf(packageName, binary), args) === 0 ? one.passed : one.failed;
}

async function built(): Promise<Counts> {
  console.log('\n== build');
  try {
    await bundle(['page', 'desktop']);
    return one.passed;
  } catch (error) {
    console.error(error instanceof Error ? error.message : error);
    return one.failed;
  }
}

function unitTests(): Counts {
  console.log('\n== unit, property, contract, pseudo-terminal and packaging tests');
  const json = join(results, 'unit.json');
  const code = run(binOf('vitest', 'vitest'), [
    'run',
    '--reporter=default',
    '--reporter=json',
    `--outputFile.json=${json}`,
  ]);
  return countsFrom(json, countsOfVitest, code);
}

function browserTests(): Counts {
  console.log('\n== browser tests');
  if (!hasChromium()) return one.failed;
  const json = join(results, 'browser.json');
  const config = join('tests', 'e2e', 'playwright.config.ts');
  const code = run(binOf('@playwright/test', 'playwright'), ['test', '--config', config], { E2E_JSON: json });
  if (existsSync(json)) for (const line of skipReasonsOf(readFileSync(json, 'utf8'))) console.log(line);
  return countsFrom(json, countsOfPlaywright, code);
}

/** On a bare Debian, as in CI, it is installed; elsewhere the command to type is printed. */
function hasChromium(): boolean {
  if (findChromium() !== null) return true;
  const isDebian = existsSync('/etc/debian_version');
  if (isDebian && process.getuid?.() === 0) {
    console.log('No Chromium found; installing it with apt-get.');
    const quiet = { stdio: 'inherit', env: { ...process.env, DEBIAN_FRONTEND: 'noninteractive' } } as const;
    const install = (): number | null => spawnSync('apt-get', ['install', '-y', '-q', 'chromium'], quiet).status;
    // The package lists may be missing or old.
    if (install() !== 0 && spawnSync('apt-get', ['update', '-q'], quiet).status === 0) install();
    if (findChromium() !== null) return true;
  }
  console.error(
    `The browser tests need Chromium or Chrome. ${
      isDebian ? 'Type: sudo apt-get install chromium' : 'Install one, or set CHROME to its path'
    }, then run the tests again.`,
  );
  return false;
}

/** A runner that failed without a failed test to show for it is a failure all the same. */
function countsFrom(json: string, read: (text: string) => Counts, code: number): Counts {
  if (!existsSync(json)) return one.failed;
  const found = read(readFileSync(json, 'utf8'));
  return code !== 0 && found.failed === 0 ? sumOf([found, one.failed]) : found;
}

/** With this Node, whatever the system's is. */
function run(script: string, args: string[], environment: Record<string, string> = {}): number {
  const { status, error } = spawnSync(process.execPath, [script, ...args], {
    cwd: root,
    stdio: 'inherit',
    env: { ...process.env, ...environment, PATH: `${dirname(process.execPath)}${delimiter}${process.env.PATH ?? ''}` },
  });
  if (error !== undefined) console.error(error.message);
  return status ?? 1;
}

/** The script behind a package's command: commands themselves are shell scripts on Windows. */
function binOf(packageName: string, binary: string): string {
  const manifest = join(root, 'node_modules', packageName, 'package.json');
  const { bin } = require(manifest) as { bin: string | Record<string, string> };
  const relative = typeof bin === 'string' ? bin : bin[binary];
  if (relative === undefined) throw new Error(`${packageName} has no command ${binary}`);
  return join(dirname(manifest), relative);
}
