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
import { Acquisition } from './acquisition.ts';
import type { ByteSource } from './byte-source.ts';
import { systemClock } from './clock.ts';
import { emptySnapshot } from './empty-snapshot.ts';
import type { OutputsSeat } from './outputs.ts';
import { Page, type RequestMessage } from './page.ts';
import { PageStream } from './page-stream.ts';
import { PageWatch } from './page-watch.ts';
import { BacktestClient } from './reading/backtest-client.ts';
import { BacktestRoom } from './reading/backtest-room.ts';
import { ReadingClient } from './reading/reading-client.ts';
import { type Reading, type ReadingRequest, ReadingRoom, type ReadingShow } from './reading/reading-room.ts';
import { RigDesk } from './rig-desk.ts';
import { RigFolder } from './rig-folder.ts';
import { listPorts } from './serial/ports.ts';
import { SessionFiles } from './session-files.ts';
import { SessionShelf } from './session-shelf.ts';
import { lessonSheetOf } from './simulated-rig.ts';
import { type SourceChoice, sourceOf } from './source-choice.ts';
import { MemoryStore } from './store/memory-store.ts';
import type { SessionStore } from './store/store-contract.ts';
import { openStoreOrSetAside } from './store-at-start.ts';
import { TakeInDesk } from './take-in-desk.ts';
import { TrainingDesk } from './training/training-desk.ts';

