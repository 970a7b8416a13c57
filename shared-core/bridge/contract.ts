/**
 * The one typed contract between host and renderer. Carriers (MessagePort,
 * WebSocket, in-memory) move `HostMessage` and `RendererMessage` unchanged and
 * in order; `wire.ts` turns them into bytes where a carrier needs bytes; the
 * zod schemas by which each edge checks what arrives are in `schema.ts`.
 *
 * Times are session microseconds (`_us`) or wall clock (`_epochMs`).
 */

import type { Advisory } from '../advisory/plans.ts';
import type { Result } from '../base/result.ts';
import type { Channel, ChannelKey } from '../channels/channel.ts';
import type { CapturedPoint, JournalEvent, OperatorAction } from '../journal.ts';
import type { SessionBackTest } from '../limits/back-test.ts';
import type { Flood } from '../limits/flood.ts';
import type { Alarm, AlarmLevel, LimitRule, SetAsideAlarm } from '../limits/rules.ts';
import type { BenchCommand, FaultKind, Identity, LineCounts } from '../line/messages.ts';
import type { EngineHours } from '../pipeline/host-facts.ts';
import type { DiscreteInput, RunClock, StarterDuty } from '../pipeline-contract.ts';
import type { StartLists } from '../program/checklist-ticks.ts';
import type { RigSheet } from '../rig/rig-sheet.ts';
import type { Debrief } from '../training/debrief.ts';
import type { LessonMode } from '../training/lesson.ts';
import type { TrainingRecord } from '../training/record.ts';
import type { StandHandAct } from '../training/training-event.ts';
import type { TrainingView } from '../training/training-view.ts';

export const CONTRACT_VERSION = 1;

/** Live acquisition, or a recording being replayed beside it. */
export type StreamName = 'live' | 'replay';

/** Stands on every view, export and report. */
export type Provenance = 'LIVE' | 'SIMULATED' | 'REPLAY';

// ---------------------------------------------------------------- carrier --

/** A two-way, ordered, lossless carrier. `post` never throws after close: it does nothing. */
export interface Carrier<Out, In> {
  post(message: Out): void;
  onMessage(handler: (message: In) => void): void;
  onClose(handler: () => void): void;
  close(): void;
}
export type HostCarrier = Carrier<HostMessage, RendererMessage>;
export type RendererCarrier = Carrier<RendererMessage, HostMessage>;

// ------------------------------------------------------------ host -> page --

export type HostMessage =
  | {
      readonly type: 'hello';
      readonly contract: number;
      readonly appVersion: string;
      readonly door: 'browser' | 'desktop' | 'memory';
      /** Shown on first run and in About. */
      readonly notice: string;
    }
  | { readonly type: 'layout'; readonly layout: Layout }
  | { readonly type: 'snapshot'; readonly snapshot: Snapshot }
  | { readonly type: 'display'; readonly batch: DisplayBatch }
  | { readonly type: 'reply'; readonly id: number; readonly result: Result<unknown, BridgeError> };

export interface BridgeError {
  /** Stable word for code: `not-found`, `invalid`, `refused`, `busy`, `disk`, `port`. */
  readonly kind: string;
  /** What happened and what was kept, then what to do. Plain sentences. */
  readonly sentence: string;
  readonly remedy: string;
}

/** A limit as drawn on scales and plots. */
export interface LimitMark {
  readonly channel: ChannelKey;
  readonly level: AlarmLevel;
  readonly direction: 'high' | 'low';
  readonly value: number;
  readonly title: string;
}

/** Sent before the first snapshot of a stream, and whenever the channel list changes. */
export interface Layout {
  readonly stream: StreamName;
  readonly layoutVersion: number;
  readonly channels: readonly Channel[];
  readonly limits: readonly LimitMark[];
  readonly rig: RigSheet;
}

/**
 * All slow state of a stream; sent on change, at most five times a second, and at least once a second. A change of
 * alarms or advisories is sent at once.
 */
