/**
 * A back-test over a recording of 10 h at 100 Hz x 32 channels, as Review runs
 * it: in its worker, from the store's file, with six rules changed. The ratio
 * is recorded time over wall time; the goal is 200. Then the same again,
 * cancelled in the middle: the goal is 200 ms until it has stopped.
 *
 * Arguments: `hours=N` (default 10), `rounds=N` (default 3).
 */
import { mkdtempSync, rmSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { BacktestClient } from '../../electron/host/reading/backtest-client.ts';
import { openStore } from '../../electron/host/store/open-store.ts';
import type { BacktestView } from '../../shared-core/bridge/contract.ts';
import { RAW_MAX } from '../../shared-core/channels/quality.ts';
import { REPEAT_GROUP } from '../../shared-core/journal.ts';
import type { LimitRule } from '../../shared-core/limits/rules.ts';
import type { BenchTable } from '../../shared-core/line/messages.ts';
import { lapwing120 } from '../../shared-core/rig/lapwing.ts';
import { columns, inputRows, noise } from './pipeline.ts';

const RATE_Hz = 100;
const SEED = 20_261_125;
export const SESSION = 'ten-hours';
const GOAL_RATIO = 200;
const GOAL_CANCEL_MS = 200;
/** Changed in the test; among them a rate, a spread and a derived channel. */
const TESTED = ['rpm-abort', 'cht1-caution', 'cht-spread', 'cht-rise', 'egt-spread', 'fuel-time'];

export async function run(args: string[]): Promise<Record<string, unknown>> {
  const hours = argument(args, 'hours', 10);
  const rounds = argument(args, 'rounds', 3);
  const folder = mkdtempSync(join(tmpdir(), 'runstand-backtest-'));
  try {
    const written_s = writeRecording(folder, hours);
    const bytes = statSync(join(folder, 'runstand.sqlite')).size;
    console.log(
      `Back-test of ${hours} h of ${RATE_Hz} Hz x ${columns.length} channels, ${TESTED.length} rules, median of ${rounds} rounds. ` +
        `Written in ${written_s.toFixed(0)} s, ${(bytes / 1e6).toFixed(0)} MB.`,
    );
    const client = new BacktestClient(folder);
    const walls_s: number[] = [];
    const cpus_s: number[] = [];
    let view: BacktestView | null = null;
    for (let round = 0; round < rounds; round++) {
      const began_ms = performance.now();
      const cpu = process.cpuUsage();
      view = await finished(client, await started(client));
      walls_s.push((performance.now() - began_ms) / 1000);
      const used = process.cpuUsage(cpu);
      cpus_s.push((used.user + used.system) / 1e6);
    }
    const cancels_ms: number[] = [];
    for (let round = 0; round < 5; round++) {
      const id = await started(client);
      await progress(client, id, 0.1 + 0.15 * round);
      const began_ms = performance.now();
      await client.ask({ method: 'backtest.cancel', params: { id } });
      cancels_ms.push(performance.now() - began_ms);
    }
    // And while the session is still being loaded.
    const id = await started(client);
    const began_ms = performance.now();
    await client.ask({ method: 'backtest.cancel', params: { id } });
    cancels_ms.push(performance.now() - began_ms);
    await client.close();
    if (view === null || view.state !== 'done') throw new Error(`expected it to be done: ${view?.sentence}`);
    const result = view.results[0]!;
    const duration_s = hours * 3600;
    const ratio = duration_s / median(walls_s);
    const figures = {
      ratio: Number(ratio.toFixed(0)),
      cpuRatio: Number((duration_s / median(cpus_s)).toFixed(0)),
      goalRatio: GOAL_RATIO,
      wall_s: Number(median(walls_s).toFixed(1)),
      worstCancel_ms: Number(Math.max(...cancels_ms).toFixed(0)),
      goalCancel_ms: GOAL_CANCEL_MS,
      isMet: ratio >= GOAL_RATIO && Math.max(...cancels_ms) <= GOAL_CANCEL_MS,
      trips: Object.fromEntries(result.rules.map((each) => [each.ruleId, each.count])),
      rounds,
    };
    console.log(
      `${figures.wall_s} s: ${figures.ratio} times real time (${figures.cpuRatio} by CPU time of the process), goal ${GOAL_RATIO}. ` +
        `Cancelled within ${figures.worstCancel_ms} ms at worst, goal ${GOAL_CANCEL_MS}.`,
    );
    return figures;
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

async function started(client: BacktestClient): Promise<string> {
  const rules = lapwing120.rules
    .filter((rule) => TESTED.includes(rule.id))
    .map((rule): LimitRule => ('onDelay_ms' in rule ? { ...rule, onDelay_ms: rule.onDelay_ms / 2 } : rule));
  if (rules.length !== TESTED.length) throw new Error('expected the demo rig to have the rules under test');
  const answer = await client.ask({ method: 'backtest.start', params: { sessions: [SESSION], rules } });
  if (!answer.ok) throw new Error(answer.error.sentence);
  return (answer.value as { id: string }).id;
}

async function viewOf(client: BacktestClient, id: string): Promise<BacktestView> {
  const answer = await client.ask({ method: 'backtest.result', params: { id } });
  if (!answer.ok) throw new Error(answer.error.sentence);
  return answer.value as BacktestView;
}

async function finished(client: BacktestClient, id: string): Promise<BacktestView> {
  for (;;) {
    const view = await viewOf(client, id);
    if (view.state !== 'running') return view;
    await new Promise((resolve) => setTimeout(resolve, 200));
  }
}

async function progress(client: BacktestClient, id: string, least: number): Promise<void> {
  while ((await viewOf(client, id)).progress < least) await new Promise((resolve) => setTimeout(resolve, 20));
}

/** Writes the recording through the store's own writer; returns how long that took. */
export function writeRecording(folder: string, hours: number): number {
  const began_ms = performance.now();
  const opened = openStore(folder);
  if (!opened.ok) throw new Error(JSON.stringify(opened.error));
  const store = opened.value;
  // Yesterday: an old session without a run would be pruned when the host starts.
  const startedAt_epochMs = Date.now() - 86_400_000;
  const start = { id: SESSION, startedAt_epochMs, source: 'simulator', detail: 'made up' } as const;
  const writer = store.start({ ...start, rig: lapwing120 });
  if (!writer.ok) throw new Error(JSON.stringify(writer.error));
  let ord = 0;
  const event = (t_us: number, body: Parameters<typeof writer.value.event>[0]['body']): void =>
    writer.value.event({ ord: ord++, t_us, side: 'in', body } as Parameters<typeof writer.value.event>[0]);
  event(0, { kind: 'link', state: 'opened', detail: '' });
  event(0, { kind: 'table', table: tableOfBench() });
  for (const { input, key } of inputRows) event(0, { kind: 'input', input, state: key === 'starter' ? 0 : 1 });
  const random = noise(SEED);
  const raw = new Int32Array(columns.length);
  const repeat = new Int32Array(2);
  const summary = (duration_us: number) => ({ duration_us, runs: [], alarms: 0, aborts: 0, marks: 0 });
  const frames = hours * 3600 * RATE_Hz;
  for (let frame = 1; frame <= frames; frame++) {
    const t_us = frame * (1e6 / RATE_Hz);
    // Full throttle and idle in turn, each ten minutes: heads rise and fall, and a limit is passed now and then.
    const part = Math.abs(((frame / (1200 * RATE_Hz)) % 1) - 0.5) * 2;
    columns.forEach(([key, , , , value, spread], i) => {
      const level = key === 'rpm' ? 2000 + 4300 * part : key.startsWith('cht') ? value * (0.75 + 0.5 * part) : value;
      raw[i] = key === 'fuel_total' ? Math.floor(frame * 0.1139 * 10) : Math.round(level + spread * (random() - 0.5));
    });
    writer.value.frame(ord++, t_us, 1, raw, columns.length);
    if (frame % (2 * RATE_Hz) === 0) {
      // As the intake records what a bench repeats.
      for (const { input, key } of inputRows) {
        repeat[0] = input;
        repeat[1] = key === 'starter' ? 0 : 1;
        writer.value.frame(ord++, t_us, REPEAT_GROUP, repeat, 2);
      }
    }
    if (frame % (60 * RATE_Hz) === 0) writer.value.commit(summary(t_us));
  }
  writer.value.close(summary(frames * (1e6 / RATE_Hz)), startedAt_epochMs + hours * 3_600_000);
  store.close();
  return (performance.now() - began_ms) / 1000;
}

export function tableOfBench(): BenchTable {
  return {
    identity: {
      ...{ version: '1.0', bench: 'bench', firmware: '1', boot: '0001', layout: '5A10' },
      ...{ groups: 1, channels: columns.length, inputs: inputRows.length },
    },
    groups: [{ group: 1, rate_mHz: RATE_Hz * 1000, columns: columns.length }],
    channels: columns.map(([key, quantity, unit, decimals], channel) => ({
      ...{ channel, group: 1, column: channel, key, quantity, unit, decimals, low: -10_000, high: RAW_MAX },
    })),
    inputs: inputRows,
  };
}

function argument(args: readonly string[], name: string, usual: number): number {
  const given = args.find((each) => each.startsWith(`${name}=`))?.slice(name.length + 1);
  const value = given === undefined ? usual : Number(given);
  if (!(value > 0)) throw new RangeError(`${name}: expected a number above 0, got ${given}`);
  return value;
}

function median(values: readonly number[]): number {
  return [...values].sort((a, b) => a - b)[values.length >> 1]!;
}
