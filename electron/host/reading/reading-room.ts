/**
 * Long reads, away from acquisition: replay, views of recorded series, CSV
 * and reports. Runs in a worker with its own read connection (`worker.ts`),
 * or in the caller's thread in tests.
 */
import { rmSync } from 'node:fs';
import { join } from 'node:path';
import { err, ok, type Result } from '../../../shared-core/base/result.ts';
import type {
  BridgeError,
  ExportedFile,
  ExportOptions,
  HostMessage,
  JobView,
  SeriesView,
  SessionProof,
} from '../../../shared-core/bridge/contract.ts';
import type { Channel } from '../../../shared-core/channels/channel.ts';
import { channelsOfTable } from '../../../shared-core/channels/channel-list.ts';
import type { JournalSink } from '../../../shared-core/journal.ts';
import { derivedChannelsOf } from '../../../shared-core/pipeline/derived-list.ts';
import type { Debrief } from '../../../shared-core/training/debrief.ts';
import { SessionDebrief } from '../../../shared-core/training/session-debrief.ts';
import { writeCsv } from '../export/csv.ts';
import { writeParquet } from '../export/parquet.ts';
import { writeReport } from '../export/report-file.ts';
import { type RowOptions, rowErrorWords } from '../export/rows.ts';
import { wordsOf } from '../store/error-words.ts';
import { exportSession, verifyFile } from '../store/session-file.ts';
import { SqliteStore } from '../store/sqlite-store.ts';
import type { SessionStore, StoreError } from '../store/store-contract.ts';
import { FoldedSession } from './folded-session.ts';
import { ReplayPlayer } from './replay-player.ts';
import { SessionViews } from './session-views.ts';

/** What may be asked of the reading room; a subset of the bridge's requests. */
export type ReadingRequest =
  | {
      readonly method: 'view';
      readonly params: { session: string; channels: string[]; from_us: number; to_us: number; pixels: number };
    }
  | { readonly method: 'replay.open'; readonly params: { id: string } }
  | { readonly method: 'replay.play'; readonly params: { speed: number } }
  | { readonly method: 'replay.pause' | 'replay.close'; readonly params: Record<string, never> }
  | { readonly method: 'replay.seek'; readonly params: { t_us: number } }
  | {
      readonly method: 'export.csv' | 'export.parquet';
      readonly params: { id: string; options?: ExportOptions | undefined };
    }
  | { readonly method: 'export.cancel'; readonly params: { id: string; kind: 'csv' | 'parquet' } }
  | { readonly method: 'export.report'; readonly params: { id: string } }
  | { readonly method: 'export.session'; readonly params: { id: string } }
  | { readonly method: 'sessions.verify'; readonly params: { id: string } }
  /** Whether every session in a session file is whole; `name` is how its owner knows it. */
  | { readonly method: 'file.verify'; readonly params: { path: string; name: string } }
  /** Looks at every page of the database: at the start of the host, out of the way of acquisition. */
  | { readonly method: 'check'; readonly params: Record<string, never> }
  | { readonly method: 'sessions.channels'; readonly params: { id: string } }
  | { readonly method: 'sessions.events'; readonly params: { id: string; fromOrd?: number | undefined } }
  | { readonly method: 'train.debrief'; readonly params: { sessionId: string } };

/** What the reading room shows by itself: the replay, and how far its exports are. */
export type ReadingShow = HostMessage | { readonly type: 'jobs'; readonly jobs: readonly JobView[] };

/** The reading room, or the worker that it is in. */
export interface Reading {
  ask(request: ReadingRequest): Promise<Result<unknown, BridgeError>>;
  close(): Promise<void>;
}

type ViewParams = Extract<ReadingRequest, { method: 'view' }>['params'];

/** Counters and clocks come by the ten thousand, and no page shows them. */
const SILENT_KINDS = ['counts', 'clock', 'latency'] as const;

/** Of a session file. */
export const SESSION_FILE_EXTENSION = '.runstand';
/** Where a recording is not whole: more than anyone reads. */
const MOST_FINDINGS = 100;

/** Folded sessions kept; one being recorded and one being reviewed. */
const KEPT_FOLDS = 2;

export class ReadingRoom implements Reading {
  readonly #store: SessionStore;
  readonly #exportsFolder: string;
  readonly #show: (message: ReadingShow) => void;
  #folds: FoldedSession[] = [];
  #views: SessionViews[] = [];
  readonly #viewTurns = new Map<string, number>();
  #player: ReplayPlayer | null = null;
  readonly #jobs = new Map<string, JobView>();
  readonly #cancelled = new Set<string>();

  constructor(store: SessionStore, exportsFolder: string, show: (message: ReadingShow) => void) {
    this.#store = store;
    this.#exportsFolder = exportsFolder;
    this.#show = show;
  }

