/**
 * Lessons and the instructor's hand on the simulator: answers `train.*` and
 * `sim.*`, does at the stand what a lesson wants, keeps checkpoints, and
 * writes the trainee's record when a lesson is over. What a lesson has come to
 * is the fold's, in `shared-core/training`.
 */
import { mkdirSync, renameSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { err, ok, type Result } from '../../../shared-core/base/result.ts';
import type {
  BridgeError,
  ExportedFile,
  InstructorView,
  LessonInfo,
  Requests,
  Snapshot,
} from '../../../shared-core/bridge/contract.ts';
import type { RigSheet } from '../../../shared-core/rig/rig-sheet.ts';
import { type Debrief, debriefOf } from '../../../shared-core/training/debrief.ts';
import { isGained, type Lesson } from '../../../shared-core/training/lesson.ts';
import { BY_LOT, lessonById, lessonByLot, lessons } from '../../../shared-core/training/lesson-book.ts';
import type { LessonDeed } from '../../../shared-core/training/lesson-fold.ts';
import { recordOf, recordsCsv } from '../../../shared-core/training/record.ts';
import type { LessonHead } from '../../../shared-core/training/training-event.ts';
import { ASSESSMENT_TITLE, shownTitle, trainingView } from '../../../shared-core/training/training-view.ts';
import { type FaultOptions, faults, isFaultId } from '../../../simulator/faults.ts';
import { isScenarioId, scenarios } from '../../../simulator/scenarios.ts';
import type { Acquisition } from '../acquisition.ts';
import type { OutputsSeat } from '../outputs.ts';
import type { RequestMessage } from '../page.ts';
import { benchAt } from '../simulator-past.ts';
import { SimulatorSource } from '../simulator-source.ts';
import { Checkpoints } from './checkpoints.ts';
import { InstructorSeat } from './instructor-seat.ts';
import { addRecord, readRecords } from './record-file.ts';

/** What the desk needs of the rest of the host. */
export interface DeskWorld {
  readonly dataFolder: string;
  readonly exportsFolder: string;
  acquisition(): Acquisition | null;
  /**
   * Lets go of the present source and begins a session on this one: of a lesson,
   * or, with the sheet and the seat of then, at a checkpoint.
   */
  begin(source: SimulatorSource, before?: { readonly rig: RigSheet; readonly seat: OutputsSeat }): Promise<Acquisition>;
  /** Of a recorded session, from the recording. */
  recordedDebrief(session: string): Promise<Result<Debrief, BridgeError>>;
  /** So that a trainee's session is not let go by the retention rule. */
  keep(session: string): void;
  /** Where a page finds a file that was written into the exports folder. */
  handOut(path: string, bytes: number): ExportedFile;
  now_epochMs(): number;
  log(line: string): void;
}

export type DeskRequest = Extract<RequestMessage, { method: `train.${string}` | `sim.${string}` }>;

type Params<M extends keyof Requests> = Requests[M]['params'];

const EXPORT_NAME = 'training-records.csv';

export class TrainingDesk {
  readonly #world: DeskWorld;
  readonly #checkpoints = new Checkpoints();
  readonly #seat = new InstructorSeat();
  /** Session whose lesson has its record already. */
  #recorded = '';
  /** Session whose ended lesson was put aside. */
  #putAside = '';
  #isBusy = false;

  constructor(world: DeskWorld) {
    this.#world = world;
  }

  // ------------------------------------------------------------- the clock --

  /** As time passes: does what the lesson wants, and notes its end. */
  idle(acquisition: Acquisition): void {
    const { fold } = acquisition.lesson;
    const { source } = acquisition;
    if (fold === null || !(source instanceof SimulatorSource)) return;
    for (const deed of fold.takeDeeds()) this.#do(acquisition, source, deed);
    if (fold.isOver) this.#record(acquisition);
  }

  /** The source is about to be let go: a lesson under way ends here. */
  leave(by: string): void {
    const acquisition = this.#world.acquisition();
    const fold = acquisition?.lesson.fold;
    if (acquisition === null || fold === null || fold === undefined) return;
    if (!fold.isOver) acquisition.note({ what: 'lesson-stopped', by });
    this.#record(acquisition);
    this.#checkpoints.clear();
  }

  /** What a page may see: the lesson, and in an assessment neither fault nor scenario. */
  shown(snapshot: Snapshot): Snapshot {
    const acquisition = this.#world.acquisition();
    const fold = acquisition?.lesson.fold;
    const session = acquisition?.session?.id ?? '';
    if (!fold || session === this.#putAside) return snapshot;
    const training = trainingView(fold, session, this.#seat.asksWord);
    if (!this.isBlind || snapshot.simulator === null) return { ...snapshot, training };
    const simulator = { ...snapshot.simulator, scenario: '', title: ASSESSMENT_TITLE, activeFaults: [] };
    return { ...snapshot, training, simulator };
  }

  /** An assessment is under way: what the journal says of faults is not for pages. */
  get isBlind(): boolean {
    const fold = this.#world.acquisition()?.lesson.fold;
    return fold?.head.mode === 'assessment' && !fold.isOver;
  }

  // -------------------------------------------------------------- requests --

  /** @param page who asks: in an assessment the instructor's hand needs the panel, opened in that page */
  async ask(request: DeskRequest, page: object): Promise<Result<unknown, BridgeError>> {
    if (this.isBlind && !this.#seat.isOpenFor(page) && this.#isInstructors(request)) {
      return err({
        kind: 'refused',
        sentence: "An assessment is under way: this is in the instructor's hands.",
        remedy: 'The instructor opens the panel, in Train, Instructor.',
      });
    }
    switch (request.method) {
      case 'train.lessons':
        return ok({ lessons: lessons.map(lessonInfo) });
      case 'train.start':
        return this.#alone(() => this.#start(request.params));
      case 'train.stop':
        return this.#stop(request.params.by);
      case 'train.debrief':
        return this.#debrief(request.params.sessionId);
      case 'train.records':
        return readRecords(this.#world.dataFolder);
      case 'train.export':
        return this.#export();
      case 'train.instructor':
        return ok(this.#instructor());
      case 'train.seat':
        return this.#openSeat(request.params, page);
      case 'sim.catalogue':
        return ok(catalogue());
      case 'sim.fault':
        return this.#withSimulator((acquisition, source) => this.#fault(acquisition, source, request.params));
      case 'sim.speed':
        return this.#withSimulator((acquisition, source) => {
          source.speed = request.params.speed;
          acquisition.note({ what: 'speed', speed: source.speed });
          return ok(null);
        });
      case 'sim.pause':
      case 'sim.resume':
        return this.#withSimulator((acquisition, source) => {
          const isPaused = request.method === 'sim.pause';
          if (isPaused === source.isPaused) return ok(null);
          source.isPaused = isPaused;
          acquisition.note({ what: isPaused ? 'paused' : 'resumed' });
          return ok(null);
        });
      case 'sim.checkpoint':
        return this.#withSimulator((acquisition, source) =>
          this.#checkpoint(acquisition, source, request.params.name ?? 'by hand', false),
        );
      case 'sim.rewind':
        return this.#alone(() => this.#rewind(request.params.checkpoint));
      case 'sim.act':
        return this.#withSimulator((acquisition, source) => this.#hand(acquisition, source, request.params));
    }
  }

  /** The starter was refused for its duty: asked for again in a lesson, it counts. */
  starterRefused(by: string): void {
    const acquisition = this.#world.acquisition();
    const fold = acquisition?.lesson.fold;
    if (!acquisition || !fold || fold.isOver) return;
    const { starter } = acquisition.pipeline;
    // While an attempt is under way, or within its grace, it is the same press.
    if (starter.isEngaged || starter.attempt_s > 0 || starter.restLeft_s <= 0) return;
    acquisition.note({ what: 'starter-refused', restLeft_s: starter.restLeft_s, by });
  }

  // --------------------------------------------------------------- lessons --

  async #start(params: Params<'train.start'>): Promise<Result<{ session: string }, BridgeError>> {
    const { mode, trainee, speed = 1 } = params;
    const isByLot = params.lesson === BY_LOT;
    if (isByLot && mode !== 'assessment') {
      return err({ kind: 'invalid', sentence: 'Only an assessment is drawn by lot.', remedy: 'Choose a lesson.' });
    }
    const lot = params.seed ?? this.#world.now_epochMs() % 0x1_0000_0000;
    const lesson = isByLot ? lessonByLot(lot) : lessonById(params.lesson);
    if (lesson === null || !isScenarioId(lesson.scenario)) {
      return err({
        kind: 'not-found',
        sentence: `There is no lesson "${params.lesson}".`,
        remedy: 'Choose one from the list.',
      });
    }
    if (!lesson.modes.includes(mode)) {
      return err({
        kind: 'invalid',
        sentence: `"${lesson.title}" is not given as ${mode}.`,
        remedy: 'Choose another mode.',
      });
    }
    // An assessment that came at the same second each time would soon be known.
    const seed = params.seed ?? (mode === 'assessment' ? lot : lesson.seed);
    if (params.word !== undefined && mode !== 'assessment') {
      return err({
        kind: 'invalid',
        sentence: "Only an assessment has an instructor's word.",
        remedy: 'Choose the mode again.',
      });
    }
    this.leave(trainee);
    this.#checkpoints.clear();
    this.#seat.begin(params.word);
    const source = new SimulatorSource({ scenario: lesson.scenario, seed, speed, name: shownTitle(lesson, mode) });
    const acquisition = await this.#world.begin(source);
    const head: LessonHead = { lesson: lesson.id, version: lesson.version, mode, trainee, seed };
    acquisition.note({ what: 'lesson-started', head });
    if (speed !== 1) acquisition.note({ what: 'speed', speed });
    this.#checkpoints.add(acquisition, source, 'Begin of the lesson', true);
    this.#world.log(`lesson ${lesson.id} (${mode}) begins for ${trainee}, seed ${seed}`);
    return ok({ session: acquisition.session?.id ?? '' });
  }

  #stop(by: string): Result<null, BridgeError> {
    const acquisition = this.#world.acquisition();
    const fold = acquisition?.lesson.fold;
    if (!acquisition || !fold) {
      return err({ kind: 'refused', sentence: 'No lesson is under way.', remedy: 'Choose one in Train.' });
    }
    if (fold.isOver) {
      this.#putAside = acquisition.session?.id ?? '';
      return ok(null);
    }
    acquisition.note({ what: 'lesson-stopped', by });
    this.#record(acquisition);
    return ok(null);
  }

  #record(acquisition: Acquisition): void {
    const session = acquisition.session?.id;
    const { fold } = acquisition.lesson;
    if (session === undefined || fold === null || !fold.isOver || session === this.#recorded) return;
    this.#recorded = session;
    this.#world.keep(session);
    const record = recordOf(debriefOf(fold), session, this.#world.now_epochMs());
    const written = addRecord(this.#world.dataFolder, record);
    this.#world.log(
      written.ok
        ? `lesson ${record.lesson} of ${record.trainee} is over: ${record.verdict}`
        : `${written.error.sentence} ${written.error.remedy}`,
    );
  }

  async #debrief(session: string): Promise<Result<Debrief, BridgeError>> {
    const acquisition = this.#world.acquisition();
    const fold = acquisition?.lesson.fold;
    if (!fold || acquisition?.session?.id !== session) return this.#world.recordedDebrief(session);
    if (this.isBlind) {
      return err({
        kind: 'refused',
        sentence: 'An assessment is debriefed when it is over.',
        remedy: 'Go on, or end the lesson.',
      });
    }
    return ok(debriefOf(fold));
  }

  #export(): Result<ExportedFile, BridgeError> {
    const read = readRecords(this.#world.dataFolder);
    if (!read.ok) return read;
    const text = recordsCsv(read.value.records, (epochMs) => new Date(epochMs).toISOString());
    const path = join(this.#world.exportsFolder, EXPORT_NAME);
    try {
      mkdirSync(this.#world.exportsFolder, { recursive: true });
      writeFileSync(`${path}.part`, text);
      renameSync(`${path}.part`, path);
    } catch (error) {
      return err({
        kind: 'disk',
        sentence: `The records were not written: ${error instanceof Error ? error.message : String(error)}.`,
        remedy: 'Free the disk or look at the folder of exports. The records themselves are kept.',
      });
    }
    return ok(this.#world.handOut(path, Buffer.byteLength(text)));
  }

  // ----------------------------------------------------- the simulated stand --

  /** What a trainee has no business with in an assessment. Hands at the stand that the lesson offers are the trainee's. */
  #isInstructors(request: DeskRequest): boolean {
    switch (request.method) {
      case 'train.instructor':
      case 'sim.fault':
      case 'sim.speed':
      case 'sim.pause':
      case 'sim.resume':
      case 'sim.checkpoint':
      case 'sim.rewind':
        return true;
      case 'sim.act': {
        const asked = JSON.stringify(request.params.action);
        const hands = this.#world.acquisition()?.lesson.fold?.lesson.hands ?? [];
        return !hands.some((each) => JSON.stringify(each) === asked);
      }
      default:
        return false;
    }
  }

  /** Each opening, and each wrong word, is told in the journal, in the debrief and in the record. */
  #openSeat({ by, word }: Params<'train.seat'>, page: object): Result<null, BridgeError> {
    const acquisition = this.#world.acquisition();
    if (acquisition === null || !this.isBlind || this.#seat.isOpenFor(page)) return ok(null);
    const isOpened = this.#seat.open(page, word);
    acquisition.note({ what: 'instructor', isOpened, withWord: this.#seat.asksWord, by });
    return isOpened
      ? ok(null)
      : err({
          kind: 'refused',
          sentence: 'That is not the word that was chosen at the start.',
          remedy: 'Try again; the record tells of it.',
        });
  }

  #instructor(): InstructorView {
    const source = this.#world.acquisition()?.source;
    const list = source instanceof SimulatorSource ? source.bench.activeFaults : [];
    return {
      faults: list.map((id) => ({
        id,
        level: source instanceof SimulatorSource ? (source.bench.levelOf(id) ?? 0) : 0,
      })),
      checkpoints: this.#checkpoints.list,
    };
  }

  #do(acquisition: Acquisition, source: SimulatorSource, deed: LessonDeed): void {
    const { fault, on, options } = deed;
    if (!isFaultId(fault)) throw new Error(`a lesson wants a fault that the simulator has not: ${fault}`);
    if (on) this.#checkpoints.add(acquisition, source, `Before: ${faults[fault].title}`, true);
    this.#switch(acquisition, source, { fault, on, options, by: 'lesson' });
  }

  #fault(acquisition: Acquisition, source: SimulatorSource, params: Params<'sim.fault'>): Result<null, BridgeError> {
    const { fault, on, options, by = 'instructor' } = params;
    if (!isFaultId(fault)) {
      return err({
        kind: 'not-found',
        sentence: `There is no simulated fault "${fault}".`,
        remedy: 'Choose one from the list.',
      });
    }
    const known = faults[fault].parameters.map((each) => each.key);
    const strange = Object.keys(options ?? {}).find((key) => !known.includes(key));
    if (strange !== undefined) {
      return err({
        kind: 'invalid',
        sentence: `"${faults[fault].title}" has no setting "${strange}".`,
        remedy: `It has: ${known.join(', ')}.`,
      });
    }
    this.#switch(acquisition, source, { fault, on, options, by });
    return ok(null);
  }

  #switch(
    acquisition: Acquisition,
    source: SimulatorSource,
    what: { fault: keyof typeof faults; on: boolean; options?: FaultOptions | undefined; by: string },
  ): void {
    const { fault, on, options, by } = what;
    if (on) source.inject(fault, options);
    else source.clear(fault);
    acquisition.note({ what: 'fault', fault, title: faults[fault].title, on, ...(options ? { options } : {}), by });
  }

  #hand(acquisition: Acquisition, source: SimulatorSource, params: Params<'sim.act'>): Result<null, BridgeError> {
    const tookEffect = source.act(params.action);
    acquisition.note({ what: 'hand', act: params.action, tookEffect, by: params.by });
    return tookEffect
      ? ok(null)
      : err({ kind: 'refused', sentence: 'The person at the stand could not do it.', remedy: 'Look at the inputs.' });
  }

  #checkpoint(
    acquisition: Acquisition,
    source: SimulatorSource,
    name: string,
    isAutomatic: boolean,
  ): Result<{ id: string }, BridgeError> {
    const made = this.#checkpoints.add(acquisition, source, name === '' ? 'by hand' : name, isAutomatic);
    if (made === null) {
      return err({
        kind: 'refused',
        sentence: 'The simulation has gone on for too long to be gone through again.',
        remedy: 'Start it anew.',
      });
    }
    acquisition.note({ what: 'checkpoint', id: made.id, name: made.name });
    return ok({ id: made.id });
  }

  async #rewind(id: string): Promise<Result<{ session: string }, BridgeError>> {
    const checkpoint = this.#checkpoints.find(id);
    const before = this.#world.acquisition();
    if (checkpoint === undefined || !(before?.source instanceof SimulatorSource)) {
      return err({
        kind: 'not-found',
        sentence: 'There is no such checkpoint in this simulation.',
        remedy: 'Make one first; starting anew forgets them.',
      });
    }
    before.source.isPaused = true;
    const { fold } = before.lesson;
    if (fold !== null && !fold.isOver) {
      before.note({ what: 'lesson-stopped', by: 'rewind' });
      // It goes on in the next session; the record is written there.
      this.#recorded = before.session?.id ?? '';
    }
    const { bench, past } = await benchAt(checkpoint.settings, checkpoint.moment);
    const source = new SimulatorSource(checkpoint.settings, undefined, { bench, past });
    source.isPaused = true;
    const acquisition = await this.#world.begin(source, { rig: before.rig, seat: checkpoint.seat });
    acquisition.note({ what: 'rewound', from: checkpoint.session, to_s: checkpoint.time_s });
    acquisition.note({ what: 'paused' });
    if (checkpoint.lesson !== null) acquisition.note({ what: 'lesson-resumed', ...checkpoint.lesson });
    // The bench still holds the lease of then: whoever had the outputs has them.
    if (checkpoint.seat.isLive) acquisition.outputs.setLive(true, 'as at the checkpoint');
    const session = acquisition.session?.id ?? '';
    this.#world.log(`rewound to ${checkpoint.time_s.toFixed(1)} s of ${checkpoint.session}, as session ${session}`);
    return ok({ session });
  }

  /** Two that begin sessions do not cross. */
  async #alone<T>(act: () => Promise<Result<T, BridgeError>>): Promise<Result<T, BridgeError>> {
    if (this.#isBusy) {
      return err({ kind: 'busy', sentence: 'The simulator is being set up already.', remedy: 'Wait a moment.' });
    }
    this.#isBusy = true;
    try {
      return await act();
    } finally {
      this.#isBusy = false;
    }
  }

  #withSimulator<T>(
    act: (acquisition: Acquisition, source: SimulatorSource) => Result<T, BridgeError>,
  ): Result<T, BridgeError> {
    const acquisition = this.#world.acquisition();
    const source = acquisition?.source;
    if (!acquisition || !(source instanceof SimulatorSource)) {
      return err({
        kind: 'refused',
        sentence: 'The simulator is not running.',
        remedy: 'Choose a scenario in Train. A real bench has no faults to switch on.',
      });
    }
    return act(acquisition, source);
  }
}

function lessonInfo(lesson: Lesson): LessonInfo {
  const { id, title, summary, brief, minutes, modes, pass } = lesson;
  const rules = lesson.rules.map((rule) => ({
    words: rule.words,
    points: rule.points,
    kind: isGained(rule) ? ('gained' as const) : ('lost' as const),
  }));
  return { id, title, summary, brief, minutes, modes, pass, rules };
}

function catalogue(): Requests['sim.catalogue']['value'] {
  return {
    scenarios: Object.values(scenarios).map(({ id, title, brief }) => ({ id, title, brief })),
    faults: Object.values(faults).map(({ id, title, effect, trace, parameters }) => ({
      id,
      title,
      effect,
      trace,
      parameters,
    })),
  };
}
