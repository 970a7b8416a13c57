/**
 * The bench of the live benchmark: writes sample lines to a pseudo-terminal
 * at a fixed rate and notes when each was written. 16 lines to be drawn, and
 * a running number by which each can be found again on the screen.
 */
import { BenchLineEncoder } from '../../../shared-core/line/encoder.ts';
import { openPty } from '../../support/pty.ts';
import { benchLines, LINES, MARKER_KEY, rawOf } from './bench-channels.ts';

const SEED = 20_261_125;
const LAYOUT = '11FE';
const COLUMNS = LINES + 1;

export interface Device {
  readonly path: string;
  /** Wall clock at which line n was handed to the terminal, ms with fractions. */
  readonly sentAt_epochMs: readonly number[];
  /** Writes `rate_Hz` lines a second; the promise ends when all of them are written. */
  run(rate_Hz: number, seconds: number): Promise<void>;
  close(): Promise<void>;
}

export async function startDevice(rate_Hz: number): Promise<Device> {
  const pty = await openPty();
  const encoder = new BenchLineEncoder();
  const began_ms = performance.now();
  const bench_us = (): number => Math.round((performance.now() - began_ms) * 1000);
  const sentAt_epochMs: number[] = [];
  const raw = new Int32Array(COLUMNS);
  const random = randomFrom(SEED);
  const sample = (): void => {
    const n = sentAt_epochMs.length;
    for (let i = 0; i < LINES; i++) raw[i] = rawOf(i, n, random());
    raw[LINES] = n;
    encoder.samples(1, bench_us(), raw, COLUMNS);
    sentAt_epochMs.push(performance.timeOrigin + performance.now());
  };
  return {
    path: pty.path,
    sentAt_epochMs,
    run(rate, seconds) {
      table(encoder, rate_Hz, bench_us());
      pty.write(encoder.take());
      const start_ms = performance.now();
      const first = sentAt_epochMs.length;
      return new Promise((resolve) => {
        const step = (): void => {
          const due = Math.min(rate * seconds, Math.floor(((performance.now() - start_ms) / 1000) * rate));
          while (sentAt_epochMs.length - first < due) sample();
          if (encoder.length > 0) pty.write(encoder.take());
          if (sentAt_epochMs.length - first >= rate * seconds) resolve();
          else setTimeout(step, 1);
        };
        step();
      });
    },
    close: () => pty.close(),
  };
}

function table(encoder: BenchLineEncoder, rate_Hz: number, time_us: number): void {
  const head = { version: '1.0', bench: 'live', firmware: '1', boot: '0001', layout: LAYOUT };
  encoder.identity({ ...head, groups: 1, channels: COLUMNS, inputs: 0 }, time_us);
  encoder.group(LAYOUT, { group: 1, rate_mHz: rate_Hz * 1000, columns: COLUMNS }, time_us);
  benchLines.forEach(({ key, quantity, unit }, column) => {
    const row = { channel: column, group: 1, column, key, quantity, unit, decimals: 1, low: -100_000, high: 100_000 };
    encoder.channel(LAYOUT, row, time_us);
  });
  const marker = { channel: LINES, group: 1, column: LINES, key: MARKER_KEY, quantity: 'other', unit: '1' };
  encoder.channel(LAYOUT, { ...marker, decimals: 0, low: 0, high: 10_000_000 }, time_us);
}

/** Numerical Recipes' linear congruential generator, −1 to 1. */
function randomFrom(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (Math.imul(state, 1_664_525) + 1_013_904_223) >>> 0;
    return state / 2 ** 31 - 1;
  };
}
