/**
 * Replays a recorded session through a pipeline of its own, at 1x to 200x, and
 * shows it on the stream `replay` exactly as the live stream would.
 */
import type { DisplayBatch, Layout, Snapshot } from '../../../shared-core/bridge/contract.ts';
import type { Channel } from '../../../shared-core/channels/channel.ts';
import { DisplaySteps } from '../../../shared-core/channels/display-steps.ts';
import type { JournalInput, JournalSink } from '../../../shared-core/journal.ts';
import { type LineCounts, noCounts } from '../../../shared-core/line/messages.ts';
import { Pipeline } from '../../../shared-core/pipeline.ts';
import type { PipelineView } from '../../../shared-core/pipeline-contract.ts';
import { layoutOf, snapshotOf } from '../snapshot.ts';
import { KEYFRAME_EVERY_US, type Keyframe, packKeyframe, unpackKeyframe } from '../store/keyframe.ts';
import type { SessionStore, StoredTables } from '../store/store-contract.ts';

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
 * has a memory (alarms, run state, totals); it goes on from the last keyframe
 * before the target (`store/keyframe.ts`), and where the session has none, from
 * the beginning, at about a thousand times real time, keeping keyframes of its
 * own on the way. The page shows how far it is; what it draws of the past comes
 * from views, which cost nothing of this.
 */
const SEEK_SLICE_US = 20_000_000;

export class ReplayPlayer {
  readonly #store: SessionStore;
  readonly #session: Pick<StoredTables, 'row' | 'rig'>;
  readonly #events: PlayerEvents;
  #duration_us: number;
  #isGrowing: boolean;
  #growth: ReturnType<typeof setInterval> | null = null;
  readonly #observer = {
    onValues: (t_us: number, view: PipelineView) => this.#display.add(t_us, view),
    onOutput: () => {},
  };
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
  /** Channel lists so far, as JSON: the same list keeps its number, whichever pipeline shows it. */
  readonly #layouts: string[] = [];
  #layoutOf: { readonly channels: readonly Channel[]; readonly version: number } | null = null;
  /** Keyframes of our own, where the session has none that fit; rising. */
  readonly #kept: Keyframe[] = [];
  #hasStored = true;

  constructor(store: SessionStore, session: Pick<StoredTables, 'row' | 'rig'>, events: PlayerEvents) {
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
    this.#comeNear(target_us);
    const from_us = this.#head_us;
    let shown_ms = performance.now();
    while (this.#head_us < target_us) {
      this.#advance(Math.min(target_us, this.#head_us + SEEK_SLICE_US));
      // Steps made on the way are not shown: the page draws the past from views.
      this.#display = new DisplaySteps('replay');
      this.#keep();
      this.#progress = target_us > from_us ? (this.#head_us - from_us) / (target_us - from_us) : null;
      if (performance.now() - shown_ms >= SNAPSHOT_EVERY_MS) {
        this.#snapshot();
        shown_ms = performance.now();
      }
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
    const { channels } = this.#pipeline.values;
    if (this.#layoutOf?.channels !== channels) {
      const text = JSON.stringify(channels);
      if (!this.#layouts.includes(text)) this.#layouts.push(text);
      this.#layoutOf = { channels, version: 1 + this.#layouts.indexOf(text) };
    }
    return this.#layoutOf.version;
  }

  #newPipeline(): Pipeline {
    return new Pipeline(this.#session.rig, this.#observer);
  }

  /** Puts the fold where the least is left to fold up to `target_us`. */
  #comeNear(target_us: number): void {
    const isBack = target_us < this.#head_us;
    const own = this.#kept.findLast((each) => each.t_us <= target_us) ?? null;
    if (own !== null && (isBack || own.t_us > this.#head_us) && this.#standAt(own)) return;
    if (this.#hasStored) {
      const stored = this.#store.keyframeBefore(this.#session.row.id, target_us);
      const keyframe = stored.ok ? stored.value : null;
      if (keyframe !== null && (isBack || keyframe.t_us > this.#head_us)) {
        if (this.#standAt(keyframe)) return;
        this.#hasStored = false;
      }
    }
    if (isBack) this.#restart();
  }

  /** Goes on from a keyframe; false where it does not fit. */
  #standAt(keyframe: Keyframe): boolean {
    const { rig, row } = this.#session;
    const saved = unpackKeyframe(keyframe);
    if (saved === null) return false;
    const past = this.#store.events(row.id, { only: ['operator', 'point'], toOrd: keyframe.ord });
    const counts = this.#store.events(row.id, { only: ['counts'], toOrd: keyframe.ord, isNewest: true });
    if (!past.ok || !counts.ok) return false;
    const pipeline = Pipeline.restored(rig, saved, past.value, this.#observer);
    if (pipeline === null) return false;
    this.#restart(pipeline);
    this.#nextOrd = keyframe.ord + 1;
    this.#head_us = keyframe.t_us;
    const noted = counts.value[0]?.body;
    this.#counts = noted?.kind === 'counts' ? noted.counts : null;
    return true;
  }

  /** Where the session brought no keyframe that fits, one is kept each ten minutes that are folded. */
  #keep(): void {
    const last_us = this.#kept.at(-1)?.t_us ?? 0;
    if (this.#head_us - last_us < 1.5 * KEYFRAME_EVERY_US) return;
    const stored = this.#hasStored ? this.#store.keyframeBefore(this.#session.row.id, this.#head_us) : null;
    if (stored?.ok && stored.value !== null && this.#head_us - stored.value.t_us < 1.5 * KEYFRAME_EVERY_US) return;
    const next = this.#queue[this.#queueFrom];
    this.#kept.push(packKeyframe((next?.ord ?? this.#nextOrd) - 1, this.#head_us, this.#pipeline.save()));
  }

  #restart(pipeline = this.#newPipeline()): void {
    this.#pipeline = pipeline;
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