  async ask(request: ReadingRequest): Promise<Result<unknown, BridgeError>> {
    switch (request.method) {
      case 'view':
        return this.#newestView(request.params);
      case 'replay.open':
        return this.#open(request.params.id);
      case 'replay.play':
        return this.#withPlayer((player) => player.play(request.params.speed));
      case 'train.debrief':
        return this.#debrief(request.params.sessionId);
      case 'replay.pause':
        return this.#withPlayer((player) => player.pause());
      case 'replay.seek':
        return this.#withPlayer((player) => player.seek(request.params.t_us));
      case 'replay.close':
        this.#player?.close();
        this.#player = null;
        return ok(null);
      case 'check': {
        const checked = this.#store.check();
        return checked.ok ? checked : err(worded(checked.error));
      }
      case 'sessions.channels': {
        const found = firstChannels(this.#store, request.params.id);
        return found.ok ? found : err(worded(found.error));
      }
      case 'sessions.events': {
        const { id, fromOrd = 0 } = request.params;
        const events = this.#store.events(id, { without: SILENT_KINDS, fromOrd });
        return events.ok ? events : err(worded(events.error));
      }
      case 'export.csv':
        return this.#rows('csv', request.params.id, request.params.options ?? {});
      case 'export.parquet':
        return this.#rows('parquet', request.params.id, request.params.options ?? {});
      case 'export.cancel':
        this.#cancelled.add(`${request.params.kind} ${request.params.id}`);
        return ok(null);
      case 'export.report': {
        const { id } = request.params;
        return this.#exported(await writeReport(this.#store, id, join(this.#exportsFolder, `${id}.html`)));
      }
      case 'export.session':
        return this.#copyOut(request.params.id);
      case 'sessions.verify': {
        const verified = this.#store.verify(request.params.id);
        if (!verified.ok) return err(worded(verified.error));
        const { findings } = verified.value;
        return ok({ ...verified.value, findings: findings.slice(0, MOST_FINDINGS) } satisfies SessionProof);
      }
      case 'file.verify':
        return this.#verifyFile(request.params.path, request.params.name);
    }
  }

  #copyOut(id: string): Result<ExportedFile, BridgeError> {
    if (!(this.#store instanceof SqliteStore)) {
      return err({
        kind: 'refused',
        sentence: 'This session is held in memory only, so that there is no recording to copy out.',
        remedy: 'Export it as CSV or Parquet before Runstand ends.',
      });
    }
    const path = join(this.#exportsFolder, `${id}${SESSION_FILE_EXTENSION}`);
    // One that was copied out before is of an earlier moment.
    rmSync(path, { force: true });
    const done = exportSession(this.#store, id, path);
    return this.#exported(done.ok ? ok({ path, bytes: done.value.bytes }) : done);
  }

  #verifyFile(path: string, name: string): Result<readonly { readonly id: string }[], BridgeError> {
    const verified = verifyFile(path);
    if (verified.ok) return verified;
    const { error } = verified;
    if (error.kind === 'not-a-database' || error.kind === 'foreign-database') {
      return err({
        kind: 'invalid',
        sentence: `${name} is not a session file. Nothing was taken in.`,
        remedy: 'Choose a file that "Session file" in a log book has written.',
      });
    }
    const { sentence, remedy } = wordsOf('path' in error ? { ...error, path: name } : error);
    return err({ kind: 'invalid', sentence: `${sentence} Nothing was taken in.`, remedy });
  }

  /** The lesson of a session followed again over its recording. */
  #debrief(id: string): Result<Debrief, BridgeError> {
    const session = this.#store.load(id);
    if (!session.ok) return err(worded(session.error));
    const fold = new SessionDebrief(session.value.rig);
    const done = this.#store.replay(id, fold, { shouldStop: () => fold.isOver });
    if (!done.ok) return err(worded(done.error));
    const result = fold.result();
    if (typeof result !== 'string') return ok(result);
    return err({
      kind: 'not-found',
      sentence:
        result === 'no-lesson'
          ? 'There is no lesson in this session.'
          : 'This session holds a lesson that this version does not know.',
      remedy: 'It can be reviewed like any other session.',
    });
  }

  async close(): Promise<void> {
    this.#player?.close();
    this.#player = null;
  }

  /** Of the views that a plot asked for in the meantime only the last is read. */
  async #newestView(params: ViewParams): Promise<Result<SeriesView[], BridgeError>> {
    const plot = `${params.session} ${params.pixels} ${params.channels.join()}`;
    const turn = (this.#viewTurns.get(plot) ?? 0) + 1;
    this.#viewTurns.set(plot, turn);
    // Lets in what else has come.
    await new Promise((resolve) => setImmediate(resolve));
    if (this.#viewTurns.get(plot) !== turn) {
      return err({ kind: 'superseded', sentence: 'A newer view of this plot was asked for.', remedy: '' });
    }
    this.#viewTurns.delete(plot);
    return this.#view(params);
  }

  #view(params: ViewParams): Result<SeriesView[], BridgeError> {
    const views = this.#viewsOf(params.session);
    if (!views.ok) return err(worded(views.error));
    if (views.value !== null) {
      const series = views.value.view(params.channels, params.from_us, params.to_us, params.pixels);
      if (!series.ok) return err(worded(series.error));
      if (series.value !== null) return ok(series.value);
    }
    const fold = this.#foldOf(params.session);
    if (!fold.ok) return err(worded(fold.error));
    const updated = fold.value.update();
    if (!updated.ok) return err(worded(updated.error));
    const series = fold.value.view(params.channels, params.from_us, params.to_us, params.pixels);
    return series.ok ? ok(series.value) : err(worded(series.error));
  }

