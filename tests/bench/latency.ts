/**
 * From the byte that completes the offending line to the screen: a bench on a
 * real terminal device sends 32 channels at 100 Hz, now and then over a limit;
 * the browser door serves the page to headless Chromium, while the reading
 * worker folds a long recording again and again for a replay.
 *
 * The clock starts before the line is written to the device, and stops in the
 * page, in the second animation frame after the alarm's row stands in it: a
 * little more than the byte's own way. What the app says of itself stands
 * beside it. Goals: p50 at most 100 ms, p99 at most 250 ms.
 *
 * Arguments: `crossings=N` (default 150), `hours=N` of recording (default 1).
 */
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { loadavg, tmpdir } from 'node:os';
import { join } from 'node:path';
import { chromium, type Page } from '@playwright/test';
import { WebSocket } from 'ws';
import { bundle } from '../../build/bundle.ts';
import { percentile } from '../../electron/host/alarm-latency.ts';
import type { AlarmStamp, HostMessage, LatencyHealth, RendererMessage } from '../../shared-core/bridge/contract.ts';
import { decodeWire, encodeWire } from '../../shared-core/bridge/wire.ts';
import type { LimitRule } from '../../shared-core/limits/rules.ts';
import { BenchLineEncoder } from '../../shared-core/line/encoder.ts';
import { lapwing120 } from '../../shared-core/rig/lapwing.ts';
import { startApp } from '../e2e/support/app.ts';
import { chromiumArguments, findChromium } from '../e2e/support/chromium.ts';
import { openPty } from '../support/pty.ts';
import { SESSION, tableOfBench, writeRecording } from './backtest.ts';
import { columns, inputRows, noise } from './pipeline.ts';

const RATE_Hz = 100;
const GOAL_P50_MS = 100;
const GOAL_P99_MS = 250;
const WAIT_MS = 5000;
const LATE = 'the alarm did not come to the screen';

/** Over 0.8 g the alarm trips with the sample itself. */
const rule: LimitRule = {
  ...{ kind: 'threshold', id: 'latency' as LimitRule['id'], title: 'Latency', level: 'warning', channel: 'aux1' },
  ...{ direction: 'high', trip: 0.8, reset: 0.7, onDelay_ms: 0, offDelay_ms: 0, when: [], latch: false },
  ...{ consequence: 'none', operatorAction: 'none', timeToAct_s: 10 },
};

