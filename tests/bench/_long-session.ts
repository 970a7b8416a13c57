/**
 * A recorded session of any length for benchmarks of reading: what a host
 * records of a bench like the simulated one, 8 channels at 100 Hz and 24 at
 * 10 Hz, with inputs repeated, counters and clocks noted, derived channels,
 * alarms that come and go and keyframes, all from the real pipeline through the
 * store's own writer. Idle and full throttle in turn, ten minutes each, a stop
 * and a start every two hours. Seeded.
 */
import { Recorder } from '../../electron/host/recorder.ts';
import { SummaryKeeper } from '../../electron/host/session-summary.ts';
import { openStore } from '../../electron/host/store/open-store.ts';
import { RAW_MAX } from '../../shared-core/channels/quality.ts';
import { type JournalInput, REPEAT_GROUP } from '../../shared-core/journal.ts';
import { type BenchTable, noCounts } from '../../shared-core/line/messages.ts';
import { Pipeline } from '../../shared-core/pipeline.ts';
import { lapwing120 } from '../../shared-core/rig/lapwing.ts';
import { columns, inputRows, noise } from './pipeline.ts';

const FAST_Hz = 100;
const SLOW_EVERY = 10;
const FAST = ['rpm', 'thrust', 'torque', 'aux1', 'aux2', 'aux3', 'aux4', 'fuel_flow'];
const SEED = 20_261_125;
/** Noise comes again after so many numbers; nothing is remembered of it by then. */
const NOISE = 1 << 18;
const COMMIT_EVERY_S = 60;

const fast = columns.filter(([key]) => FAST.includes(key));
const slow = columns.filter(([key]) => !FAST.includes(key));

/** @returns how long it took, s */
export function writeLongSession(folder: string, id: string, hours: number): number {
  const began_ms = performance.now();
  const opened = openStore(folder);
  if (!opened.ok) throw new Error(JSON.stringify(opened.error));
  const store = opened.value;
  // Yesterday and before: it must not be in the future, and has runs, so that it is not pruned.
  const startedAt_epochMs = Date.now() - 86_400_000 - hours * 3_600_000;
  const start = {
    id,
    startedAt_epochMs,
    source: 'simulator',
    detail: 'made up for a benchmark',
    rig: lapwing120,
  } as const;
  const writer = store.start(start);
  if (!writer.ok) throw new Error(JSON.stringify(writer.error));
  const keeper = new SummaryKeeper();
  const clock = { now_us: () => 0, now_epochMs: () => startedAt_epochMs + hours * 3_600_000 };
  const recorder = new Recorder(store, writer.value, clock, () => keeper.summary());
  const pipeline = new Pipeline(lapwing120, {
    onValues: (t_us, view) => {
      keeper.values(t_us, view);
      recorder.values(t_us, view);
    },
    onOutput: (t_us, output) => {
      keeper.output(t_us, output);
      recorder.output(t_us, output);
    },
  });
  let ord = 0;
  const event = (t_us: number, body: JournalInput): void => {
    recorder.event(ord, t_us, body);
    keeper.input(body);
    keeper.time(t_us);
    pipeline.event(ord++, t_us, body);
  };
  const frame = (t_us: number, group: number, raw: Int32Array, count: number): void => {
    recorder.frame(ord, t_us, group, raw, count);
    pipeline.frame(ord, t_us, group, raw, count);
    recorder.folded(ord++, t_us, pipeline);
  };
  event(0, { kind: 'link', state: 'opened', detail: '' });
  event(0, { kind: 'table', table: tableOfMix() });
  for (const { input, key } of inputRows) event(0, { kind: 'input', input, state: key === 'starter' ? 0 : 1 });
  const random = noise(SEED);
  const noises = Float64Array.from({ length: NOISE }, () => random() - 0.5);
  let at = 0;
  const next = (): number => noises[at++ & (NOISE - 1)]!;
  const raw = new Int32Array(Math.max(fast.length, slow.length));
  const frames = hours * 3600 * FAST_Hz;
  for (let i = 1; i <= frames; i++) {
    const t_us = i * (1e6 / FAST_Hz);
    const second = i / FAST_Hz;
    const part = Math.abs(((second / 1200) % 1) - 0.5) * 2;
    const isStopped = second % 7200 < 300;
    for (let c = 0; c < fast.length; c++) {
      const [key, , , , value, spread] = fast[c]!;
      const level = isStopped ? 0 : key === 'rpm' ? 2000 + 4300 * part : value * (0.2 + 0.8 * part);
      raw[c] = Math.round(level + (isStopped && key === 'rpm' ? 0 : spread * next()));
    }
    frame(t_us, 1, raw, fast.length);
    if (i % SLOW_EVERY === 0) {
      for (let c = 0; c < slow.length; c++) {
        const [key, , , , value, spread] = slow[c]!;
        const level = key.startsWith('cht') ? value * (isStopped ? 0.3 : 0.75 + 0.5 * part) : value;
        raw[c] = key === 'fuel_total' ? Math.floor(i * 0.01) : Math.round(level + spread * next());
      }
      frame(t_us, 2, raw, slow.length);
    }
    if (i % (2 * FAST_Hz) === 0) {
      // As the intake records what a bench repeats.
      for (const { input, key } of inputRows) {
        raw[0] = input;
        raw[1] = key === 'starter' ? 0 : 1;
        frame(t_us, REPEAT_GROUP, raw, 2);
      }
    }
    if (i % (10 * FAST_Hz) === 0) event(t_us, { kind: 'counts', counts: noCounts() });
    if (i % (60 * FAST_Hz) === 0) {
      const host_epochMs = startedAt_epochMs + t_us / 1000;
      event(t_us, { kind: 'clock', bench_us: t_us, session_us: t_us, host_epochMs });
    }
    if (i % (3600 * FAST_Hz) === 0) {
      event(t_us, { kind: 'operator', by: 'operator 1', action: { kind: 'mark', text: `hour ${second / 3600}` } });
    }
    // A person is at the desk: what stands is looked at and acknowledged.
    if (i % (1200 * FAST_Hz) === 0) {
      event(t_us, { kind: 'operator', by: 'operator 1', action: { kind: 'acknowledge-all' } });
    }
    if (i % (COMMIT_EVERY_S * FAST_Hz) === 0) recorder.commit();
  }
  recorder.close();
  store.close();
  return (performance.now() - began_ms) / 1000;
}

function tableOfMix(): BenchTable {
  const rows = [
    ...fast.map((row, column) => ({ row, group: 1, column })),
    ...slow.map((row, column) => ({ row, group: 2, column })),
  ];
  return {
    identity: {
      ...{ version: '1.0', bench: 'bench', firmware: '1', boot: '0001', layout: '5A11' },
      ...{ groups: 2, channels: rows.length, inputs: inputRows.length },
    },
    groups: [
      { group: 1, rate_mHz: FAST_Hz * 1000, columns: fast.length },
      { group: 2, rate_mHz: (FAST_Hz * 1000) / SLOW_EVERY, columns: slow.length },
    ],
    channels: rows.map(({ row: [key, quantity, unit, decimals], group, column }, channel) => ({
      ...{ channel, group, column, key, quantity, unit, decimals, low: -10_000, high: RAW_MAX },
    })),
    inputs: inputRows,
  };
}
