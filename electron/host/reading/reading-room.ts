/**
 * Long reads, away from acquisition: replay, views of recorded series, CSV
 * and reports. Runs in a worker with its own read connection (`worker.ts`),
 * or in the caller's thread in tests.
 */
import { join } from 'node:path';
import { err, ok, type Result } from '../../../shared-core/base/result.ts';
import type { BridgeError, ExportedFile, HostMessage, SeriesView } from '../../../shared-core/bridge/contract.ts';
import { writeCsv } from '../export/csv.ts';
import { writeReport } from '../export/report-file.ts';
import { wordsOf } from '../store/error-words.ts';
import type { SessionStore, StoreError } from '../store/store-contract.ts';
import { FoldedSession } from './folded-session.ts';
import { ReplayPlayer } from './replay-player.ts';

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
  | { readonly method: 'export.csv' | 'export.report'; readonly params: { id: string } };

/** The reading room, or the worker that it is in. */
export interface Reading {
  ask(request: ReadingRequest): Promise<Result<unknown, BridgeError>>;
  close(): Promise<void>;
}

/** Folded sessions kept; one being recorded and one being reviewed. */
const KEPT_FOLDS = 2;

export class ReadingRoom implements Reading {
  readonly #store: SessionStore;
  readonly #exportsFolder: string;
  readonly #show: (message: HostMessage) => void;
  #folds: FoldedSession[] = [];
  #player: ReplayPlayer | null = null;

  constructor(store: SessionStore, exportsFolder: string, show: (message: HostMessage) => void) {
    this.#store = store;
    this.#exportsFolder = exportsFolder;
    this.#show = show;
  }

  async ask(request: ReadingRequest): Promise<Result<unknown, BridgeError>> {
    switch (request.method) {
      case 'view':
        return this.#view(request.params);
      case 'replay.open':
        return this.#open(request.params.id);
      case 'replay.play':
        return this.#withPlayer((player) => player.play(request.params.speed));
      case 'replay.pause':
        return this.#withPlayer((player) => player.pause());
      case 'replay.seek':
        return this.#withPlayer((player) => player.seek(request.params.t_us));
      case 'replay.close':
        this.#player?.close();
        this.#player = null;
        return ok(null);
      case 'export.csv': {
        const { id } = request.params;
        return this.#exported(await writeCsv(this.#store, id, join(this.#exportsFolder, `${id}.csv`)));
      }
      case 'export.report': {
        const { id } = request.params;
        return this.#exported(await writeReport(this.#store, id, join(this.#exportsFolder, `${id}.html`)));
      }
    }
  }

  async close(): Promise<void> {
    this.#player?.close();
    this.#player = null;
  }

  #view(params: {
    session: string;
    channels: string[];
    from_us: number;
    to_us: number;
    pixels: number;
  }): Result<SeriesView[], BridgeError> {
    const fold = this.#foldOf(params.session);
    if (!fold.ok) return err(worded(fold.error));
    const updated = fold.value.update();
    if (!updated.ok) return err(worded(updated.error));
    const series = fold.value.view(params.channels, params.from_us, params.to_us, params.pixels);
    return series.ok ? ok(series.value) : err(worded(series.error));
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
    const session = this.#store.load(id);
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

  #exported(done: Result<{ path: string; bytes: number }, StoreError>): Result<ExportedFile, BridgeError> {
    return done.ok ? ok({ ...done.value, href: null }) : err(worded(done.error));
  }
}

function worded(error: StoreError): BridgeError {
  return { kind: error.kind === 'session-not-found' ? 'not-found' : 'disk', ...wordsOf(error) };
}
