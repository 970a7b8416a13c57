/**
 * One source at work: its bytes through intake and pipeline, everything to
 * the recorder, what is to be seen to the pages, commands back to the bench.
 * A session begins when the source first opens and ends when it is let go;
 * a link that drops in between is a gap in it.
 */
import { randomBytes } from 'node:crypto';
import { err, ok, type Result } from '../../shared-core/base/result.ts';
import type {
  BridgeError,
  DisplayBatch,
  Layout,
  LinkHealth,
  RecorderHealth,
  SessionHead,
  Snapshot,
  SourceView,
  Trouble,
} from '../../shared-core/bridge/contract.ts';
import { DisplaySteps } from '../../shared-core/channels/display-steps.ts';
import type { JournalInput, JournalSink, OperatorAction } from '../../shared-core/journal.ts';
import { Intake } from '../../shared-core/line/intake.ts';
import type { LineProfile } from '../../shared-core/line/profile/line-profile.ts';
import { ProfileDecoder } from '../../shared-core/line/profile/profile-decoder.ts';
import { Pipeline } from '../../shared-core/pipeline.ts';
import type { RigSheet } from '../../shared-core/rig/rig-sheet.ts';
import { LessonWatch } from '../../shared-core/training/lesson-watch.ts';
import type { TrainingEvent } from '../../shared-core/training/training-event.ts';
import { AlarmLatency } from './alarm-latency.ts';
import type { ByteSource, ByteSourceEvents, SourceStatus } from './byte-source.ts';
import type { HostClock } from './clock.ts';
import { carriedHours } from './engine-hours.ts';
import { LineTap } from './line-tap.ts';
import { Outputs, type OutputsSeat } from './outputs.ts';
import { Recorder } from './recorder.ts';
import { RecorderNotes } from './recorder-notes.ts';
import { SummaryKeeper } from './session-summary.ts';
import { SimulatorSource } from './simulator-source.ts';
import { layoutOf, linkOf, snapshotOf } from './snapshot.ts';
import type { SessionStore } from './store/store-contract.ts';

const IDLE_EVERY_MS = 20;

export interface AcquisitionParts {
  readonly source: ByteSource;
  readonly rig: RigSheet;
  /** Reads a bench that does not speak the line protocol; such a bench gets no commands. */
  readonly profile?: LineProfile;
  readonly store: SessionStore;
  readonly clock: HostClock;
  readonly log: (line: string) => void;
  /** Alarms or advisories have changed: pages are to see it now, not with the next round. */
  readonly onUrgent?: () => void;
  /** Called when bytes have come and all that they held has been folded. */
  readonly onArrived?: () => void;
  /** Called as time passes, outside the fold. */
  readonly onIdle?: () => void;
  /** Of a simulated stand that is gone back to. */
  readonly seat?: OutputsSeat;
}

export class Acquisition implements JournalSink {
  readonly source: ByteSource;
  readonly rig: RigSheet;
  readonly pipeline: Pipeline;
  readonly intake: Intake;
  readonly outputs: Outputs;
  /** The lesson in this session, if there is one. */
  readonly lesson: LessonWatch;
  readonly #parts: AcquisitionParts;
  readonly #display: DisplaySteps;
  readonly #summary = new SummaryKeeper();
  readonly #latency: AlarmLatency;
  readonly #notes = new RecorderNotes();
  readonly #tap = new LineTap();
  /** While bytes are being judged: when they came. */
  #judged_epochMs: number | null = null;
  #isUrgent = false;
  #begun_us = 0;
  #recorder: Recorder | null = null;
  #session: SessionHead | null = null;
  #status: SourceStatus = { state: 'opening', sentence: '', remedy: '', attempts: 0, nextAttemptIn_ms: null };
  #timer: ReturnType<typeof setInterval> | null = null;
  #arrived_epochMs = 0;
  #shown_epochMs = 0;
  #hostLatency_ms = Number.NaN;
  #storeTrouble: Trouble | null = null;
  /** Of a bench that speaks a major version unknown here; null otherwise. */
  #wrongVersion: string | null = null;
  /** Of the bench as last heard. */
  #boot = '';

