/**
 * How many times faster than real time the simulated bench runs: shaft steps
 * of 1 ms, every channel read and encoded, at the usual rates and at 1 kHz.
 * Baseline: real time, and the 300 times that headless runs were planned on.
 *
 * Arguments: `seconds=N` simulated per round (default 300), `rounds=N` (default 5).
 */
import { SimulatedBench } from '../../simulator/simulated-bench.ts';

const PLANNED = 300;
const SEED = 1;

export async function run(args: string[]): Promise<Record<string, unknown>> {
  const seconds = argument(args, 'seconds', 300);
  const rounds = argument(args, 'rounds', 5);
  console.log(`Simulated bench at full throttle, ${seconds} s a round, median of ${rounds} rounds, seed ${SEED}.`);
  console.log('');
  console.log('fast group   slow group   bytes/s   times real time   planned');
  const rows = [
    { fast_Hz: 100, slow_Hz: 10 },
    { fast_Hz: 1000, slow_Hz: 100 },
  ].map(({ fast_Hz, slow_Hz }) => {
    const results = Array.from({ length: rounds }, () => once(fast_Hz, slow_Hz, seconds));
    const ratio = median(results.map((each) => each.ratio));
    const bytesPerSecond = Math.round(results[0]?.bytesPerSecond ?? Number.NaN);
    console.log(
      `${`${fast_Hz} Hz`.padEnd(12)} ${`${slow_Hz} Hz`.padEnd(12)} ${String(bytesPerSecond).padStart(7)} ` +
        `${ratio.toFixed(0).padStart(17)} ${String(PLANNED).padStart(9)}`,
    );
    return { fast_Hz, slow_Hz, ratio: Math.round(ratio), bytesPerSecond };
  });
  return { bench: 'simulator', ratio: rows[0]?.ratio, ratioAt1kHz: rows[1]?.ratio, planned: PLANNED, seconds, rows };
}

function once(fast_Hz: number, slow_Hz: number, seconds: number): { ratio: number; bytesPerSecond: number } {
  const bench = new SimulatedBench({ seed: SEED, scenario: 'full-throttle', fast_Hz, slow_Hz });
  let bytes = 0;
  const from_ms = performance.now();
  for (let i = 0; i < seconds * 20; i++) {
    bench.advance(0.05);
    bytes += bench.takeBytes().length;
  }
  const wall_s = (performance.now() - from_ms) / 1000;
  return { ratio: seconds / wall_s, bytesPerSecond: bytes / seconds };
}

function median(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted[Math.floor(sorted.length / 2)] ?? Number.NaN;
}

function argument(args: readonly string[], name: string, usual: number): number {
  const text = args.find((each) => each.startsWith(`${name}=`))?.slice(name.length + 1);
  const value = text === undefined ? usual : Number(text);
  if (!(Number.isInteger(value) && value > 0)) throw new RangeError(`expected ${name} as a whole number, got ${text}`);
  return value;
}
