/**
 * The host: one Node program that acquires, records and serves pages through
 * whichever door opened them. Knows nothing of Electron, HTTP or WebSockets.
 */
import { mkdirSync } from 'node:fs';
import { basename, join } from 'node:path';
import { err, ok, type Result } from '../../shared-core/base/result.ts';
import {
  type BridgeError,
  CONTRACT_VERSION,
  type HostCarrier,
  type HostMessage,
  type JobView,
  type Layout,
  type Snapshot,
  type Trouble,
} from '../../shared-core/bridge/contract.ts';
import type { JournalEvent } from '../../shared-core/journal.ts';
import type { LineProfile } from '../../shared-core/line/profile/line-profile.ts';
import type { RigSheet } from '../../shared-core/rig/rig-sheet.ts';
import type { Debrief } from '../../shared-core/training/debrief.ts';
import { isScenarioId, scenarios } from '../../simulator/scenarios.ts';
import { Acquisition } from './acquisition.ts';
import type { ByteSource } from './byte-source.ts';
import { systemClock } from './clock.ts';
import { emptySnapshot } from './empty-snapshot.ts';
import type { OutputsSeat } from './outputs.ts';
import { Page, type RequestMessage } from './page.ts';
import { PageWatch } from './page-watch.ts';
import { BacktestClient } from './reading/backtest-client.ts';
import { BacktestRoom } from './reading/backtest-room.ts';
import { ReadingClient } from './reading/reading-client.ts';
import { type Reading, type ReadingRequest, ReadingRoom, type ReadingShow } from './reading/reading-room.ts';
import { RigFolder } from './rig-folder.ts';
import { PortSource } from './serial/port-source.ts';
import { listPorts } from './serial/ports.ts';
import { sniffPort } from './serial/sniff.ts';
import { lessonSheetOf, simulatedRigOf } from './simulated-rig.ts';
import { SimulatorSource } from './simulator-source.ts';
import { wordsOf } from './store/error-words.ts';
import { MemoryStore } from './store/memory-store.ts';
import type { SessionStore, StoreError } from './store/store-contract.ts';
import { openStoreOrSetAside } from './store-at-start.ts';
import { TrainingDesk } from './training/training-desk.ts';

export type SourceChoice =
  | { readonly kind: 'port'; readonly path: string; readonly baud: number; readonly profile?: boolean | undefined }
  | { readonly kind: 'simulator'; readonly scenario: string; readonly seed: number; readonly speed: number }
  | { readonly kind: 'none' };

export interface HostOptions {
  readonly dataFolder: string;
  readonly source: SourceChoice;
  readonly door: 'browser' | 'desktop' | 'memory';
  readonly log: (line: string) => void;
  /** Default: `exports` in the data folder. */
  readonly exportsFolder?: string;
}

export interface Host {
  connect(carrier: HostCarrier): void;
  /** For a door with one window, whose pages cannot tell by themselves whether it can be seen. */
  windowSeen(isSeen: boolean): void;
  close(): Promise<void>;
  /** Absolute path of an export by its file name, or null. */
  exportPath(name: string): string | null;
  readonly isRecording: boolean;
}

export const APP_VERSION = '0.1.0';
export const SAFETY_NOTICE =
  'Runstand watches, records and advises. It is not the emergency stop: that is hard-wired on the stand. Local codes, the makers of engine and propeller and licensed practice come before anything that it says.';

/**
 * About thirty display steps a second, each sent on the arrival of bytes: what has just come does not wait for a timer,
 * and with the screen's own 17 ms a byte is drawn within 60 ms (tests/bench/live.ts). When nothing comes, a timer goes
 * on at this pace, so that a silent link shows. Numbers change at most five times a second.
 */
export const DISPLAY_EVERY_MS = 33;
/** An arrival this soon after a step begins the next; at 100 lines a second, every third does. */
const ARRIVAL_AFTER_MS = 27;
const SNAPSHOT_EVERY_MS = 200;
/** Snapshots of alarm changes follow at this distance at least. */
const URGENT_EVERY_MS = 20;
const PRUNE_EVERY_MS = 3_600_000;
/** Once the start is over, a large database is looked at page by page, in the reading worker. */
const CHECK_AFTER_MS = 5000;

export function startHost(options: HostOptions): Host {
  return new RunningHost(options);
}