export interface Snapshot {
  readonly stream: StreamName;
  readonly provenance: Provenance;
  readonly layoutVersion: number;
  readonly now_us: number;
  readonly session: SessionHead | null;
  readonly source: SourceView;
  readonly link: LinkHealth;
  readonly recorder: RecorderHealth;
  readonly identity: Identity | null;
  readonly inputs: readonly DiscreteInput[];
  readonly run: RunClock;
  readonly starter: StarterDuty;
  readonly alarms: readonly Alarm[];
  /** Shelved and out of service: not among `alarms`, never out of sight. */
  readonly setAside: readonly SetAsideAlarm[];
  /** Present flood; null without one. */
  readonly flood: Flood | null;
  /** Level that should sound now; null for silence. Notices make no sound. */
  readonly sound: AlarmLevel | null;
  /** Session time at which the operator's silence ends; null without one. */
  readonly silencedUntil_us: number | null;
  readonly hours: EngineHours;
  /** Way of the newest change of alarms or advisories; null before any, and on stream `replay`. */
  readonly alarmStamp: AlarmStamp | null;
  /** As the pages report it; null on stream `replay`. */
  readonly latency: LatencyHealth | null;
  /** Aborts first, the leading one first; cool-downs (`kind`) after them. They open no red band. */
  readonly advisories: readonly Advisory[];
  readonly marks: readonly { readonly t_us: number; readonly text: string; readonly by: string }[];
  readonly points: readonly CapturedPoint[];
  readonly checklistDone: readonly string[];
  /** The starter stays off while items are open and nobody has recorded why. */
  readonly startLists: StartLists;
  readonly outputs: OutputsView;
  /** What the operator must know of the host itself: a database set aside, a rig sheet refused. */
  readonly troubles: readonly Trouble[];
  /** Exports under way. */
  readonly jobs: readonly JobView[];
  /** Only while the source is the simulator. */
  readonly simulator: SimulatorView | null;
  /** Only while a lesson is under way or its end has not been put aside. */
  readonly training: TrainingView | null;
  /** Only on stream `replay`. */
  readonly replay: ReplayView | null;
}

/**
 * Time stamps of one change of the alarms, host wall clock. The page that has painted it says so with
 * `latency.shown`; its clock is that of the same machine.
 */
export interface AlarmStamp {
  /** Counts the changes. */
  readonly change: number;
  /** The byte that completed the line had arrived. */
  readonly arrivedAt_epochMs: number;
  readonly judgedAt_epochMs: number;
  readonly postedAt_epochMs: number;
}

/** Byte to screen, of the last 200 changes of alarms that pages have shown. NaN where none was. */
export interface LatencyHealth {
  readonly shown: number;
  readonly p50_ms: number;
  readonly p99_ms: number;
  readonly worst_ms: number;
  /** Byte to hand-over to the carrier, of the newest change. */
  readonly posted_ms: number;
}

export interface Trouble {
  readonly id: string;
  readonly sentence: string;
  readonly remedy: string;
}

export interface SessionHead {
  readonly id: string;
  readonly startedAt_epochMs: number;
  readonly source: 'port' | 'simulator';
  readonly detail: string;
}

export interface SourceView {
  readonly kind: 'port' | 'simulator' | 'none';
  /** Port path or scenario title. */
  readonly name: string;
  readonly state: 'opening' | 'open' | 'silent' | 'waiting' | 'closed';
  /** One plain sentence about the state, and what to do if anything. */
  readonly sentence: string;
  readonly remedy: string;
  readonly attempts: number;
  readonly nextAttemptIn_ms: number | null;
}

export interface LinkHealth {
  readonly linesPerSecond: number;
  readonly bytesPerSecond: number;
  readonly counts: LineCounts;
  /** Missing over sent, last 60 s, in percent. */
  readonly loss_percent: number;
  /** Bench clock against host clock, parts per million; NaN until known. */
  readonly drift_ppm: number;
  readonly silentFor_ms: number;
  readonly lastFault: { readonly kind: FaultKind; readonly excerpt: string } | null;
  /** Byte arrival to hand-over to the carrier, last batch of values, ms. */
  readonly hostLatency_ms: number;
}

export interface RecorderHealth {
  readonly state: 'recording' | 'holding' | 'stopped';
  /** What is wrong and what to do, or empty. */
  readonly sentence: string;
  readonly remedy: string;
  readonly sessionBytes: number;
  readonly freeBytes: number;
  /** Hours until the disk is full at the rate of the last minutes; null while that is not known. */
  readonly forecast_h: number | null;
  /** Seconds of data held in memory because they cannot be written; 0 when all is written. */
  readonly held_s: number;
  readonly lastCommit_epochMs: number;
}

