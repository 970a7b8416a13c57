/**
 * From a byte on the line to pixels on the screen, over the browser door in
 * headless Chromium: the real host and the page's own trend plot, against the
 * plain way (parser-readline, a JSON message for each line, the chart library
 * given all points anew once per frame). 16 lines of 1,200 points, 100 lines a
 * second from a pseudo-terminal; then ten times as many, which is more than
 * either is made for. Besides, one frame alone: the chart library's lines
 * against ours.
 *
 * A line's time is from its write to the terminal to the end of the first
 * frame in which it is drawn (style, layout and paint done; what the screen
 * itself takes comes on top, on both sides alike).
 *
 * Arguments: `seconds=N` (default 60), `overload=N` seconds (default 20),
 * `frames=N` of the drawing alone (default 300).
 */
import { type ChildProcess, spawn } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { cpus, loadavg, tmpdir } from 'node:os';
import { join } from 'node:path';
import { type Browser, chromium } from '@playwright/test';
import { build } from 'vite';
import { openStoreReadOnly } from '../../electron/host/store/open-store.ts';
import { chromiumArguments, findChromium } from '../e2e/support/chromium.ts';
import { startDevice } from './live/device.ts';
import type { FrameLog } from './live/frame-log.ts';

const folder = join(import.meta.dirname, 'live');
const RATE_HZ = 100;
const OVERLOAD = 10;
/** Compilers warm up, the first table is read. Not counted. */
const WARM_UP_S = 3;
/** After the last line, for what is still under way. */
const DRAIN_MS = 3000;

type Side = 'ours' | 'plain';

interface Run {
  readonly lines: number;
  /** Lines never drawn, nor covered by a later frame. */
  readonly undrawn: number;
  readonly p50_ms: number;
  readonly p99_ms: number;
  readonly worst_ms: number;
  /** Of the first and the last third of the time. */
  readonly early_p99_ms: number;
  readonly late_p99_ms: number;
  readonly framesPerSecond: number;
  readonly gap_p99_ms: number;
  readonly gapWorst_ms: number;
  /** From the write of the last line to its drawing. */
  readonly backlog_ms: number;
  /** Lines in the recording; only ours records. */
  readonly recorded: number | null;
  /** Programs that wanted a core meanwhile, mean of a minute: above the number of cores, others are in the way. */
  readonly load: number;
}

export async function run(args: string[]): Promise<Record<string, unknown>> {
  const seconds = argument(args, 'seconds', 60);
  const overload_s = argument(args, 'overload', 20);
  const frames = argument(args, 'frames', 300);
  const executablePath = findChromium();
  if (executablePath === null) throw new Error('No Chromium or Chrome found; set CHROME to its path.');
  await build({ configFile: join(folder, 'vite.config.ts'), logLevel: 'warn' });
  const browser = await chromium.launch({ executablePath, args: [...chromiumArguments] });
  try {
    console.log(`Chromium ${browser.version()} without a screen, ${cpus().length} x ${cpus()[0]?.model ?? 'unknown'}.`);
    console.log(
      `16 lines of 1,200 points; ${RATE_HZ} lines/s for ${seconds} s, then ${OVERLOAD} times as many for ${overload_s} s.`,
    );
    console.log('');
    const drawing = await drawAlone(browser, frames);
    console.log(
      `One frame alone, mean of ${frames}: chart library ${drawing.library_ms} ms, ours ${drawing.ours_ms} ms: ${drawing.ratio} times.`,
    );
    console.log('');
    console.log(
      'side   lines/s   p50 ms   p99 ms  worst ms  first third  last third  frames/s  gap p99  gap worst  backlog ms  load  recorded',
    );
    const results: Record<string, Run> = {};
    for (const [name, rate_Hz, time_s] of [
      ['usual', RATE_HZ, seconds],
      ['overload', RATE_HZ * OVERLOAD, overload_s],
    ] as const) {
      for (const side of ['ours', 'plain'] as const) {
        const result = await live(browser, side, rate_Hz, time_s);
        results[`${side}${name === 'usual' ? '' : 'Overload'}`] = result;
        console.log(rowOf(side, rate_Hz, result));
      }
    }
    const { ours, plain, oursOverload, plainOverload } = results as Record<string, Run>;
    return {
      bench: 'live',
      ratio: round(plain!.p99_ms / ours!.p99_ms),
      backlogRatio: round(plainOverload!.backlog_ms / oursOverload!.backlog_ms),
      p99_ms: ours!.p99_ms,
      flat: round(ours!.late_p99_ms / ours!.early_p99_ms),
      isRecordingComplete: oursOverload!.recorded === oursOverload!.lines && ours!.recorded === ours!.lines,
      drawing,
      ours,
      plain,
      oursOverload,
      plainOverload,
    };
  } finally {
    await browser.close();
  }
}

