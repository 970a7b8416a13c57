/**
 * Replays a recorded session through a pipeline of its own, at 1x to 50x, and
 * shows it on the stream `replay` exactly as the live stream would.
 */
import type { DisplayBatch, Layout, Snapshot } from '../../../shared-core/bridge/contract.ts';
import { DisplaySteps } from '../../../shared-core/channels/display-steps.ts';
import type { JournalInput, JournalSink } from '../../../shared-core/journal.ts';
import { type LineCounts, noCounts } from '../../../shared-core/line/messages.ts';
import { Pipeline } from '../../../shared-core/pipeline.ts';
import { layoutOf, snapshotOf } from '../snapshot.ts';
import type { SessionStore, StoredSession } from '../store/store-contract.ts';

export interface PlayerEvents {
  onSnapshot(snapshot: Snapshot, layout: Layout): void;
  onDisplay(batch: DisplayBatch): void;
}

type Entry =
  | {
      readonly kind: 'frame';
      readonly ord: number;
      readonly t_us: number;
      readonly group: number;
      readonly raw: Int32Array;
    }
  | { readonly kind: 'tick'; readonly ord: number; readonly t_us: number }
  | { readonly kind: 'event'; readonly ord: number; readonly t_us: number; readonly body: JournalInput };

const STEP_MS = 50;
/** A session that is being recorded is looked at so often for what has come since. */
const GROW_EVERY_MS = 1000;
const SNAPSHOT_EVERY_MS = 200;
/** Journal read ahead of the play head. */
const AHEAD_US = 3_000_000;
/**
 * Session time folded between two looks at the clock while seeking. The fold
 * has a memory (alarms, run state, totals), so there is nowhere to begin it but
 * at the beginning: going forward costs what lies between, going back all that
 * is before, at some hundred times real time. The page shows how far it is;
 * what it draws of the past comes from views, which cost nothing of this.
 */
const SEEK_SLICE_US = 20_000_000;

export class ReplayPlayer {
  readonly #store: SessionStore;
  readonly #session: StoredSession;
  readonly #events: PlayerEvents;
  #duration_us: number;
  #isGrowing: boolean;
  #growth: ReturnType<typeof setInterval> | null = null;
  #pipeline: Pipeline;
  #display = new DisplaySteps('replay');
  #queue: Entry[] = [];
  #queueFrom = 0;
  #nextOrd = 0;
  #isAtEnd = false;
  #head_us = 0;
  #speed = 1;
  #isPlaying = false;
  #progress: number | null = null;
  #counts: LineCounts | null = null;
  #timer: ReturnType<typeof setInterval> | null = null;
  #sinceSnapshot_ms = 0;
  /** A newer seek makes an older one give up. */
  #seekNumber = 0;
  /** Layout numbers must differ between two pipelines of one player. */
  #generation = 0;