export interface OutputsView {
  readonly live: boolean;
  /** Locked while an advisory runs, but the lease is kept for the engine that runs: nothing can be switched on. */
  readonly kept: boolean;
  /** What made it live or locked it last, in words; empty before the first time. */
  readonly why: string;
  /** Why no command can be sent to this bench at all; absent where they can. */
  readonly unavailable?: string | undefined;
  readonly liveFor_s: number;
  /** Until it falls back for want of commands; null where nothing counts down. */
  readonly falls_s: number | null;
  /** Newest last, at most 20. */
  readonly commands: readonly CommandRecord[];
}

export interface CommandRecord {
  readonly id: string;
  readonly command: BenchCommand;
  readonly by: string;
  readonly sentAt_us: number;
  readonly outcome: 'sent' | 'accepted' | 'refused' | 'unanswered';
  /** The bench's reason in words, or empty. */
  readonly reason: string;
}

export interface SimulatorView {
  readonly scenario: string;
  readonly title: string;
  readonly seed: number;
  readonly speed: number;
  readonly time_s: number;
  readonly isPaused: boolean;
  /** Empty in an assessment, whatever is in. */
  readonly activeFaults: readonly string[];
  /** False once a host lease has made the simulated person stand back. */
  readonly handsOn: boolean;
}

export interface ReplayView {
  readonly sessionId: string;
  /** As far as it is recorded: it goes up while `isGrowing`. */
  readonly duration_us: number;
  /** The session is still being recorded. */
  readonly isGrowing: boolean;
  readonly isPlaying: boolean;
  readonly speed: number;
  /** 0 to 1 while opening or seeking; null when ready. */
  readonly progress: number | null;
}

/**
 * One display step: what each channel did since the step before. Sent about
 * 30 times a second and only against a credit; without one, steps are merged
 * (minimum, maximum, last) and `merged` says how many went into this one.
 * Arrays have one place per channel ordinal of the layout.
 */
export interface DisplayBatch {
  readonly stream: StreamName;
  readonly layoutVersion: number;
  readonly from_us: number;
  readonly to_us: number;
  readonly merged: number;
  /** NaN where the channel had no good sample in the step. */
  readonly min: Float64Array;
  readonly max: Float64Array;
  readonly last: Float64Array;
  readonly quality: Uint8Array;
  /** Session time of each channel's last sample, −1 for never. */
  readonly updated_us: Float64Array;
  /** Host wall clock when the newest byte in it arrived. */
  readonly arrivedAt_epochMs: number;
}

// ------------------------------------------------------------ page -> host --

export type RendererMessage =
  | { readonly type: 'credit'; readonly stream: StreamName; readonly count: number }
  | {
      readonly [M in Method]: {
        readonly type: 'request';
        readonly id: number;
        readonly method: M;
        readonly params: Requests[M]['params'];
      };
    }[Method];

export interface PortInfo {
  readonly path: string;
  /** "USB serial, maker, serial number", as far as known. */
  readonly description: string;
}

export interface ScenarioInfo {
  readonly id: string;
  readonly title: string;
  readonly brief: string;
}

export interface FaultInfo {
  readonly id: string;
  readonly title: string;
  readonly effect: string;
  /** What betrays it on the channels, in words. */
  readonly trace: string;
  /** What can be set when it is put in; `severity` (0 to 1) and `ramp_s` where it is graded. */
  readonly parameters: readonly FaultParameterInfo[];
}

export interface FaultParameterInfo {
  readonly key: string;
  readonly label: string;
  readonly unit: string;
  readonly usual: number;
  readonly low: number;
  readonly high: number;
}

/** A lesson as it is offered; nothing in it gives a fault away. */
export interface LessonInfo {
  readonly id: string;
  readonly title: string;
  readonly summary: string;
  readonly brief: readonly string[];
  readonly minutes: number;
  readonly modes: readonly LessonMode[];
  readonly pass: number;
  /** How it is scored, in plain words. */
  readonly rules: readonly { readonly words: string; readonly points: number; readonly kind: 'gained' | 'lost' }[];
}

/** What only the instructor looks at. */
export interface InstructorView {
  readonly faults: readonly { readonly id: string; readonly level: number }[];
  readonly checkpoints: readonly CheckpointInfo[];
}