  constructor(parts: AcquisitionParts) {
    this.#parts = parts;
    this.source = parts.source;
    this.rig = parts.rig;
    this.#display = new DisplaySteps('live');
    this.lesson = new LessonWatch(parts.rig);
    this.#latency = new AlarmLatency(() => parts.clock.now_epochMs());
    this.pipeline = new Pipeline(parts.rig, {
      onValues: (t_us, view) => {
        this.#summary.values(t_us, view);
        this.#recorder?.values(t_us, view);
        this.#display.add(t_us, view);
      },
      onOutput: (t_us, output) => {
        this.#summary.output(t_us, output);
        this.#recorder?.output(t_us, output);
        this.lesson.output(t_us, output);
        if (output.kind === 'alarm' || output.kind === 'advisory' || output.kind === 'flood') {
          this.#latency.changed(this.#judged_epochMs ?? parts.clock.now_epochMs());
          this.#isUrgent = true;
        }
      },
    });
    this.intake = new Intake(this, {
      ...(parts.profile === undefined ? {} : { decoder: new ProfileDecoder(parts.profile) }),
      epochMsOfHost: (host_us) => this.#epochMsOf(host_us),
    });
    this.outputs = new Outputs(
      {
        write: (bytes) => this.source.write(bytes),
        unavailable:
          parts.profile === undefined
            ? undefined
            : 'Not sent: this bench is read by a profile and only listened to; it takes no commands.',
        journal: {
          command: (id, command, by) => this.#ifOpen(() => this.intake.command(id, command, by, this.now_us())),
          unanswered: (id) => this.#ifOpen(() => this.intake.commandUnanswered(id, this.now_us())),
          outputs: (live, why) => this.#ifOpen(() => this.intake.outputs(live, why, this.now_us())),
        },
        pace: () => (this.source instanceof SimulatorSource ? this.source.speed : 1),
        now_us: () => this.now_us(),
        session_us: () => this.pipeline.now_us,
        starter: () => this.pipeline.starter,
        startLists: () => this.pipeline.startLists,
        runState: () => this.pipeline.run.state,
        isLinkUp: () => this.#status.state === 'open' && !this.intake.isSilent,
        runningAbort: () => this.pipeline.runningAbort,
      },
      parts.seat,
    );
  }

  /** The source's own clock where it has one (the simulator at speed), else the host's. */
  now_us(): number {
    return this.source instanceof SimulatorSource ? this.source.now_us() : this.#parts.clock.now_us();
  }

  start(): void {
    this.#listen();
    this.source.start(this.#sourceEvents());
    if (!(this.source instanceof SimulatorSource)) this.#timer = setInterval(() => this.idle(), IDLE_EVERY_MS);
  }

  /** Without a timer: for headless runs, which step the simulator themselves, or call `idle` for another source. */
  startUnpaced(): void {
    this.#listen();
    if (this.source instanceof SimulatorSource) this.source.open(this.#sourceEvents());
    else this.source.start(this.#sourceEvents());
  }

  #listen(): void {
    // The simulator's time goes by its steps, and with it all that waits for time to pass.
    if (this.source instanceof SimulatorSource) this.source.onStepped = () => this.idle();
  }

  #sourceEvents(): ByteSourceEvents {
    return {
      onBytes: (chunk, arrived_us) => {
        this.#arrived_epochMs = this.#parts.clock.now_epochMs();
        this.#judged_epochMs = this.#arrived_epochMs;
        this.#take(chunk, arrived_us);
        this.#judged_epochMs = null;
        this.#showUrgent();
        this.#parts.onArrived?.();
      },
      onStatus: (status) => this.#statusChanged(status),
    };
  }

  #take(chunk: Uint8Array, arrived_us: number): void {
    const take = (piece: Uint8Array): void => this.intake.bytes(piece, arrived_us);
    const isAsked = this.#tap.isAsked(this.#parts.clock.now_us() / 1000);
    if (isAsked) this.#tap.pass(chunk, this.intake.counts, this.#arrived_epochMs, take);
    else take(chunk);
  }

  /** Time passes: silence, lease, repeats. */
  idle(): void {
    if (this.#session !== null) this.intake.idle(this.now_us());
    this.outputs.idle();
    this.#parts.onIdle?.();
    if (this.#session !== null) {
      const latency = this.#latency.due();
      if (latency !== null) this.intake.fact(latency, this.now_us());
    }
    this.#showUrgent();
  }

  #showUrgent(): void {
    if (!this.#isUrgent) return;
    this.#isUrgent = false;
    this.#parts.onUrgent?.();
  }

  /**
   * Wall time at a host time. Host times are those of the source's clock; the simulator's goes at its own pace, and
   * its wall time with it, or its bench's clock would seem to drift by the pace.
   */
  #epochMsOf(host_us: number): number {
    if (this.source instanceof SimulatorSource && this.#session !== null) {
      return this.#session.startedAt_epochMs + (host_us - this.#begun_us) / 1000;
    }
    return this.#parts.clock.now_epochMs() - (this.now_us() - host_us) / 1000;
  }