async function live(browser: Browser, side: Side, rate_Hz: number, seconds: number): Promise<Run> {
  const dataFolder = mkdtempSync(join(tmpdir(), 'runstand-live-'));
  const device = await startDevice(rate_Hz);
  const host = spawn(
    process.execPath,
    [join(folder, side === 'ours' ? 'host.ts' : 'baseline-host.ts'), device.path, dataFolder],
    { stdio: ['ignore', 'pipe', 'inherit'] },
  );
  const page = await browser.newPage({ viewport: { width: 1400, height: 800 } });
  page.on('pageerror', (error) => console.error(`${side}: ${error.message}`));
  try {
    await page.goto(await addressOf(host));
    // The page is connected before the first line is counted.
    await page.waitForTimeout(1000);
    const first = device.sentAt_epochMs.length;
    await device.run(rate_Hz, seconds + WARM_UP_S);
    await page.waitForTimeout(DRAIN_MS);
    const log = await page.evaluate(() => window.frameLog);
    await page.close();
    await ended(host);
    const counted = first + rate_Hz * WARM_UP_S;
    const run = figuresOf(log, device.sentAt_epochMs, counted);
    return {
      ...run,
      lines: device.sentAt_epochMs.length,
      recorded: side === 'ours' ? recordedIn(dataFolder) : null,
      load: round(loadavg()[0]!),
    };
  } finally {
    host.kill('SIGKILL');
    await device.close();
    rmSync(dataFolder, { recursive: true, force: true, maxRetries: 3 });
  }
}

function figuresOf(log: FrameLog, sentAt_epochMs: readonly number[], counted: number): Run {
  const times_ms: number[] = [];
  let frame = 0;
  for (let n = counted; n < sentAt_epochMs.length; n++) {
    while (frame < log.shown.length && !(log.shown[frame]! >= n)) frame++;
    if (frame === log.shown.length) break;
    times_ms.push(log.shownAt_epochMs[frame]! - sentAt_epochMs[n]!);
  }
  const begun_epochMs = sentAt_epochMs[counted]!;
  const until_epochMs = sentAt_epochMs.at(-1)!;
  const drawn = log.shownAt_epochMs.filter((at) => at >= begun_epochMs && at <= until_epochMs).length;
  const third = Math.floor(times_ms.length / 3);
  const firstFrame = Math.max(
    0,
    log.gaps_ms.length - Math.round(((until_epochMs - begun_epochMs + DRAIN_MS) / 1000) * 60),
  );
  const gaps_ms = log.gaps_ms.slice(firstFrame);
  return {
    lines: sentAt_epochMs.length,
    undrawn: sentAt_epochMs.length - counted - times_ms.length,
    p50_ms: quantile(times_ms, 0.5),
    p99_ms: quantile(times_ms, 0.99),
    worst_ms: quantile(times_ms, 1),
    early_p99_ms: quantile(times_ms.slice(0, third), 0.99),
    late_p99_ms: quantile(times_ms.slice(-third), 0.99),
    framesPerSecond: round(drawn / ((until_epochMs - begun_epochMs) / 1000)),
    gap_p99_ms: quantile(gaps_ms, 0.99),
    gapWorst_ms: quantile(gaps_ms, 1),
    // Never drawn within the time that was waited: it is at least that.
    backlog_ms: times_ms.length === sentAt_epochMs.length - counted ? round(times_ms.at(-1)!) : DRAIN_MS,
    recorded: null,
    load: 0,
  };
}

