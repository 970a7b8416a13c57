/**
 * A complete simulated test without a window, faster than real time, through
 * the same source, decoder, pipeline, recorder and report as the workbench:
 * start, warm-up, steps to full throttle, an over-temperature with its abort
 * advisory answered, cool-down, stop. Leaves the session, a CSV and a report
 * in a folder; the last line is one JSON object.
 */
import { mkdirSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { parseArgs } from 'node:util';
import { lapwing120 } from '../../../shared-core/rig/lapwing.ts';
import { Acquisition } from '../acquisition.ts';
import { systemClock } from '../clock.ts';
import { writeCsv } from '../export/csv.ts';
import { analyse, writeReport } from '../export/report-file.ts';
import { rowErrorWords } from '../export/rows.ts';
import { SimulatorSource } from '../simulator-source.ts';
import { openStore } from '../store/open-store.ts';
import type { SessionStore } from '../store/store-contract.ts';
import { compareReplay } from './compare-replay.ts';
import { DemoOperator } from './demo-operator.ts';
import { fail, failWith, say } from './words.ts';

/** The whole test lasts about 17 minutes; something is stuck when it is not over by then. */
const LONGEST_S = 1800;

const { values } = parseArgs({
  options: { out: { type: 'string', default: 'demo-out' }, seed: { type: 'string', default: '1' } },
});
const seed = Number(values.seed);
if (!Number.isInteger(seed) || seed < 0) fail(`--seed ${values.seed} is not a whole number from 0.`);
const folder = resolve(values.out);
mkdirSync(folder, { recursive: true });

const opened = openStore(folder);
if (!opened.ok) failWith(opened.error);
const store: SessionStore = opened.value;
const began_ms = systemClock.now_epochMs();

const { sessionId, simulated_s } = await runTest();
const { report, csv, analysis, isWhole, differences } = await readBack(sessionId);
const wall_s = (systemClock.now_epochMs() - began_ms) / 1000;

const run = analysis.runs[0];
const isAnswered = (closedAt_us: number | null): boolean => closedAt_us !== null;
const result = {
  ok:
    isWhole &&
    differences.length === 0 &&
    run !== undefined &&
    simulated_s >= 900 &&
    analysis.advisories.length > 0 &&
    analysis.advisories.every((each) => isAnswered(each.closedAt_us)),
  sessionId,
  seed,
  simulated_s,
  wall_s: Number(wall_s.toFixed(2)),
  lines: analysis.counts?.accepted ?? 0,
  damagedLines: analysis.counts?.missing ?? 0,
  samples: analysis.samples,
  runs: analysis.runs.length,
  alarms: analysis.alarms.map((each) => ({ rule: each.rule, level: each.level, at_s: each.at_us / 1e6 })),
  advisories: analysis.advisories.map((each) => ({
    cause: each.cause,
    answered: isAnswered(each.closedAt_us),
    toStopped_s: each.toStopped_s,
  })),
  peakBrakePower_kW: run?.peakBrakePower_kW ?? null,
  fuelUsed_g: analysis.runs.reduce((sum, each) => sum + each.fuelUsed_g, 0),
  files: { database: store.path, csv, html: report },
};
store.close();
summary();
say(JSON.stringify(result));
if (!result.ok) process.exitCode = 1;

/** Runs the simulated test to its end. */
async function runTest(): Promise<{ sessionId: string; simulated_s: number }> {
  const isTerminal = process.stdout.isTTY === true;
  const source = new SimulatorSource({ scenario: 'standing', seed, speed: 1 });
  const acquisition = new Acquisition({ source, rig: lapwing120, store, clock: systemClock, log: say });
  acquisition.startUnpaced();
  const id = acquisition.session?.id ?? fail('The session did not begin.');
  const operator = new DemoOperator(acquisition, source, say);
  let committed_s = 0;
  while (!operator.isDone && source.bench.time_s < LONGEST_S) {
    source.step();
    const time_s = source.bench.time_s;
    operator.look(time_s);
    if (time_s - committed_s < 1) continue;
    // Durable every simulated second, as it is every second live.
    committed_s = time_s;
    acquisition.commit();
    if (isTerminal && Math.floor(time_s) % 20 === 0) {
      process.stdout.write(`\r${Math.floor(time_s)} s simulated `);
      await new Promise((done) => setImmediate(done));
    }
  }
  if (isTerminal) process.stdout.write('\r');
  const simulated = source.bench.time_s;
  await acquisition.close();
  return { sessionId: id, simulated_s: Number(simulated.toFixed(2)) };
}

/** Everything that is told comes from the recording, folded afresh. */
async function readBack(id: string) {
  const made = analyse(store, id);
  if (!made.ok) failWith(made.error);
  const session = store.load(id);
  if (!session.ok) failWith(session.error);
  const verified = store.verify(id);
  if (!verified.ok) failWith(verified.error);
  const report = await writeReport(store, id, join(folder, `${id}.html`));
  if (!report.ok) failWith(report.error);
  const csv = await writeCsv(store, id, join(folder, `${id}.csv`));
  if (!csv.ok) fail(rowErrorWords(csv.error).sentence);
  return {
    report: report.value.path,
    csv: csv.value.path,
    analysis: made.value.analysis,
    isWhole: verified.value.isWhole,
    differences: compareReplay(session.value.events, made.value.analysis.outputs),
  };
}

function summary(): void {
  say('');
  say(`SIMULATED test ${sessionId}: ${(simulated_s / 60).toFixed(1)} minutes in ${wall_s.toFixed(1)} s.`);
  say(
    `${result.lines} lines accepted, ${result.damagedLines} lost to noise on the line and counted; no damaged value was taken.`,
  );
  if (run !== undefined) {
    say(
      `Run of ${(run.duration_s / 60).toFixed(1)} minutes: peak ${Math.round(run.peakSpeed_rpm ?? 0)} rpm, ` +
        `${(run.peakBrakePower_kW ?? 0).toFixed(2)} kW, hottest head ${(run.peakHead_degC ?? 0).toFixed(1)} °C, ` +
        `${run.fuelUsed_g.toFixed(0)} g of fuel.`,
    );
  }
  for (const each of analysis.advisories) {
    say(
      `Abort advisory "${each.cause}": ${isAnswered(each.closedAt_us) ? 'answered' : 'NOT answered'}, ` +
        `${each.toStopped_s === null ? 'engine not stopped' : `engine stopped ${each.toStopped_s.toFixed(1)} s after the trip`}.`,
    );
  }
  say(
    differences.length === 0
      ? 'Replayed, the recording gives the same alarms, advisories and run states.'
      : `Replayed, the recording differs: ${differences[0]}`,
  );
  say(isWhole ? 'The recording is whole.' : 'The recording is NOT whole.');
}