export interface CheckpointInfo {
  readonly id: string;
  readonly name: string;
  /** Simulated time. */
  readonly time_s: number;
}

export interface RunRow {
  readonly run: number;
  readonly from_us: number;
  /** Null while it runs, or where the session broke off. */
  readonly to_us: number | null;
  readonly peakSpeed_rpm: number | null;
}

export interface SessionRow {
  readonly id: string;
  readonly startedAt_epochMs: number;
  readonly duration_us: number;
  readonly provenance: 'LIVE' | 'SIMULATED';
  readonly rigName: string;
  readonly rigVersion: number;
  /** Name of the engine in that rig sheet. */
  readonly engine: string;
  readonly detail: string;
  readonly runs: readonly RunRow[];
  readonly alarms: number;
  readonly aborts: number;
  readonly marks: number;
  readonly isKept: boolean;
  readonly isOpen: boolean;
  /** "broke off: host ended at …" or empty. */
  readonly breakNote: string;
  readonly note: string;
  readonly bytes: number;
  readonly tags: readonly string[];
  /** When it was put into the bin, or null; 30 days later it is let go. */
  readonly binnedAt_epochMs: number | null;
}

/** Minimum and maximum per pixel column; NaN columns are gaps. */
export interface SeriesView {
  readonly channel: ChannelKey;
  readonly from_us: number;
  readonly to_us: number;
  /** Length = columns; time of the column's start. */
  readonly t_us: Float64Array;
  readonly min: Float64Array;
  readonly max: Float64Array;
}

/** What goes into a CSV or Parquet file; absent fields mean all, calibrated, ten rows a second. */
export interface ExportOptions {
  /** `raw`: as the bench sent it, in its own unit, before calibration. */
  readonly values?: 'calibrated' | 'raw' | undefined;
  readonly channels?: ChannelKey[] | undefined;
  readonly from_us?: number | undefined;
  readonly to_us?: number | undefined;
  /** Rows per second, or `all` for a row per line of the fastest group. */
  readonly rate_Hz?: number | 'all' | undefined;
}

/** Long work of the host that a page may show and cancel. */
export interface JobView {
  readonly session: string;
  readonly kind: 'csv' | 'parquet';
  /** 0 to 1. */
  readonly done: number;
}

export interface ExportedFile {
  readonly path: string;
  readonly bytes: number;
  /** Where the browser door serves it for download, else null. */
  readonly href: string | null;
}

/** Whether a recording is whole and unaltered. */
export interface SessionProof {
  readonly isWhole: boolean;
  readonly blocks: number;
  readonly frames: number;
  readonly events: number;
  /** Where not, in words; the first hundred at most. */
  readonly findings: readonly string[];
}

/** A session that came with a file that was taken in. */
export interface TakenSession {
  readonly id: string;
  /** It was in the library before, the same in every number. */
  readonly wasThere: boolean;
}

/** What came on a port while it was listened to. */
export interface PortCapture {
  /** As they came, at most 128 KiB: what `proposeProfile` takes. */
  readonly bytes: Uint8Array;
  /** The first 500 lines, each cut at 512 characters, one byte a character. */
  readonly lines: readonly string[];
  readonly listened_s: number;
  /** More came than is kept; `listened_s` is then the time until it was full. */
  readonly isCut: boolean;
}

/** One line of the bench as it came, and what became of it. */
export interface HeardLine {
  /** Counts up; a gap means that lines were let go. */
  readonly n: number;
  readonly at_epochMs: number;
  /** At most 512 characters, one byte each; unprintable ones as a dot. */
  readonly text: string;
  /** `passed`: neither used nor a fault, such as a header or the rest of a line cut off when the port was opened. */
  readonly outcome: 'used' | 'passed' | FaultKind;
  /** Lines found missing before it by its running number. */
  readonly missing: number;
}

/** One saved version of the present rig sheet. */
export interface RigVersionRow {
  readonly version: number;
  /** 0 where the sheet does not say. */
  readonly at_epochMs: number;
  readonly by: string;
  readonly change: string;
  /** Why its file cannot be read, or empty. */
  readonly trouble: string;
  readonly isCurrent: boolean;
}