export type { SourceChoice };

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
  readonly #stream: PageStream;
  /** While nobody can see the engine, outputs are locked. */
  readonly #watch = new PageWatch<Page>((why) => this.#acquisition?.outputs.pageGone(why));
  readonly #reading: Reading;
  /** Looks at the database after the start; null before and after. */
  #checking: Reading | null = null;
  readonly #backtests: Pick<BacktestRoom, 'ask' | 'close'>;
  readonly #desk: TrainingDesk;
  readonly #rigDesk: RigDesk;
  readonly #shelf: SessionShelf;
  readonly #files: SessionFiles;
  readonly #takeIn: TakeInDesk;
  readonly #timers: ReturnType<typeof setInterval>[] = [];
  #acquisition: Acquisition | null = null;
  #handedOut = new Set<string>();
  #jobs: readonly JobView[] = [];

  constructor(options: HostOptions) {
    this.#options = options;
    this.#exportsFolder = options.exportsFolder ?? join(options.dataFolder, 'exports');
    const opened = openStoreOrSetAside(options.dataFolder, new Date(systemClock.now_epochMs()));
    this.#store = opened.store;
    this.#troubles.push(...opened.troubles);
    this.#rigs = new RigFolder(options.dataFolder);
    if (this.#rigs.trouble !== null) this.#troubles.push(this.#rigs.trouble);
    for (const each of this.#troubles) options.log(`${each.sentence} ${each.remedy}`);
    this.#stream = new PageStream({
      layout: () => this.#liveLayout(),
      snapshot: () => this.#liveSnapshot(),
      takeDisplay: () => this.#acquisition?.takeDisplay() ?? null,
    });
    const show = (message: ReadingShow): void => this.#fromReading(message);
    this.#reading = this.#newReading(show);
    this.#backtests =
      this.#store instanceof MemoryStore ? new BacktestRoom(this.#store) : new BacktestClient(options.dataFolder);
    this.#desk = this.#deskOf();
    const now_epochMs = (): number => systemClock.now_epochMs();
    this.#rigDesk = new RigDesk(this.#rigs, {
      acquisition: () => this.#acquisition,
      sheetTakesEffect: () => this.#rigTakesEffect(),
      now_epochMs,
      log: options.log,
    });
    this.#shelf = new SessionShelf(this.#store, now_epochMs, options.log);
    this.#files = new SessionFiles(this.#exportsFolder, () => this.#newReading());
    this.#takeIn = new TakeInDesk({
      dataFolder: options.dataFolder,
      store: this.#store,
      isRecording: () => this.#acquisition !== null,
      newReading: () => this.#newReading(),
      now_epochMs,
      log: options.log,
    });
    void this.#use(options.source);
    this.#timers.push(
      setInterval(() => this.#shelf.prune(), PRUNE_EVERY_MS),
      setTimeout(() => void this.#check(), CHECK_AFTER_MS),
    );
    this.#shelf.prune();
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
        this.#stream.remove(page);
        this.#watch.gone(page);
      },
      log: this.#options.log,
    });
    this.#watch.opened(page);
    this.#stream.add(page);
  }

  windowSeen(isSeen: boolean): void {
    for (const page of this.#stream.pages) this.#watch.says(page, isSeen);
  }

  exportPath(name: string): string | null {
    return basename(name) === name && this.#handedOut.has(name) ? join(this.#exportsFolder, name) : null;
  }

  async close(): Promise<void> {
    for (const timer of this.#timers) clearInterval(timer);
    this.#stream.stop();
    this.#watch.close();
    this.#desk.leave('the end of the workbench');
    await this.#acquisition?.close();
    await Promise.all([
      this.#reading.close(),
      this.#checking?.close(),
      this.#backtests.close(),
      this.#files.close(),
      this.#takeIn.close(),
    ]);
    this.#stream.close();
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

  #fromReading(message: ReadingShow): void {
    if (message.type !== 'jobs') {
      this.#stream.replay(message);
      return;
    }
    this.#jobs = message.jobs;
    this.#stream.snapshot();
  }

  // --------------------------------------------------------------- requests --

  async #request(request: RequestMessage, page: Page): Promise<Result<unknown, BridgeError>> {
    switch (request.method) {
      case 'source.ports':
        return ok(await listPorts());
      case 'source.use':
        return this.#use(request.params);
      case 'rig.get':
      case 'rig.save':
      case 'rig.versions':
      case 'rig.version':
      case 'rig.sniff':
      case 'rig.lines':
        return this.#rigDesk.ask(request);
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
      case 'sessions.list':
      case 'sessions.keep':
      case 'sessions.note':
      case 'sessions.tags':
      case 'sessions.bin':
        return this.#shelf.ask(request);
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
      case 'export.session':
      case 'sessions.verify': {
        const done = await this.#files.ask(request);
        if (!done.ok || request.method === 'sessions.verify') return done;
        return ok(this.#handOut(done.value as { path: string; bytes: number }));
      }
      case 'export.cancel': {
        const { kind, id } = request.params;
        if (kind === 'session' || kind === 'verify') {
          await this.#files.cancel(kind, id);
          return ok(null);
        }
        return this.#reading.ask({ method: 'export.cancel', params: { kind, id } });
      }
      case 'takein.begin':
      case 'takein.part':
      case 'takein.end':
      case 'takein.cancel':
        return this.#takeIn.ask(request);
      case 'replay.close':
        this.#stream.replayClosed();
        return this.#reading.ask(request);
      case 'replay.open':
        this.#stream.forgetLayout('replay');
        return this.#reading.ask(request);
      case 'view':
      case 'sessions.channels':
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

  /** Nothing runs on the old sheet any more. */
  #rigTakesEffect(): void {
    if (this.#rigs.trouble === null) this.#troubles = this.#troubles.filter((each) => each.id !== 'rig-sheet');
    this.#stream.forgetLayout('live');
  }

  async #use(choice: SourceChoice): Promise<Result<null, BridgeError>> {
    const chosen = sourceOf(choice, this.#rigs.current, this.#options.log);
    if (!chosen.ok) return chosen;
    this.#desk.leave('another source');
    if (chosen.value !== null) {
      const { source, ...more } = chosen.value;
      await this.#begin(source, more);
      return ok(null);
    }
    const before = this.#acquisition;
    this.#acquisition = null;
    await before?.close();
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
      onUrgent: () => this.#stream.urgent(),
      onArrived: () => this.#stream.arrived(),
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

  /** What is held in memory can be read only from here; a file is read by a worker of its own. */
  #newReading(show: (message: ReadingShow) => void = () => {}): Reading {
    return this.#store instanceof MemoryStore
      ? new ReadingRoom(this.#store, this.#exportsFolder, show)
      : new ReadingClient(this.#options.dataFolder, this.#exportsFolder, show);
  }

  async #check(): Promise<void> {
    // In a worker of its own: a look at every page of a long recording takes seconds, and views do not wait for it.
    const reading = this.#newReading();
    this.#checking = reading;
    const checked = await reading.ask({ method: 'check', params: {} });
    await reading.close();
    this.#checking = null;
    if (checked.ok || checked.error.kind !== 'disk') return;
    const { sentence, remedy } = checked.error;
    this.#troubles.push({ id: 'database-check', sentence, remedy });
    this.#options.log(`${sentence} ${remedy}`);
  }
}