  /** Null for a session that is folded instead. */
  #viewsOf(id: string): Result<SessionViews | null, StoreError> {
    const kept = this.#views.find((each) => each.id === id);
    if (kept !== undefined) {
      const found = this.#store.tables(id);
      if (!found.ok) return found;
      return ok(kept.isOf(found.value.tables) ? kept : null);
    }
    const made = SessionViews.of(this.#store, id);
    if (made.ok && made.value !== null) this.#views = [made.value, ...this.#views].slice(0, KEPT_FOLDS);
    return made;
  }

  #foldOf(id: string): Result<FoldedSession, StoreError> {
    const kept = this.#folds.find((each) => each.id === id);
    if (kept !== undefined) return ok(kept);
    const session = this.#store.load(id);
    if (!session.ok) return err(session.error);
    const fold = new FoldedSession(this.#store, id, session.value.rig);
    this.#folds = [fold, ...this.#folds].slice(0, KEPT_FOLDS);
    return ok(fold);
  }

  async #open(id: string): Promise<Result<null, BridgeError>> {
    const session = this.#store.tables(id);
    if (!session.ok) return err(worded(session.error));
    this.#player?.close();
    const player = new ReplayPlayer(this.#store, session.value, {
      onSnapshot: (snapshot, layout) => {
        this.#show({ type: 'layout', layout });
        this.#show({ type: 'snapshot', snapshot });
      },
      onDisplay: (batch) => this.#show({ type: 'display', batch }),
    });
    this.#player = player;
    // The first seconds bring the channel table: the board has something to show.
    await player.seek(Math.min(2_000_000, session.value.row.duration_us));
    return ok(null);
  }

  async #withPlayer(act: (player: ReplayPlayer) => void | Promise<void>): Promise<Result<null, BridgeError>> {
    if (this.#player === null) {
      return err({
        kind: 'refused',
        sentence: 'No session is open for replay.',
        remedy: 'Open one in Review or Logbook.',
      });
    }
    await act(this.#player);
    return ok(null);
  }

  async #rows(kind: 'csv' | 'parquet', id: string, options: ExportOptions): Promise<Result<ExportedFile, BridgeError>> {
    const name = `${kind} ${id}`;
    if (this.#jobs.has(name)) {
      return err({
        kind: 'busy',
        sentence: 'This export is being written already.',
        remedy: 'Wait until it is done, or cancel it.',
      });
    }
    this.#cancelled.delete(name);
    this.#tellJobs(name, { session: id, kind, done: 0 });
    const write = kind === 'csv' ? writeCsv : writeParquet;
    const done = await write(this.#store, id, join(this.#exportsFolder, `${id}.${kind}`), given(options), {
      onProgress: (part) => this.#tellJobs(name, { session: id, kind, done: part }),
      isCancelled: () => this.#cancelled.has(name),
    });
    this.#tellJobs(name, null);
    if (done.ok) return ok({ path: done.value.path, bytes: done.value.bytes, href: null });
    const errorKind =
      done.error.kind === 'cancelled' ? 'cancelled' : done.error.kind === 'session-not-found' ? 'not-found' : 'disk';
    return err({ kind: errorKind, ...rowErrorWords(done.error) });
  }

  #tellJobs(name: string, job: JobView | null): void {
    if (job === null) this.#jobs.delete(name);
    else this.#jobs.set(name, job);
    this.#show({ type: 'jobs', jobs: [...this.#jobs.values()] });
  }

  #exported(done: Result<{ path: string; bytes: number }, StoreError>): Result<ExportedFile, BridgeError> {
    return done.ok ? ok({ ...done.value, href: null }) : err(worded(done.error));
  }
}

/** Reads no further than the first channel table. */
function firstChannels(store: SessionStore, id: string): Result<Channel[], StoreError> {
  let channels: Channel[] | null = null;
  const sink: JournalSink = {
    frame() {},
    tick() {},
    event(_ord, _t_us, body) {
      if (body.kind !== 'table' || channels !== null) return;
      const bench = channelsOfTable(body.table);
      channels = [...bench, ...derivedChannelsOf(bench)];
    },
  };
  const done = store.replay(id, sink, { shouldStop: () => channels !== null });
  return done.ok ? ok(channels ?? []) : done;
}

/** Options without the fields that were not given. */
function given(options: ExportOptions): RowOptions {
  return Object.fromEntries(Object.entries(options).filter(([, value]) => value !== undefined));
}

function worded(error: StoreError): BridgeError {
  return { kind: error.kind === 'session-not-found' ? 'not-found' : 'disk', ...wordsOf(error) };
}