/** A back-test: rules tried on recordings. */
export interface BacktestView {
  readonly id: string;
  readonly state: 'running' | 'done' | 'cancelled' | 'failed';
  /** 0 to 1 over all sessions. */
  readonly progress: number;
  /** Session under way. */
  readonly session: string | null;
  /** Why it failed, or which session could not be read. */
  readonly sentence: string;
  /** Sessions that are done. */
  readonly results: readonly SessionBackTest[];
}

/** Every request a renderer can make, with its answer. Errors are `BridgeError`. */
export interface Requests {
  'source.ports': { params: Record<string, never>; value: { ports: PortInfo[]; note: string } };
  'source.use': {
    params: /** With `profile`, the bench is read by the profile in the rig sheet, and only listened to. */
      | { kind: 'port'; path: string; baud: number; profile?: boolean | undefined }
      | { kind: 'simulator'; scenario: string; seed: number; speed: number }
      | { kind: 'none' };
    value: null;
  };
  /** The sheet saved last. `inForce` is the version of the running session, null while there is none. */
  'rig.get': { params: Record<string, never>; value: { rig: RigSheet; inForce: number | null } };
  /**
   * Saves an edited sheet as the next version; `sheet.version` is still the one that it was edited from. In force from
   * the next session, as `sentence` says. Errors: `invalid` with every finding, `conflict`, `disk`.
   */
  'rig.save': {
    params: { sheet: RigSheet; by: string; change: string };
    value: { version: number; sentence: string };
  };
  /** Newest first. */
  'rig.versions': { params: Record<string, never>; value: { versions: readonly RigVersionRow[] } };
  'rig.version': { params: { version: number }; value: RigSheet };
  /** Listens and answers when the time is over. Refused for the port in use. */
  'rig.sniff': { params: { path: string; baud: number; seconds: number }; value: PortCapture };
  /** The last 200 lines at most, from number `since` on; `next` is the number to ask from. Begins with the first asking. */
  'rig.lines': { params: { since: number }; value: { lines: readonly HeardLine[]; next: number } };
  'sim.catalogue': { params: Record<string, never>; value: { scenarios: ScenarioInfo[]; faults: FaultInfo[] } };
  'sim.fault': {
    params: { fault: string; on: boolean; options?: Record<string, number> | undefined; by?: string | undefined };
    value: null;
  };
  'sim.speed': { params: { speed: number }; value: null };
  'sim.pause': { params: Record<string, never>; value: null };
  'sim.resume': { params: Record<string, never>; value: null };
  'sim.checkpoint': { params: { name?: string | undefined }; value: { id: string } };
  /** Begins a new session, paused, with the stand as it was then; it says which session it was rewound from. */
  'sim.rewind': { params: { checkpoint: string }; value: { session: string } };
  /** Asks the person at the simulated stand for something. Refused where it had no effect. */
  'sim.act': { params: { by: string; action: StandHandAct }; value: null };
  'train.lessons': { params: Record<string, never>; value: { lessons: readonly LessonInfo[] } };
  /** Begins a new session on the simulator. `lesson` may be `by-lot` in an assessment. */
  'train.start': {
    params: {
      lesson: string;
      mode: LessonMode;
      trainee: string;
      speed?: number | undefined;
      seed?: number | undefined;
      /** The instructor's, in an assessment; kept hashed for its time. */
      word?: string | undefined;
    };
    value: { session: string };
  };
  /** Ends the lesson; the simulation goes on. Of a lesson that is over, puts its end aside. */
  'train.stop': { params: { by: string }; value: null };
  /** Of any session with a lesson in it, made from its recording. Refused for an assessment under way. */
  'train.debrief': { params: { sessionId: string }; value: Debrief };
  /** Newest first. `unreadable` lines of the file are kept as they are, and counted. */
  'train.records': {
    params: Record<string, never>;
    value: { records: readonly TrainingRecord[]; unreadable: number };
  };
  'train.export': { params: Record<string, never>; value: ExportedFile };
  /** With all else of the instructor's, refused in an assessment to a page that has not opened the panel. */
  'train.instructor': { params: Record<string, never>; value: InstructorView };
  /** Opens the instructor's panel in this page for the time of an assessment; the record tells. No security. */
  'train.seat': { params: { by: string; word?: string | undefined }; value: null };
  operator: { params: { by: string; action: OperatorAction }; value: null };
  'outputs.live': { params: { by: string; live: boolean }; value: null };
  'outputs.command': { params: { by: string; command: BenchCommand }; value: { id: string } };
  /**
   * Hold or let go of the starter. A hold lasts 500 ms from its arrival: the page repeats it (every 150 ms) for as
   * long as the button is pressed, so that a page that hangs lets go. The host repeats the command to the bench, and
   * lets go by itself when the duty rule says so. `press` numbers the press of the button, drawn anew for each: a
   * press that has ended is not taken up again, unless it only lapsed and is said again within a second.
   */
  'outputs.starter': { params: { by: string; held: boolean; press: number }; value: null };
  /** Whether this page can be seen. A page counts as seen until it says otherwise. */
  'page.seen': { params: { seen: boolean }; value: null };
  /** Newest first; those in the bin only when asked for. */
  'sessions.list': { params: { includeBinned?: boolean | undefined }; value: SessionRow[] };
  'sessions.keep': { params: { id: string; keep: boolean }; value: null };
  'sessions.note': { params: { id: string; note: string }; value: null };
  /** In place of those before. */
  'sessions.tags': { params: { id: string; tags: string[] }; value: null };
  /** Into the bin, or out of it again. Refused while it is being recorded or kept by hand. */
  'sessions.bin': { params: { id: string; binned: boolean }; value: null };
  /** In their order; with `fromOrd` only those from there on, for a session that is still being recorded. */
  'sessions.events': { params: { id: string; fromOrd?: number | undefined }; value: JournalEvent[] };
  /** Of its first channel table, derived ones behind; empty where the bench never sent one. */
  'sessions.channels': { params: { id: string }; value: Channel[] };
  /** `session` may be the id of the one being recorded. Any channel of its layout, derived ones too. */
  view: {
    params: { session: string; channels: ChannelKey[]; from_us: number; to_us: number; pixels: number };
    value: SeriesView[];
  };
  /** A page has painted the alarms of stamp `change`. At most once per change and page. */
  'latency.shown': {
    params: { change: number; arrivedAt_epochMs: number; shownAt_epochMs: number };
    value: null;
  };
  /** Tries rules on recordings, beside all else. A rule with an id of the session's sheet replaces that one. One at a time: a new one cancels the old. */
  'backtest.start': { params: { sessions: string[]; rules: LimitRule[] }; value: { id: string } };
  'backtest.cancel': { params: { id: string }; value: null };
  /** How far it is, and what has been found so far; to be asked a few times a second. */
  'backtest.result': { params: { id: string }; value: BacktestView };
  'replay.open': { params: { id: string }; value: null };
  'replay.play': { params: { speed: number }; value: null };
  'replay.pause': { params: Record<string, never>; value: null };
  'replay.seek': { params: { t_us: number }; value: null };
  'replay.close': { params: Record<string, never>; value: null };
  'export.csv': { params: { id: string; options?: ExportOptions | undefined }; value: ExportedFile };
  'export.parquet': { params: { id: string; options?: ExportOptions | undefined }; value: ExportedFile };
  'export.report': { params: { id: string }; value: ExportedFile };
  /** Ends a CSV or Parquet export under way; its own request is then answered with `cancelled`. No file is left. */
  /** The session as a file of its own, exactly as it is recorded, for `takein.begin` elsewhere. */
  'export.session': { params: { id: string }; value: ExportedFile };
  /** Reads all of the recording. */
  'sessions.verify': { params: { id: string }; value: SessionProof };
  /** Ends an export, or a look at a whole recording. */
  'export.cancel': { params: { id: string; kind: 'csv' | 'parquet' | 'session' | 'verify' }; value: null };
  /**
   * Taking in a session file, which comes in parts, in order, each after the answer to the one before. Errors: `refused`
   * while a session is recorded; `busy` while another is taken in; `disk` without room for it.
   */
  'takein.begin': { params: { name: string; bytes: number }; value: { upload: string; partBytes: number } };
  'takein.part': { params: { upload: string; at: number; part: Uint8Array }; value: null };
  /** Every session in it is verified, then taken in; or nothing is. Errors: `invalid`, `disk`, `refused`, `cancelled`. */
  'takein.end': { params: { upload: string }; value: { sessions: TakenSession[] } };
  'takein.cancel': { params: { upload: string }; value: null };
}
export type Method = keyof Requests;