/** Lines in the only session of the folder, which must be whole. */
function recordedIn(dataFolder: string): number {
  const store = openStoreReadOnly(dataFolder);
  if (!store.ok) throw new Error(`the recording cannot be opened: ${store.error.kind}`);
  try {
    const listed = store.value.list();
    const id = listed.ok ? listed.value[0]?.id : undefined;
    let frames = 0;
    const sink = { frame: () => void frames++, tick: () => {}, event: () => {} };
    const verified = store.value.verify(id ?? '');
    if (!verified.ok || !verified.value.isWhole) throw new Error('the recording is not whole');
    store.value.replay(id!, sink);
    return frames;
  } finally {
    store.value.close();
  }
}

async function drawAlone(browser: Browser, frames: number) {
  // Any server will do: the page needs neither host nor bench.
  const { preview } = await import('vite');
  const server = await preview({ configFile: join(folder, 'vite.config.ts'), preview: { port: 0, host: '127.0.0.1' } });
  const page = await browser.newPage({ viewport: { width: 1400, height: 800 } });
  try {
    await page.goto(`${server.resolvedUrls?.local[0] ?? ''}draw.html`);
    const mean = async (variant: string): Promise<number> => {
      const took_ms = await page.evaluate(
        ([which, count]) =>
          (window as unknown as { measure(v: string, n: number): Promise<number[]> }).measure(which, count),
        [variant, frames + 30] as const,
      );
      const counted = took_ms.slice(30);
      return round(counted.reduce((sum, each) => sum + each, 0) / counted.length);
    };
    // In turns, so that a busy machine is busy for both.
    const times = [await mean('library'), await mean('ours'), await mean('library'), await mean('ours')];
    const library_ms = round((times[0]! + times[2]!) / 2);
    const ours_ms = round((times[1]! + times[3]!) / 2);
    return { library_ms, ours_ms, ratio: round(library_ms / ours_ms) };
  } finally {
    await page.close();
    await server.close();
  }
}

function addressOf(child: ChildProcess): Promise<string> {
  return new Promise((resolve, reject) => {
    let output = '';
    child.stdout?.on('data', (chunk: Buffer) => {
      output += chunk.toString();
      const address = /^at (\S+)/m.exec(output)?.[1];
      if (address !== undefined) resolve(address);
    });
    child.once('exit', (code) => reject(new Error(`the host ended with ${code}`)));
  });
}

function ended(child: ChildProcess): Promise<void> {
  const exited = new Promise<void>((resolve) => child.once('exit', () => resolve()));
  child.kill('SIGTERM');
  return exited;
}

function rowOf(side: Side, rate_Hz: number, r: Run): string {
  const cells = [
    r.p50_ms,
    r.p99_ms,
    r.worst_ms,
    r.early_p99_ms,
    r.late_p99_ms,
    r.framesPerSecond,
    r.gap_p99_ms,
    r.gapWorst_ms,
    r.backlog_ms,
  ];
  const widths = [9, 9, 10, 13, 12, 10, 9, 11, 12];
  const numbers = cells.map((cell, i) => cell.toFixed(1).padStart(widths[i]!)).join('');
  const recorded = r.recorded === null ? '-' : `${r.recorded} of ${r.lines}`;
  return `${side.padEnd(6)}${String(rate_Hz).padStart(8)}${numbers}${r.load.toFixed(1).padStart(6)}  ${recorded}`;
}

function quantile(values: readonly number[], q: number): number {
  const sorted = values.toSorted((a, b) => a - b);
  return round(sorted[Math.min(sorted.length - 1, Math.floor(q * sorted.length))] ?? Number.NaN);
}

function round(value: number): number {
  return Math.round(value * 100) / 100;
}

function argument(args: readonly string[], name: string, otherwise: number): number {
  const found = args.find((each) => each.startsWith(`${name}=`));
  return found === undefined ? otherwise : Number(found.slice(name.length + 1));
}