  // ----------------------------------------------------------- the journal --

  frame(ord: number, t_us: number, group: number, raw: Int32Array, columns: number): void {
    this.#recorder?.frame(ord, t_us, group, raw, columns);
    this.pipeline.frame(ord, t_us, group, raw, columns);
    this.#recorder?.folded(ord, t_us, this.pipeline);
    this.lesson.look(t_us, this.pipeline);
  }

  tick(ord: number, t_us: number): void {
    this.#recorder?.tick(ord, t_us);
    this.#summary.time(t_us);
    this.pipeline.tick(ord, t_us);
    this.lesson.look(t_us, this.pipeline);
  }

  event(ord: number, t_us: number, body: JournalInput): void {
    this.#recorder?.event(ord, t_us, body);
    this.#summary.input(body);
    this.#summary.time(t_us);
    this.lesson.input(t_us, body, this.pipeline);
    this.pipeline.event(ord, t_us, body);
    this.lesson.look(t_us, this.pipeline);
    if (body.kind === 'answer') this.outputs.answered(body.answer);
    if (body.kind === 'input' && this.pipeline.inputs[body.input]?.key === 'lease') this.outputs.leaseSaid(body.state);
    if (body.kind === 'identity') {
      if (this.#boot !== '' && this.#boot !== body.identity.boot) this.outputs.benchRestarted();
      this.#boot = body.identity.boot;
    }
    if (body.kind === 'wrong-version') {
      this.#wrongVersion = body.version;
      this.#parts.log(`the bench speaks line protocol ${body.version}, which is not known here`);
    } else if (body.kind === 'identity') this.#wrongVersion = null;
  }

  operator(by: string, action: OperatorAction): Result<null, BridgeError> {
    if (this.#session === null) {
      return err({
        kind: 'refused',
        sentence: 'Not recorded: no session is open.',
        remedy: 'Connect a bench or choose a scenario first.',
      });
    }
    const refusal = this.pipeline.refusalOf(action);
    if (refusal !== null) {
      this.intake.host(`refused to ${by}: ${action.kind}. ${refusal}`, this.now_us());
      return err({ kind: 'refused', sentence: refusal, remedy: 'Nothing was changed.' });
    }
    this.intake.operator(by, action, this.now_us());
    this.#showUrgent();
    return ok(null);
  }

  /** What was done to the simulated stand, or a word about a lesson, into the journal. */
  note(event: TrainingEvent): void {
    this.#ifOpen(() => this.intake.fact({ kind: 'training', event }, this.now_us()));
  }

  // --------------------------------------------------------------- to pages --

  get session(): SessionHead | null {
    return this.#session;
  }

  heardLines(since: number) {
    return this.#tap.take(since, this.#parts.clock.now_us() / 1000);
  }

  takeDisplay(): DisplayBatch {
    // Only what is new tells the way through the host; a silent link would count its silence.
    if (this.#arrived_epochMs !== this.#shown_epochMs) {
      this.#hostLatency_ms = this.#parts.clock.now_epochMs() - this.#arrived_epochMs;
      this.#shown_epochMs = this.#arrived_epochMs;
    }
    return this.#display.take(this.pipeline, this.#arrived_epochMs);
  }

  /** A page has painted a change of the alarms. */
  alarmsShown(change: number, shownAt_epochMs: number): void {
    this.#latency.shown(change, shownAt_epochMs);
  }

  layout(): Layout {
    return layoutOf('live', this.pipeline, this.rig);
  }

  snapshot(troubles: readonly Trouble[]): Snapshot {
    return {
      ...snapshotOf(this.pipeline),
      stream: 'live',
      provenance: this.source.kind === 'simulator' ? 'SIMULATED' : 'LIVE',
      session: this.#session,
      source: this.#sourceView(),
      link: this.#link(),
      recorder: this.#recorderHealth(),
      outputs: this.outputs.view(),
      troubles: this.#storeTrouble === null ? troubles : [...troubles, this.#storeTrouble],
      jobs: [],
      alarmStamp: this.#latency.posted(),
      latency: this.#latency.health,
      simulator: this.source instanceof SimulatorSource ? this.source.view() : null,
      training: null,
      replay: null,
    };
  }

  commit(): void {
    this.#recorder?.commit();
  }

  async close(): Promise<void> {
    if (this.#timer !== null) clearInterval(this.#timer);
    this.#timer = null;
    this.outputs.setLive(false, 'source let go');
    // Let go in order is no loss of the link: it raises no alarm.
    if (this.#session !== null) {
      const latency = this.#latency.due(true);
      if (latency !== null) this.intake.fact(latency, this.now_us());
      this.intake.host('session ended', this.now_us());
    }
    await this.source.close();
    this.#recorder?.close();
    this.#recorder = null;
    this.#session = null;
  }

  // ---------------------------------------------------------------- private --

  /** Outside a session there is nothing to record into. */
  #ifOpen(record: () => void): void {
    if (this.#session !== null) record();
  }

  #statusChanged(status: SourceStatus): void {
    const was = this.#status.state;
    this.#status = status;
    if (status.state === 'open' && was !== 'open') {
      const isNew = this.#session === null;
      const hours = isNew ? this.#hoursBefore() : null;
      if (isNew) this.#begin();
      this.intake.opened(this.now_us());
      if (hours !== null) {
        this.intake.fact(hours, this.now_us());
        this.#noteRecorder(this.#recorderHealth());
      }
      // The table comes by itself within 5 s; asked for, it comes at once.
      this.outputs.command('host', { name: 'IDENTIFY' });
    } else if (was === 'open' && status.state !== 'open' && this.#session !== null) {
      this.intake.closed(this.now_us(), status.sentence);
    }
    this.#showUrgent();
  }

  /** Asked for before this session is one of those listed. */
  #hoursBefore() {
    return carriedHours(this.#parts.store, this.rig, this.source.kind === 'simulator' ? 'SIMULATED' : 'LIVE');
  }

  #noteRecorder(health: RecorderHealth): void {
    const note = this.#notes.of(health);
    if (note !== null && this.#session !== null) this.intake.fact(note, this.now_us());
  }

  #begin(): void {
    this.#begun_us = this.now_us();
    const startedAt_epochMs = this.#parts.clock.now_epochMs();
    const id = sessionName(startedAt_epochMs);
    this.#session = { id, startedAt_epochMs, source: this.source.kind, detail: this.source.name };
    const writer = this.#parts.store.start({
      id,
      startedAt_epochMs,
      source: this.source.kind,
      detail: this.source.name,
      rig: this.rig,
    });
    if (writer.ok) {
      this.#recorder = new Recorder(this.#parts.store, writer.value, this.#parts.clock, () => this.#summary.summary());
      this.#recorder.onHealth = (health) => this.#noteRecorder(health);
      return;
    }
    this.#storeTrouble = {
      id: 'recorder',
      sentence: `This session is not being recorded: ${JSON.stringify(writer.error)}.`,
      remedy: 'Free the disk or choose another data folder, then connect again.',
    };
    this.#parts.log(this.#storeTrouble.sentence);
  }

  #sourceView(): SourceView {
    const isSilent = this.#status.state === 'open' && this.intake.isSilent;
    const version = this.#wrongVersion;
    if (version !== null) {
      return {
        ...this.#status,
        kind: this.source.kind,
        name: this.source.name,
        state: 'open',
        sentence: `The bench speaks line protocol ${version}; this workbench speaks 1.x. No values are read.`,
        remedy: 'Update the workbench, or load bench firmware that speaks version 1.',
      };
    }
    if (isSilent) {
      return {
        ...this.#status,
        kind: this.source.kind,
        name: this.source.name,
        state: 'silent',
        sentence: `${this.source.name} is open, but no good line has come for ${(this.intake.silentFor_ms(this.now_us()) / 1000).toFixed(1)} s.`,
        remedy: 'Check bench supply, cable and baud rate.',
      };
    }
    return { ...this.#status, kind: this.source.kind, name: this.source.name };
  }

  #link(): LinkHealth {
    return linkOf(this.intake, this.now_us(), this.#hostLatency_ms);
  }

  #recorderHealth(): RecorderHealth {
    return (
      this.#recorder?.health ?? {
        state: 'stopped',
        sentence: this.#session === null ? '' : 'This session is not being recorded.',
        remedy: '',
        sessionBytes: 0,
        freeBytes: this.#parts.store.freeBytes(),
        forecast_h: null,
        held_s: 0,
        lastCommit_epochMs: 0,
      }
    );
  }
}

/** `20261125-091203-3fa2`: sorts by time, never twice. */
function sessionName(startedAt_epochMs: number): string {
  const stamp = new Date(startedAt_epochMs).toISOString().replace(/[-:]/g, '').replace('T', '-').slice(0, 15);
  return `${stamp}-${randomBytes(2).toString('hex')}`;
}
