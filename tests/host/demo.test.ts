/** The demo as its user runs it: a process, a folder, a last line. */
import { execFileSync } from 'node:child_process';
import { existsSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import Papa from 'papaparse';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';

interface DemoResult {
  ok: boolean;
  sessionId: string;
  simulated_s: number;
  lines: number;
  damagedLines: number;
  samples: number;
  runs: number;
  alarms: { rule: string; level: string; at_s: number }[];
  advisories: { cause: string; answered: boolean; toStopped_s: number | null }[];
  peakBrakePower_kW: number;
  fuelUsed_g: number;
  files: { database: string; csv: string; html: string };
}

const root = join(import.meta.dirname, '..', '..');
let folder = '';
let result: DemoResult;

function runProgram(file: string, ...args: string[]): string {
  return execFileSync(process.execPath, [join(root, 'electron', 'host', 'cli', file), ...args], {
    encoding: 'utf8',
    cwd: root,
  });
}

beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'runstand-demo-'));
  const output = runProgram('demo.ts', '--out', folder, '--seed', '3');
  result = JSON.parse(output.trimEnd().split('\n').at(-1)!) as DemoResult;
}, 120_000);
afterAll(() => rmSync(folder, { recursive: true, force: true }));

describe('given the demo', () => {
  test('then it ends well after at least 15 simulated minutes with an answered abort advisory', () => {
    expect(result.ok).toBe(true);
    expect(result.simulated_s).toBeGreaterThanOrEqual(900);
    expect(result.runs).toBe(1);
    expect(result.advisories).toMatchObject([{ cause: 'over-temperature', answered: true }]);
    expect(result.alarms.map((each) => each.level)).toContain('abort');
    expect(result.damagedLines).toBeGreaterThan(0);
    for (const file of Object.values(result.files)) expect(existsSync(file)).toBe(true);
  });

  test('when the report is re-derived from the samples, then its figures are those of the summary', () => {
    const report = JSON.parse(runProgram('cli.ts', 'report', 'last', '--json', '--data', folder)) as {
      session: string;
      samples: number;
      runs: { peakBrakePower_kW: number; fuelUsed_g: number }[];
      counts: { accepted: number; missing: number };
    };
    expect(report.session).toBe(result.sessionId);
    expect(report.samples).toBe(result.samples);
    expect(report.counts).toMatchObject({ accepted: result.lines, missing: result.damagedLines });
    expect(report.runs[0]!.peakBrakePower_kW).toBe(result.peakBrakePower_kW);
    expect(report.runs[0]!.fuelUsed_g).toBe(result.fuelUsed_g);
  });

  test('when verified and replayed, then the recording is whole and gives the same alarms again', () => {
    expect(runProgram('cli.ts', 'verify', 'last', '--data', folder)).toContain('whole and unaltered');
    expect(runProgram('cli.ts', 'replay', 'last', '--data', folder)).toContain('again');
  });

  test('when the CSV is read by a library, then names, units and figures are there', () => {
    const { data, errors } = Papa.parse<string[]>(readFileSync(result.files.csv, 'utf8').trimEnd());
    expect(errors).toEqual([]);
    const [names, units, ...rows] = data as [string[], string[], ...string[][]];
    expect(names.slice(0, 3)).toEqual(['session_time', 'utc', 'rpm']);
    expect(units.slice(0, 3)).toEqual(['s', 'ISO 8601', 'rpm']);
    // Ten rows a second.
    expect(rows.length).toBeGreaterThan(8900);
    for (const row of rows) expect(row).toHaveLength(names.length);
    const power = names.indexOf('brake_power');
    const highest = Math.max(...rows.map((row) => Number(row[power])));
    // The row holds one sample, the summary the best mean of a second: vibration lies between them.
    expect(Math.abs(highest - result.peakBrakePower_kW)).toBeLessThan(0.6);
  });

  test('when the report is opened, then it says simulated, invented, and what it is not', () => {
    const html = readFileSync(result.files.html, 'utf8');
    expect(html).toContain('SIMULATED');
    expect(html).toContain('invented demo rig');
    expect(html).toContain('not the emergency stop');
    expect(html).toContain('claims compliance with no standard');
    expect(html).not.toMatch(/<script|https?:\/\//);
  });
});