export async function run(args: string[]): Promise<Record<string, unknown>> {
  const crossings = argument(args, 'crossings', 150);
  const hours = argument(args, 'hours', 1);
  await bundle(['page'], false);
  const folder = mkdtempSync(join(tmpdir(), 'runstand-latency-'));
  writeRecording(folder, hours);
  writeFileSync(join(folder, 'rig-sheet.json'), JSON.stringify({ ...lapwing120, rules: [...lapwing120.rules, rule] }));
  const bench = await startBench();
  const app = await startApp({ port: bench.path, dataFolder: folder });
  const browser = await chromium.launch({ executablePath: findChromium() ?? undefined, args: chromiumArguments });
  const busy = await keepReading(app.url, hours * 3.6e9);
  try {
    const page = await openRun(await browser.newPage({ viewport: { width: 1280, height: 800 } }), app.url);
    const ways_ms: number[] = [];
    /** Of each crossing: to the host, through the host, to the screen. */
    const parts_ms: [number, number, number][] = [];
    const random = noise(20_261_125);
    for (let i = 0; i < crossings; i++) {
      // At no fixed phase to the page's own rounds.
      await pause(250 + 300 * random());
      const { sentAt_epochMs, shownAt_epochMs } = await crossing(page, bench);
      ways_ms.push(shownAt_epochMs - sentAt_epochMs);
      const stamp = busy.stamps.find((each) => each.arrivedAt_epochMs >= sentAt_epochMs);
      if (stamp !== undefined) {
        const { arrivedAt_epochMs, postedAt_epochMs } = stamp;
        parts_ms.push([
          arrivedAt_epochMs - sentAt_epochMs,
          postedAt_epochMs - arrivedAt_epochMs,
          shownAt_epochMs - postedAt_epochMs,
        ]);
      }
      bench.isOver = false;
      await page.waitForFunction(() => document.querySelector('[data-testid="alarm-latency"]') === null, undefined, {
        timeout: WAIT_MS,
        polling: 20,
      });
    }
    const tasks_ms = await page.evaluate(() => (window as unknown as { longTasks_ms: number[] }).longTasks_ms);
    const sorted = ways_ms.sort((a, b) => a - b);
    const p50_ms = percentile(sorted, 0.5);
    const p99_ms = percentile(sorted, 0.99);
    const own = busy.latency();
    const figures = {
      ...{ p50_ms, p99_ms, worst_ms: sorted.at(-1)!, goalP50_ms: GOAL_P50_MS, goalP99_ms: GOAL_P99_MS },
      isMet: p50_ms <= GOAL_P50_MS && p99_ms <= GOAL_P99_MS,
      ...{ crossings, replaysFolded: busy.folded(), recordedHours: hours },
      p99OfParts_ms: {
        toHost: p99Of(parts_ms.map(([toHost]) => toHost)),
        throughHost: p99Of(parts_ms.map(([, throughHost]) => throughHost)),
        toScreen: p99Of(parts_ms.map(([, , toScreen]) => toScreen)),
      },
      /** Of the page's own thread, above 50 ms: what could have kept an alarm waiting there. */
      longTasks: { count: tasks_ms.length, worst_ms: Math.round(Math.max(0, ...tasks_ms)) },
      load: Number(loadavg()[0]!.toFixed(1)),
      app: own === null ? null : { shown: own.shown, p50_ms: own.p50_ms, p99_ms: own.p99_ms, worst_ms: own.worst_ms },
    };
    console.log(
      `Crossing to screen, ${crossings} alarms at ${RATE_Hz} Hz x ${columns.length} channels, beside ${figures.replaysFolded} replays of ${hours} h: ` +
        `p50 ${p50_ms} ms (goal ${GOAL_P50_MS}), p99 ${p99_ms} ms (goal ${GOAL_P99_MS}), worst ${figures.worst_ms} ms.`,
    );
    const { toHost, throughHost, toScreen } = figures.p99OfParts_ms;
    console.log(
      `p99 of its parts: to the host ${toHost} ms, through it ${throughHost} ms, to the screen ${toScreen} ms.`,
    );
    if (own !== null) console.log(`The app itself says: p50 ${own.p50_ms} ms, p99 ${own.p99_ms} ms of ${own.shown}.`);
    return figures;
  } finally {
    busy.stop();
    await browser.close();
    await app.stop();
    await bench.stop();
    rmSync(folder, { recursive: true, force: true, maxRetries: 3 });
  }
}

/** Sends the next sample over the limit; returns the time from then until it is on screen. */
async function crossing(page: Page, bench: Bench): Promise<{ sentAt_epochMs: number; shownAt_epochMs: number }> {
  const shown = page.evaluate(
    ([wait_ms, late]) =>
      new Promise<number>((resolve, reject) => {
        const isThere = (): boolean => document.querySelector('[data-testid="alarm-latency"]') !== null;
        const observer = new MutationObserver(() => {
          if (!isThere()) return;
          observer.disconnect();
          requestAnimationFrame(() => requestAnimationFrame(() => resolve(Date.now())));
        });
        observer.observe(document.body, { subtree: true, childList: true, attributes: true });
        setTimeout(() => reject(new Error(late as string)), wait_ms as number);
      }),
    [WAIT_MS, LATE] as const,
  );
  // The observer must stand before the line is sent.
  await page.evaluate(() => 0);
  const sentAt_epochMs = await bench.goOver();
  return { sentAt_epochMs, shownAt_epochMs: await shown };
}

interface Bench {
  readonly path: string;
  isOver: boolean;
  /** Wall clock just before the first line over the limit was written. */
  goOver(): Promise<number>;
  stop(): Promise<void>;
}

