/**
 * The whole fold from bytes, on one core: decode -> intake -> calibrate ->
 * derive -> judge -> display steps, at 1 kHz x 32 channels with the rules of
 * the demo rig. The ratio is simulated time over wall time: how many times
 * faster than a live bench.
 *
 * Arguments: `rounds=N` (default 7), `seconds=N` of data a round (default 20).
 */
import { DisplaySteps } from '../../shared-core/channels/display-steps.ts';
import { RAW_MAX } from '../../shared-core/channels/quality.ts';
import { BenchLineEncoder } from '../../shared-core/line/encoder.ts';
import { Intake } from '../../shared-core/line/intake.ts';
import type { ChannelRow, InputRow } from '../../shared-core/line/messages.ts';
import { Pipeline } from '../../shared-core/pipeline.ts';
import { lapwing120 } from '../../shared-core/rig/lapwing.ts';

const RATE_Hz = 1000;
/** Bytes come about as a USB adapter hands them over. */
const CHUNK_us = 10_000;
const DISPLAY_us = 50_000;
const SEED = 20_261_125;

/** Key, quantity, unit, decimals, then the steady value and its noise in scaled integers. */
export const columns: readonly (readonly [string, string, string, number, number, number])[] = [
  ['rpm', 'shaft-speed', '/min', 0, 6100, 15],
  ['thrust', 'thrust', 'N', 2, 26_000, 120],
  ['torque', 'torque', 'N.m', 3, 10_300, 90],
  ['cht1', 'head-temperature', 'Cel', 1, 1650, 1],
  ['cht2', 'head-temperature', 'Cel', 1, 1620, 1],
  ['cht3', 'head-temperature', 'Cel', 1, 1655, 1],
  ['cht4', 'head-temperature', 'Cel', 1, 1640, 1],
  ['egt1', 'exhaust-temperature', 'Cel', 1, 5800, 4],
  ['egt2', 'exhaust-temperature', 'Cel', 1, 5900, 4],
  ['egt3', 'exhaust-temperature', 'Cel', 1, 5850, 4],
  ['egt4', 'exhaust-temperature', 'Cel', 1, 5820, 4],
  ['fuel_flow', 'fuel-flow', 'L/h', 3, 4100, 20],
  ['fuel_total', 'fuel-total', 'mL', 2, 0, 0],
  ['fuel_level', 'fuel-level', 'L', 3, 4000, 5],
  ['fuel_temp', 'fuel-temperature', 'Cel', 1, 190, 1],
  ['throttle', 'throttle-demand', '%', 1, 1000, 0],
  ['servo_pulse', 'servo-pulse', 'us', 0, 1900, 1],
  ['supply_volt', 'supply-voltage', 'V', 2, 1405, 2],
  ['starter_amp', 'starter-current', 'A', 1, 0, 1],
  ['gen_volt', 'generator-voltage', 'V', 2, 1406, 2],
  ['gen_amp', 'generator-current', 'A', 2, 900, 6],
  ['air_temp', 'ambient-temperature', 'Cel', 1, 170, 1],
  ['air_press', 'ambient-pressure', 'hPa', 2, 94_100, 2],
  ['air_humid', 'ambient-humidity', '%', 1, 550, 1],
  ['inlet_temp', 'inlet-temperature', 'Cel', 1, 178, 1],
  ...Array.from({ length: 7 }, (_, i) => [`aux${i + 1}`, 'other', 'g', 3, 500, 300] as const),
];

export const inputRows: readonly InputRow[] = ['stop', 'cage', 'ignition', 'starter'].map((key, input) => ({
  input,
  key,
  word0: 'off',
  word1: 'on',
}));

export async function run(args: string[]): Promise<Record<string, unknown>> {
  const rounds = argument(args, 'rounds', 7);
  const seconds = argument(args, 'seconds', 20);
  if (rounds < 5) throw new RangeError(`expected at least 5 rounds, got ${rounds}`);
  const chunks = chunksOfBench(seconds);
  const bytes = chunks.reduce((sum, chunk) => sum + chunk.length, 0);
  console.log(
    `From bytes to display steps: ${seconds} s of ${RATE_Hz} Hz x ${columns.length} channels ` +
      `(${(bytes / seconds / 1000).toFixed(0)} kB/s), ${lapwing120.rules.length} rules, median of ${rounds} rounds.`,
  );
  const walls_ms: number[] = [];
  const cpus_ms: number[] = [];
  let last = fold(chunks);
  // The round above warms the compiler up and does not count.
  for (let round = 0; round < rounds; round++) {
    const started = performance.now();
    const cpuBefore = process.cpuUsage();
    last = fold(chunks);
    walls_ms.push(performance.now() - started);
    const cpu = process.cpuUsage(cpuBefore);
    cpus_ms.push((cpu.user + cpu.system) / 1000);
  }
  if (last.frames !== seconds * RATE_Hz) throw new Error(`expected ${seconds * RATE_Hz} frames, got ${last.frames}`);
  if (!last.isRunning) throw new Error('expected the pipeline to find the engine running');
  const wall_s = median(walls_ms) / 1000;
  const samples = last.frames * columns.length;
  const result = {
    bench: 'pipeline',
    ratio: Number((seconds / wall_s).toFixed(1)),
    /** The same over the CPU time of this process, all its threads: does not suffer from neighbours. */
    cpuRatio: Number(((seconds * 1000) / median(cpus_ms)).toFixed(1)),
    samplesPerSecond: Math.round(samples / wall_s),
    usPerFrame: Number(((wall_s * 1e6) / last.frames).toFixed(2)),
    rules: lapwing120.rules.length,
    rulesNotJudged: last.rulesNotJudged,
    channels: columns.length,
    derived: last.derived,
    batches: last.batches,
    rounds,
  };
  console.log(
    `${result.samplesPerSecond} samples/s, ${result.usPerFrame} us per frame: ${result.ratio} times real time on one core (${result.cpuRatio} by CPU time).`,
  );
  return result;
}