  constructor(store: SessionStore, session: StoredSession, events: PlayerEvents) {
    this.#store = store;
    this.#session = session;
    this.#events = events;
    this.#duration_us = session.row.duration_us;
    this.#isGrowing = session.row.isOpen;
    this.#pipeline = this.#newPipeline();
    if (this.#isGrowing) this.#growth = setInterval(() => this.#grow(), GROW_EVERY_MS);
  }

  play(speed: number): void {
    this.#speed = speed;
    if (this.#head_us >= this.#duration_us) this.#restart();
    this.#isPlaying = true;
    this.#timer ??= setInterval(() => this.#step(), STEP_MS);
    this.#snapshot();
  }

  pause(): void {
    this.#isPlaying = false;
    if (this.#timer !== null) clearInterval(this.#timer);
    this.#timer = null;
    this.#snapshot();
  }

  /** Goes to `t_us`, folding what lies between; backwards from the beginning. */
  async seek(t_us: number): Promise<void> {
    const number = ++this.#seekNumber;
    const target_us = Math.min(Math.max(0, t_us), this.#duration_us);
    if (target_us < this.#head_us) this.#restart();
    const from_us = this.#head_us;
    while (this.#head_us < target_us) {
      this.#advance(Math.min(target_us, this.#head_us + SEEK_SLICE_US));
      // Steps made on the way are not shown: the page draws the past from views.
      this.#display = new DisplaySteps('replay');
      this.#progress = target_us > from_us ? (this.#head_us - from_us) / (target_us - from_us) : null;
      await new Promise((resolve) => setImmediate(resolve));
      if (number !== this.#seekNumber) return;
    }
    this.#advance(target_us);
    this.#progress = null;
    this.#snapshot();
    // Also while paused: the values of the moment that was gone to.
    this.#events.onDisplay({
      ...this.#display.take(this.#pipeline, Date.now()),
      layoutVersion: this.#layoutVersion(),
    });
  }

  close(): void {
    this.#seekNumber += 1;
    if (this.#timer !== null) clearInterval(this.#timer);
    this.#timer = null;
    this.#stopGrowing();
  }

  layout(): Layout {
    const layout = layoutOf('replay', this.#pipeline, this.#session.rig);
    return { ...layout, layoutVersion: this.#layoutVersion() };
  }

  /** What was recorded since belongs to the replay, too. */
  #grow(): void {
    const found = this.#store.tables(this.#session.row.id);
    // Let go of meanwhile: what was read of it can still be looked at.
    if (!found.ok) {
      this.#stopGrowing();
      return;
    }
    const { row } = found.value;
    const hasGrown = row.duration_us > this.#duration_us;
    this.#duration_us = Math.max(this.#duration_us, row.duration_us);
    this.#isGrowing = row.isOpen;
    if (hasGrown) this.#isAtEnd = false;
    if (!row.isOpen) this.#stopGrowing();
    if (hasGrown || !row.isOpen) this.#snapshot();
  }

  #stopGrowing(): void {
    if (this.#growth !== null) clearInterval(this.#growth);
    this.#growth = null;
  }

  #layoutVersion(): number {
    return this.#generation * 1000 + this.#pipeline.layoutVersion;
  }

  #newPipeline(): Pipeline {
    this.#generation += 1;
    return new Pipeline(this.#session.rig, {
      onValues: (t_us, view) => this.#display.add(t_us, view),
      onOutput: () => {},
    });
  }

  #restart(): void {
    this.#pipeline = this.#newPipeline();
    this.#display = new DisplaySteps('replay');
    this.#queue = [];
    this.#queueFrom = 0;
    this.#nextOrd = 0;
    this.#isAtEnd = false;
    this.#head_us = 0;
    this.#counts = null;
  }

  #step(): void {
    this.#advance(Math.min(this.#duration_us, this.#head_us + STEP_MS * 1000 * this.#speed));
    const batch = this.#display.take(this.#pipeline, Date.now());
    this.#sinceSnapshot_ms += STEP_MS;
    if (this.#sinceSnapshot_ms >= SNAPSHOT_EVERY_MS) this.#snapshot();
    this.#events.onDisplay({ ...batch, layoutVersion: this.#layoutVersion() });
    if (this.#head_us >= this.#duration_us) this.pause();
  }

  /** Folds all entries up to and including `to_us`. */
  #advance(to_us: number): void {
    for (;;) {
      if (this.#queueFrom >= this.#queue.length && !this.#fill(to_us)) break;
      const entry = this.#queue[this.#queueFrom]!;
      if (entry.t_us > to_us) break;
      this.#queueFrom += 1;
      if (entry.kind === 'frame') this.#pipeline.frame(entry.ord, entry.t_us, entry.group, entry.raw, entry.raw.length);
      else if (entry.kind === 'tick') this.#pipeline.tick(entry.ord, entry.t_us);
      else {
        if (entry.body.kind === 'counts') this.#counts = entry.body.counts;
        this.#pipeline.event(entry.ord, entry.t_us, entry.body);
      }
    }
    this.#head_us = to_us;
  }

  /** Reads on; false at the end of the session. */
  #fill(to_us: number): boolean {
    if (this.#isAtEnd) return false;
    this.#queue = [];
    this.#queueFrom = 0;
    const queue = this.#queue;
    const sink: JournalSink = {
      frame: (ord, t_us, group, raw, columns) =>
        queue.push({ kind: 'frame', ord, t_us, group, raw: raw.slice(0, columns) }),
      tick: (ord, t_us) => queue.push({ kind: 'tick', ord, t_us }),
      event: (ord, t_us, body) => queue.push({ kind: 'event', ord, t_us, body }),
    };
    const until_us = Math.max(to_us, this.#head_us) + AHEAD_US;
    let isCut = false;
    const done = this.#store.replay(this.#session.row.id, sink, {
      fromOrd: this.#nextOrd,
      shouldStop: (t_us) => {
        isCut = t_us > until_us;
        return isCut;
      },
    });
    if (!done.ok || !isCut) this.#isAtEnd = true;
    const last = queue.at(-1);
    if (last === undefined) return false;
    this.#nextOrd = last.ord + 1;
    return true;
  }

  #snapshot(): void {
    this.#sinceSnapshot_ms = 0;
    const row = this.#session.row;
    const counts = this.#counts;
    this.#events.onSnapshot(
      {
        ...snapshotOf(this.#pipeline),
        layoutVersion: this.#layoutVersion(),
        now_us: this.#head_us,
        stream: 'replay',
        provenance: 'REPLAY',
        alarmStamp: null,
        latency: null,
        session: {
          id: row.id,
          startedAt_epochMs: row.startedAt_epochMs,
          source: row.provenance === 'SIMULATED' ? 'simulator' : 'port',
          detail: row.detail,
        },
        source: {
          kind: 'none',
          name: row.id,
          state: 'open',
          sentence: `Replaying session ${row.id}${row.provenance === 'SIMULATED' ? ' (simulated)' : ''}.`,
          remedy: '',
          attempts: 0,
          nextAttemptIn_ms: null,
        },
        link: {
          linesPerSecond: Number.NaN,
          bytesPerSecond: Number.NaN,
          counts: counts ?? noCounts(),
          loss_percent: counts === null ? 0 : (100 * counts.missing) / Math.max(1, counts.accepted + counts.missing),
          drift_ppm: Number.NaN,
          silentFor_ms: 0,
          lastFault: null,
          hostLatency_ms: Number.NaN,
        },
        recorder: {
          state: 'stopped',
          sentence: '',
          remedy: '',
          sessionBytes: row.bytes,
          freeBytes: this.#store.freeBytes(),
          forecast_h: null,
          held_s: 0,
          lastCommit_epochMs: 0,
        },
        outputs: { live: false, kept: false, why: '', liveFor_s: 0, falls_s: null, commands: [] },
        jobs: [],
        troubles: row.breakNote === '' ? [] : [{ id: 'break', sentence: row.breakNote, remedy: '' }],
        simulator: null,
        training: null,
        replay: {
          sessionId: row.id,
          duration_us: this.#duration_us,
          isGrowing: this.#isGrowing,
          isPlaying: this.#isPlaying,
          speed: this.#speed,
          progress: this.#progress,
        },
      },
      this.layout(),
    );
  }
}