/** A bench that keeps its pace by the clock: what was late is sent at once. */
async function startBench(): Promise<Bench> {
  const pty = await openPty();
  const encoder = new BenchLineEncoder();
  const random = noise(1);
  const table = tableOfBench();
  const raw = new Int32Array(columns.length);
  const began_ms = performance.now();
  let frame = 0;
  let isOver = false;
  let onOver: ((at_epochMs: number) => void) | null = null;
  const sendTable = (t_us: number): void => {
    encoder.identity(table.identity, t_us);
    for (const group of table.groups) encoder.group(table.identity.layout, group, t_us);
    for (const channel of table.channels) encoder.channel(table.identity.layout, channel, t_us);
    for (const input of table.inputs) encoder.input(table.identity.layout, input, t_us);
  };
  const beat = setInterval(() => {
    const due = Math.floor(((performance.now() - began_ms) / 1000) * RATE_Hz);
    while (frame < due) {
      frame++;
      const t_us = frame * (1e6 / RATE_Hz);
      if (frame % (4 * RATE_Hz) === 1) sendTable(t_us);
      if (frame % RATE_Hz === 2) {
        for (const { input, key } of inputRows) encoder.event(input, key === 'starter' ? 0 : 1, t_us);
      }
      columns.forEach(([key, , , , value, spread], i) => {
        raw[i] = Math.round(
          (key === 'aux1' ? (isOver ? 900 : 300) : value) + (key === 'aux1' ? 20 : spread) * random(),
        );
      });
      encoder.samples(1, t_us, raw, columns.length);
    }
    const bytes = encoder.take();
    if (bytes.length === 0) return;
    if (isOver && onOver !== null) {
      onOver(Date.now());
      onOver = null;
    }
    pty.write(bytes);
  }, 5);
  return {
    path: pty.path,
    get isOver() {
      return isOver;
    },
    set isOver(is) {
      isOver = is;
    },
    goOver() {
      isOver = true;
      return new Promise((resolve) => {
        onOver = resolve;
      });
    },
    async stop() {
      clearInterval(beat);
      await pty.close();
    },
  };
}

async function openRun(page: Page, url: string): Promise<Page> {
  await page.addInitScript(() => {
    localStorage.setItem('runstand.settings', JSON.stringify({ noticeRead: '1' }));
    const longTasks_ms: number[] = [];
    Object.assign(window, { longTasks_ms });
    new PerformanceObserver((list) => {
      for (const entry of list.getEntries()) longTasks_ms.push(entry.duration);
    }).observe({ entryTypes: ['longtask'] });
  });
  await page.goto(url);
  await page.getByTestId('board-live').getByTestId('value-rpm').waitFor();
  // Until the alarms of the first seconds have come.
  await pause(3000);
  return page;
}

/** A second page that asks for a replay's end again and again, and acknowledges: the row goes when its alarm does. */
async function keepReading(url: string, end_us: number) {
  const { port, hash } = new URL(url);
  const token = hash.replace('#token=', '');
  const socket = new WebSocket(`ws://127.0.0.1:${port}/bridge?token=${token}`, { origin: `http://127.0.0.1:${port}` });
  await new Promise((resolve, reject) => socket.once('open', resolve).once('error', reject));
  let isOn = true;
  let folded = 0;
  let id = 0;
  let latency: LatencyHealth | null = null;
  const stamps: AlarmStamp[] = [];
  const waiting = new Map<number, (isOk: boolean) => void>();
  const ask = (method: string, params: unknown): Promise<boolean> =>
    new Promise((resolve) => {
      waiting.set(++id, resolve);
      socket.send(encodeWire({ type: 'request', id, method, params } as RendererMessage));
    });
  socket.on('message', (data: Buffer) => {
    const decoded = decodeWire(new Uint8Array(data));
    if (!decoded.ok) return;
    const message = decoded.value as HostMessage;
    if (message.type === 'reply') waiting.get(message.id)?.(message.result.ok);
    if (message.type !== 'snapshot' || message.snapshot.stream !== 'live') return;
    latency = message.snapshot.latency;
    const stamp = message.snapshot.alarmStamp;
    if (stamp !== null && stamp.change !== stamps.at(-1)?.change) stamps.push(stamp);
    const isNew = message.snapshot.alarms.some(
      (each) => each.id === 'latency' && each.state === 'returned-unacknowledged',
    );
    if (isNew) void ask('operator', { by: 'operator 1', action: { kind: 'acknowledge', alarmId: 'latency' } });
  });
  void (async () => {
    while (isOn) {
      const isOpen = await ask('replay.open', { id: SESSION });
      if (!isOpen || !(await ask('replay.seek', { t_us: end_us }))) throw new Error('the replay could not be opened');
      folded++;
    }
  })();
  return {
    stamps: stamps as readonly AlarmStamp[],
    latency: () => latency,
    folded: () => folded,
    stop() {
      isOn = false;
      socket.close();
    },
  };
}

function p99Of(values: readonly number[]): number {
  return percentile(
    [...values].sort((a, b) => a - b),
    0.99,
  );
}

function pause(ms: number): Promise<void> {
  return new Promise((resolve) => setTimeout(resolve, ms));
}

function argument(args: readonly string[], name: string, usual: number): number {
  const given = args.find((each) => each.startsWith(`${name}=`))?.slice(name.length + 1);
  const value = given === undefined ? usual : Number(given);
  if (!(value > 0)) throw new RangeError(`${name}: expected a number above 0, got ${given}`);
  return value;
}