function fold(chunks: readonly Uint8Array[]) {
  const steps = new DisplaySteps('live');
  let frames = 0;
  const pipeline: Pipeline = new Pipeline(lapwing120, {
    onValues(t_us, view) {
      frames++;
      steps.add(t_us, view);
    },
    onOutput() {},
  });
  const intake = new Intake(pipeline);
  intake.opened(0);
  let now_us = 0;
  let nextDisplay_us = DISPLAY_us;
  let batches = 0;
  for (const chunk of chunks) {
    now_us += CHUNK_us;
    intake.bytes(chunk, now_us);
    if (now_us < nextDisplay_us) continue;
    nextDisplay_us += DISPLAY_us;
    intake.idle(now_us);
    if (steps.take(pipeline, now_us / 1000).last.length > 0) batches++;
  }
  return {
    frames,
    batches,
    isRunning: pipeline.run.state === 'running',
    rulesNotJudged: pipeline.unjudgedRules.length,
    derived: pipeline.values.channels.length - columns.length,
  };
}

function chunksOfBench(seconds: number): Uint8Array[] {
  const encoder = new BenchLineEncoder();
  const random = noise(SEED);
  const layout = '5A10';
  const identity = {
    version: '1.0',
    bench: 'bench',
    firmware: '1',
    boot: '0001',
    layout,
    groups: 1,
    channels: columns.length,
    inputs: inputRows.length,
  };
  encoder.identity(identity, 0);
  encoder.group(layout, { group: 1, rate_mHz: RATE_Hz * 1000, columns: columns.length }, 0);
  columns.forEach(([key, quantity, unit, decimals], channel) => {
    const row: ChannelRow = {
      channel,
      group: 1,
      column: channel,
      key,
      quantity,
      unit,
      decimals,
      low: -10_000,
      high: RAW_MAX,
    };
    encoder.channel(layout, row, 0);
  });
  for (const row of inputRows) encoder.input(layout, row, 0);
  const raw = new Int32Array(columns.length);
  const chunks: Uint8Array[] = [];
  for (let frame = 1; frame <= seconds * RATE_Hz; frame++) {
    const t_us = frame * (1e6 / RATE_Hz);
    if (t_us % 1_000_000 === 1000)
      for (const { input, key } of inputRows) encoder.event(input, key === 'starter' ? 0 : 1, t_us);
    columns.forEach(([key, , , , value, spread], i) => {
      // 4.1 L/h are 0.1139 counts of 0.01 mL in each ms.
      raw[i] = key === 'fuel_total' ? Math.floor(frame * 0.1139) : Math.round(value + spread * (random() - 0.5));
    });
    encoder.samples(1, t_us, raw, columns.length);
    if (t_us % CHUNK_us === 0) chunks.push(encoder.take());
  }
  return chunks;
}

/** Seeded: mulberry32, 0 to 1. */
export function noise(seed: number): () => number {
  let state = seed;
  return () => {
    state = (state + 0x6d2b79f5) | 0;
    let mixed = Math.imul(state ^ (state >>> 15), state | 1);
    mixed ^= mixed + Math.imul(mixed ^ (mixed >>> 7), mixed | 61);
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 2 ** 32;
  };
}

function argument(args: readonly string[], name: string, usual: number): number {
  const given = args.find((each) => each.startsWith(`${name}=`))?.slice(name.length + 1);
  const value = given === undefined ? usual : Number(given);
  if (!Number.isInteger(value) || value < 1) throw new RangeError(`${name}: expected a whole number, got ${given}`);
  return value;
}

function median(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  const middle = sorted.length >> 1;
  return sorted.length % 2 === 1 ? sorted[middle]! : (sorted[middle - 1]! + sorted[middle]!) / 2;
}