class RunningHost implements Host {
  readonly #options: HostOptions;
  readonly #exportsFolder: string;
  readonly #rigs: RigFolder;
  readonly #store: SessionStore;
  #troubles: Trouble[] = [];
  readonly #pages = new Set<Page>();
  /** While nobody can see the engine, outputs are locked. */
  readonly #watch = new PageWatch<Page>((why) => this.#acquisition?.outputs.pageGone(why));
  readonly #reading: Reading;
  /** Looks at the database after the start; null before and after. */
  #checking: Reading | null = null;
  readonly #backtests: Pick<BacktestRoom, 'ask' | 'close'>;
  readonly #desk: TrainingDesk;
  #urgentAt_us = Number.NEGATIVE_INFINITY;
  #urgent: ReturnType<typeof setTimeout> | null = null;
  readonly #timers: ReturnType<typeof setInterval>[] = [];
  #acquisition: Acquisition | null = null;
  #replayLayout: Layout | null = null;
  #lastReplay: Snapshot | null = null;
  #handedOut = new Set<string>();
  #jobs: readonly JobView[] = [];
  #displayed_us = 0;
  #isSniffing = false;

  constructor(options: HostOptions) {
    this.#options = options;
    this.#exportsFolder = options.exportsFolder ?? join(options.dataFolder, 'exports');
    const opened = openStoreOrSetAside(options.dataFolder, new Date(systemClock.now_epochMs()));
    this.#store = opened.store;
    this.#troubles.push(...opened.troubles);
    this.#rigs = new RigFolder(options.dataFolder);
    if (this.#rigs.trouble !== null) this.#troubles.push(this.#rigs.trouble);
    for (const each of this.#troubles) options.log(`${each.sentence} ${each.remedy}`);
    const show = (message: ReadingShow): void => this.#fromReading(message);
    // What is held in memory can be read only from here; a file is read by a worker of its own.
    this.#reading =
      this.#store instanceof MemoryStore
        ? new ReadingRoom(this.#store, this.#exportsFolder, show)
        : this.#readingOf(show);
    this.#backtests =
      this.#store instanceof MemoryStore ? new BacktestRoom(this.#store) : new BacktestClient(options.dataFolder);
    this.#desk = this.#deskOf();
    void this.#use(options.source);
    this.#timers.push(
      setInterval(() => this.#displayAfter(DISPLAY_EVERY_MS), DISPLAY_EVERY_MS),
      setInterval(() => this.#snapshot(), SNAPSHOT_EVERY_MS),
      setInterval(() => this.#prune(), PRUNE_EVERY_MS),
      setTimeout(() => void this.#check(), CHECK_AFTER_MS),
    );
    this.#prune();
  }

  get isRecording(): boolean {
    return this.#acquisition?.session != null;
  }

  connect(carrier: HostCarrier): void {
    const hello: HostMessage = {
      type: 'hello',
      contract: CONTRACT_VERSION,
      appVersion: APP_VERSION,
      door: this.#options.door,
      notice: SAFETY_NOTICE,
    };
    const page: Page = new Page(carrier, hello, {
      onRequest: (request) => this.#request(request, page),
      onGone: () => {
        this.#pages.delete(page);
        this.#watch.gone(page);
      },
      log: this.#options.log,
    });
    this.#pages.add(page);
    this.#watch.opened(page);
    page.snapshot(this.#liveSnapshot(), () => this.#liveLayout());
    const layout = this.#replayLayout;
    if (this.#lastReplay !== null && layout !== null) page.snapshot(this.#lastReplay, () => layout);
  }

  windowSeen(isSeen: boolean): void {
    for (const page of this.#pages) this.#watch.says(page, isSeen);
  }

  exportPath(name: string): string | null {
    return basename(name) === name && this.#handedOut.has(name) ? join(this.#exportsFolder, name) : null;
  }

  async close(): Promise<void> {
    for (const timer of this.#timers) clearInterval(timer);
    this.#watch.close();
    this.#desk.leave('the end of the workbench');
    await this.#acquisition?.close();
    if (this.#urgent !== null) clearTimeout(this.#urgent);
    await Promise.all([this.#reading.close(), this.#checking?.close(), this.#backtests.close()]);
    for (const page of this.#pages) page.close();
    this.#store.close();
  }

  // ----------------------------------------------------------------- stream --

  #liveLayout(): Layout {
    return (
      this.#acquisition?.layout() ?? {
        stream: 'live',
        layoutVersion: 0,
        channels: [],
        limits: [],
        rig: this.#rigs.current,
      }
    );
  }

  #liveSnapshot(): Snapshot {
    const snapshot =
      this.#acquisition?.snapshot(this.#troubles) ?? emptySnapshot(this.#troubles, this.#store.freeBytes());
    return this.#desk.shown({ ...snapshot, jobs: this.#jobs });
  }

  #displayAfter(least_ms: number): void {
    const now_us = systemClock.now_us();
    if (now_us - this.#displayed_us < least_ms * 1000) return;
    this.#displayed_us = now_us;
    if (this.#acquisition === null || this.#pages.size === 0) return;
    const batch = this.#acquisition.takeDisplay();
    for (const page of this.#pages) page.display(batch);
  }

  #snapshot(): void {
    if (this.#pages.size === 0) return;
    const snapshot = this.#liveSnapshot();
    for (const page of this.#pages) page.snapshot(snapshot, () => this.#liveLayout());
  }

  /** Alarms do not wait for the round; of a flood, one snapshot each `URGENT_EVERY_MS`. */
  #showNow(): void {
    if (this.#urgent !== null) return;
    const wait_ms = URGENT_EVERY_MS - (systemClock.now_us() - this.#urgentAt_us) / 1000;
    const show = (): void => {
      this.#urgent = null;
      this.#urgentAt_us = systemClock.now_us();
      this.#snapshot();
    };
    if (wait_ms <= 0) show();
    else this.#urgent = setTimeout(show, wait_ms);
  }

  #fromReading(message: ReadingShow): void {
    if (message.type === 'jobs') {
      this.#jobs = message.jobs;
      this.#snapshot();
      return;
    }
    if (message.type === 'layout') this.#replayLayout = message.layout;
    const layout = this.#replayLayout;
    for (const page of this.#pages) {
      if (message.type === 'snapshot' && layout !== null) {
        this.#lastReplay = message.snapshot;
        page.snapshot(message.snapshot, () => layout);
      }
      if (message.type === 'display') page.display(message.batch);
    }
  }

  // --------------------------------------------------------------- requests --

  async #request(request: RequestMessage, page: Page): Promise<Result<unknown, BridgeError>> {
    switch (request.method) {
      case 'source.ports':
        return ok(await listPorts());
      case 'source.use':
        return this.#use(request.params);
      case 'rig.get':
        return ok({ rig: this.#rigs.current, inForce: this.#acquisition?.rig.version ?? null });
      case 'rig.save':
        return this.#saveRig(request.params.sheet, request.params.by, request.params.change);
      case 'rig.versions':
        return ok({ versions: this.#rigs.versions() });
      case 'rig.version':
        return this.#rigs.version(request.params.version);
      case 'rig.sniff':
        return this.#sniff(request.params);
      case 'rig.lines':
        return ok(this.#acquisition?.heardLines(request.params.since) ?? { lines: [], next: 0 });
      case 'train.lessons':
      case 'train.start':
      case 'train.stop':
      case 'train.debrief':
      case 'train.records':
      case 'train.export':
      case 'train.instructor':
      case 'train.seat':
      case 'sim.catalogue':
      case 'sim.fault':
      case 'sim.speed':
      case 'sim.pause':
      case 'sim.resume':
      case 'sim.checkpoint':
      case 'sim.rewind':
      case 'sim.act':
        return this.#desk.ask(request, page);
      case 'operator':
        return this.#withAcquisition((each) => each.operator(request.params.by, request.params.action));
      case 'latency.shown':
        this.#acquisition?.alarmsShown(request.params.change, request.params.shownAt_epochMs);
        return ok(null);
      case 'backtest.start':
      case 'backtest.cancel':
      case 'backtest.result':
        return this.#backtests.ask(request);
      case 'outputs.live':
        if (request.params.live && !this.#watch.isSeen(page)) {
          return err({
            kind: 'refused',
            sentence: 'Outputs stay locked: this page is hidden.',
            remedy: 'Bring it to the front, then go live.',
          });
        }
        return this.#withAcquisition((each) => each.outputs.setLive(request.params.live, `by ${request.params.by}`));
      case 'outputs.command':
        return this.#withAcquisition((each) => each.outputs.command(request.params.by, request.params.command));
      case 'outputs.starter':
        return this.#withAcquisition((each) => {
          const held = each.outputs.holdStarter(request.params.by, request.params.held, request.params.press);
          if (!held.ok && request.params.held) this.#desk.starterRefused(request.params.by);
          return held.ok ? ok(null) : held;
        });
      case 'page.seen':
        this.#watch.says(page, request.params.seen);
        return ok(null);
      case 'sessions.list': {
        const listed = this.#store.list({ includeBinned: request.params.includeBinned === true });
        return listed.ok ? listed : err({ kind: 'disk', ...wordsOf(listed.error) });
      }
      case 'sessions.keep':
        return stored(this.#store.keep(request.params.id, request.params.keep));
      case 'sessions.note':
        return stored(this.#store.note(request.params.id, request.params.note));
      case 'sessions.tags':
        return stored(this.#store.tags(request.params.id, request.params.tags));
      case 'sessions.bin': {
        const { id, binned } = request.params;
        const done = this.#store.bin(id, binned ? systemClock.now_epochMs() : null);
        if (done.ok) this.#options.log(`session ${id} ${binned ? 'put into the bin' : 'taken out of the bin'}`);
        return stored(done);
      }
      case 'sessions.events': {
        const read = await this.#reading.ask(request);
        if (!read.ok) return read;
        const events = read.value as readonly JournalEvent[];
        const isHidden = this.#desk.isBlind && request.params.id === this.#acquisition?.session?.id;
        return ok(isHidden ? events.filter((each) => each.side === 'out' || each.body.kind !== 'training') : events);
      }
      case 'export.csv':
      case 'export.parquet':
      case 'export.report':
        return this.#export(request);
      case 'replay.close':
        this.#lastReplay = null;
        return this.#reading.ask(request);
      case 'replay.open':
        for (const page of this.#pages) page.forgetLayout('replay');
        return this.#reading.ask(request);
      case 'view':
      case 'sessions.channels':
      case 'export.cancel':
      case 'replay.play':
      case 'replay.pause':
      case 'replay.seek':
        return this.#reading.ask(request);
    }
  }

  async #export(request: Extract<ReadingRequest, { method: 'export.csv' | 'export.parquet' | 'export.report' }>) {
    mkdirSync(this.#exportsFolder, { recursive: true });
    const done = await this.#reading.ask(request);
    if (!done.ok) return done;
    return ok(this.#handOut(done.value as { path: string; bytes: number }));
  }

  #handOut<T extends { readonly path: string; readonly bytes: number }>(file: T): T & { href: string | null } {
    const name = basename(file.path);
    this.#handedOut.add(name);
    return { ...file, href: this.#options.door === 'browser' ? `/exports/${encodeURIComponent(name)}` : null };
  }

  #saveRig(sheet: unknown, by: string, change: string): Result<{ version: number; sentence: string }, BridgeError> {
    const saved = this.#rigs.save(sheet, by, change, systemClock.now_epochMs());
    if (!saved.ok) return saved;
    const { version } = saved.value;
    this.#options.log(`rig sheet saved as version ${version} by ${by}: ${change}`);
    const running = this.#acquisition;
    if (running === null) this.#rigTakesEffect();
    return ok({
      version,
      sentence:
        running === null
          ? `Saved as version ${version}. It is in force from the next session.`
          : `Saved as version ${version}. The running session keeps version ${running.rig.version}; the new one takes effect at the next session: disconnect and connect again.`,
    });
  }

  /** Nothing runs on the old sheet any more. */
  #rigTakesEffect(): void {
    if (this.#rigs.trouble === null) this.#troubles = this.#troubles.filter((each) => each.id !== 'rig-sheet');
    for (const page of this.#pages) page.forgetLayout('live');
  }

  async #sniff(params: { path: string; baud: number; seconds: number }) {
    const source = this.#acquisition?.source;
    if (source?.kind === 'port' && source.name === params.path) {
      return err({
        kind: 'busy',
        sentence: `${params.path} is the port in use.`,
        remedy: 'Disconnect it first, then listen.',
      });
    }
    if (this.#isSniffing) {
      return err({
        kind: 'busy',
        sentence: 'A port is being listened to already.',
        remedy: 'Wait until that is done.',
      });
    }
    this.#isSniffing = true;
    try {
      return await sniffPort(params);
    } finally {
      this.#isSniffing = false;
    }
  }

  async #use(choice: SourceChoice): Promise<Result<null, BridgeError>> {
    let source: ByteSource | null = null;
    const rig = this.#rigs.current;
    const profile = choice.kind === 'port' && choice.profile === true ? rig.profile : undefined;
    if (profile === null || (choice.kind === 'port' && choice.profile === true && profile === undefined)) {
      return err({
        kind: 'invalid',
        sentence: 'The rig sheet has no profile for foreign lines.',
        remedy: 'Set one up in Rig: listen to the port, look at what is proposed, and save.',
      });
    }
    if (choice.kind === 'simulator') {
      if (!isScenarioId(choice.scenario)) {
        return err(notFound(`There is no scenario "${choice.scenario}".`));
      }
      const simulated = simulatedRigOf(rig);
      if (simulated.sentence !== '')
        this.#options.log(`the demo rig is simulated in place of the sheet's: ${simulated.sentence}`);
      const name = simulated.sentence === '' ? {} : { name: `${scenarios[choice.scenario].title}, demo rig` };
      source = new SimulatorSource({
        scenario: choice.scenario,
        seed: choice.seed,
        speed: choice.speed,
        rig: simulated.rig,
        ...name,
      });
    } else if (choice.kind === 'port') {
      source = new PortSource({ path: choice.path, baud: choice.baud });
    }
    this.#desk.leave('another source');
    if (source === null) {
      const before = this.#acquisition;
      this.#acquisition = null;
      await before?.close();
      return ok(null);
    }
    await this.#begin(source, profile === undefined ? {} : { profile });
    return ok(null);
  }

  /** Lets go of the present source and begins a session on this one. */
  async #begin(
    source: ByteSource,
    more: { readonly profile?: LineProfile; readonly seat?: OutputsSeat; readonly rig?: RigSheet },
  ): Promise<Acquisition> {
    const before = this.#acquisition;
    this.#acquisition = null;
    await before?.close();
    const acquisition: Acquisition = new Acquisition({
      source,
      rig: this.#rigs.current,
      ...more,
      store: this.#store,
      clock: systemClock,
      log: this.#options.log,
      onUrgent: () => this.#showNow(),
      onArrived: () => this.#displayAfter(ARRIVAL_AFTER_MS),
      onIdle: () => this.#desk.idle(acquisition),
    });
    this.#acquisition = acquisition;
    this.#rigTakesEffect();
    acquisition.start();
    return acquisition;
  }

  #deskOf(): TrainingDesk {
    return new TrainingDesk({
      dataFolder: this.#options.dataFolder,
      exportsFolder: this.#exportsFolder,
      acquisition: () => this.#acquisition,
      begin: (source, before) =>
        this.#begin(source, before === undefined ? { rig: lessonSheetOf(this.#rigs.current) } : before),
      recordedDebrief: async (sessionId) => {
        const made = await this.#reading.ask({ method: 'train.debrief', params: { sessionId } });
        return made as Result<Debrief, BridgeError>;
      },
      keep: (session) => {
        this.#store.keep(session, true);
      },
      handOut: (path, bytes) => this.#handOut({ path, bytes }),
      now_epochMs: () => systemClock.now_epochMs(),
      log: this.#options.log,
    });
  }

  #withAcquisition<T>(act: (acquisition: Acquisition) => Result<T, BridgeError>): Result<T, BridgeError> {
    if (this.#acquisition === null) {
      return err({
        kind: 'refused',
        sentence: 'Nothing is connected.',
        remedy: 'Connect a bench in Rig, or choose a scenario in Train.',
      });
    }
    return act(this.#acquisition);
  }

  /** Recording goes on: SQLite touches only the pages that it needs. */
  #readingOf(show: (message: ReadingShow) => void): Reading {
    return new ReadingClient(this.#options.dataFolder, this.#exportsFolder, show);
  }

  async #check(): Promise<void> {
    // In a worker of its own: a look at every page of a long recording takes seconds, and views do not wait for it.
    const isOwn = !(this.#store instanceof MemoryStore);
    const reading = isOwn ? this.#readingOf(() => {}) : this.#reading;
    if (isOwn) this.#checking = reading;
    const checked = await reading.ask({ method: 'check', params: {} });
    if (isOwn) await reading.close();
    this.#checking = null;
    if (checked.ok || checked.error.kind !== 'disk') return;
    const { sentence, remedy } = checked.error;
    this.#troubles.push({ id: 'database-check', sentence, remedy });
    this.#options.log(`${sentence} ${remedy}`);
  }

  #prune(): void {
    const pruned = this.#store.prune(systemClock.now_epochMs());
    if (pruned.ok) {
      for (const id of pruned.value)
        this.#options.log(`session ${id} let go by the retention rule: no run, no abort, not kept`);
    }
  }
}

function stored<T>(result: Result<T, StoreError>): Result<T, BridgeError> {
  if (result.ok) return result;
  const kinds: Partial<Record<StoreError['kind'], string>> = {
    'session-not-found': 'not-found',
    'session-in-use': 'refused',
  };
  return err({ kind: kinds[result.error.kind] ?? 'disk', ...wordsOf(result.error) });
}

function notFound(sentence: string): BridgeError {
  return { kind: 'not-found', sentence, remedy: 'Choose one from the list.' };
}
