/** The training desk on the simulator, stepped by hand, and a trainee who does what the strip says. */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { Acquisition } from '../../electron/host/acquisition.ts';
import { ReadingRoom } from '../../electron/host/reading/reading-room.ts';
import { SimulatorSource } from '../../electron/host/simulator-source.ts';
import { MemoryStore } from '../../electron/host/store/memory-store.ts';
import { type DeskRequest, TrainingDesk } from '../../electron/host/training/training-desk.ts';
import type { Result } from '../../shared-core/base/result.ts';
import type { BridgeError, Method, Requests, Snapshot } from '../../shared-core/bridge/contract.ts';
import { lapwing120 } from '../../shared-core/rig/lapwing.ts';
import type { Debrief } from '../../shared-core/training/debrief.ts';
import type { TrainingView } from '../../shared-core/training/training-view.ts';

const BY = 'trainee 1';
/** From reading the strip to the hand on the control. */
const REACTION_s = 2;

export class DeskRig {
  readonly folder = mkdtempSync(join(tmpdir(), 'runstand-training-'));
  readonly store = new MemoryStore();
  readonly desk: TrainingDesk;
  readonly log: string[] = [];
  now: Acquisition | null = null;
  /** Who asks, unless another is named. */
  readonly page = {};
  #nextId = 1;

  constructor() {
    const reading = new ReadingRoom(this.store, this.folder, () => {});
    this.desk = new TrainingDesk({
      dataFolder: this.folder,
      exportsFolder: join(this.folder, 'exports'),
      acquisition: () => this.now,
      begin: async (source, before) => {
        await this.now?.close();
        const acquisition: Acquisition = new Acquisition({
          source,
          rig: before?.rig ?? lapwing120,
          store: this.store,
          clock: { now_us: () => source.now_us(), now_epochMs: () => 1_795_000_000_000 + source.now_us() / 1000 },
          log: () => {},
          onIdle: () => this.desk.idle(acquisition),
          ...(before === undefined ? {} : { seat: before.seat }),
        });
        this.now = acquisition;
        acquisition.startUnpaced();
        return acquisition;
      },
      recordedDebrief: async (sessionId) =>
        (await reading.ask({ method: 'train.debrief', params: { sessionId } })) as Result<Debrief, BridgeError>,
      keep: (session) => void this.store.keep(session, true),
      handOut: (path, bytes) => ({ path, bytes, href: null }),
      now_epochMs: () => 1_795_000_000_000,
      log: (line) => this.log.push(line),
    });
  }

  get acquisition(): Acquisition {
    if (this.now === null) throw new Error('expected a session');
    return this.now;
  }

  get source(): SimulatorSource {
    const source = this.now?.source;
    if (!(source instanceof SimulatorSource)) throw new Error('expected the simulator');
    return source;
  }

  get snapshot(): Snapshot {
    return this.desk.shown(this.acquisition.snapshot([]));
  }

  get view(): TrainingView {
    const { training } = this.snapshot;
    if (training === null) throw new Error('expected a lesson');
    return training;
  }

  async ask<M extends DeskRequest['method'] & Method>(
    method: M,
    params: Requests[M]['params'],
    page: object = this.page,
  ): Promise<Result<Requests[M]['value'], BridgeError>> {
    const request = { type: 'request', id: this.#nextId++, method, params } as unknown as DeskRequest;
    return (await this.desk.ask(request, page)) as Result<Requests[M]['value'], BridgeError>;
  }

  /** The value, or the error thrown in full. */
  async get<M extends DeskRequest['method'] & Method>(
    method: M,
    params: Requests[M]['params'],
  ): Promise<Requests[M]['value']> {
    const result = await this.ask(method, params);
    if (!result.ok) throw new Error(`${method}: ${result.error.sentence}`);
    return result.value;
  }

  pass(seconds: number): void {
    for (let step = Math.round(seconds * 50); step > 0; step--) this.source.step();
  }

  until(holds: () => boolean, most_s: number): void {
    for (let step = most_s * 50; !holds(); step--) {
      if (step <= 0) throw new Error(`expected it to hold within ${most_s} s`);
      this.source.step();
    }
  }

  input(key: string): 0 | 1 | 'X' | undefined {
    return this.acquisition.pipeline.inputs.find((each) => each.key === key)?.state;
  }

  value(key: string): number {
    const { channels, value } = this.acquisition.pipeline.values;
    return value[channels.findIndex((each) => each.key === key)] ?? Number.NaN;
  }

  async close(): Promise<void> {
    await this.now?.close();
    rmSync(this.folder, { recursive: true, force: true });
  }
}

/** Does what the strip says, at the control that it names, until the lesson is over. */
export async function followTheStrip(rig: DeskRig, most_s = 1200): Promise<void> {
  let said = '';
  let since_s = 0;
  for (let at_s = 0; rig.view.ended === null; at_s += 0.2) {
    if (at_s > most_s) throw new Error(`the lesson is not over after ${most_s} s; it says: ${rig.view.says}`);
    rig.pass(0.2);
    const { step, control, ended } = rig.view;
    if (step === null || ended !== null) continue;
    if (step.id !== said) {
      said = step.id;
      since_s = at_s;
      // The hand leaves what it held.
      if (rig.acquisition.pipeline.starter.isEngaged) rig.acquisition.outputs.holdStarter(BY, false);
    }
    if (at_s - since_s < REACTION_s || control === null) continue;
    await workControl(rig, control, at_s - since_s - REACTION_s);
  }
}

async function workControl(rig: DeskRig, control: string, for_s: number): Promise<void> {
  const { outputs, pipeline } = rig.acquisition;
  const isFirst = for_s < 0.2;
  switch (control) {
    case 'outputs-unlock':
      outputs.setLive(true, `by ${BY}`);
      return;
    case 'outputs-lock':
      outputs.setLive(false, `by ${BY}`);
      return;
    case 'switch-supply':
    case 'switch-servo':
    case 'switch-fan': {
      const key = control.slice('switch-'.length);
      const name = key.toUpperCase() as 'SUPPLY' | 'SERVO' | 'FAN';
      if (isFirst) outputs.command(BY, { name, on: rig.input(key) !== 1 });
      return;
    }
    case 'tab-checklist':
      for (const list of lapwing120.checklists.filter((each) => each.stage === 'before-start')) {
        for (const item of list.items) {
          if (isFirst) rig.acquisition.operator(BY, { kind: 'checklist', itemId: item.id, isDone: true });
        }
      }
      return;
    case 'hand-prime':
      if (isFirst) await rig.get('sim.act', { by: BY, action: { kind: 'prime' } });
      return;
    case 'hand-refuel':
      if (isFirst) await rig.get('sim.act', { by: BY, action: { kind: 'refuel' } });
      return;
    case 'hand-stop-circuit':
      if (isFirst) await rig.get('sim.act', { by: BY, action: { kind: 'stop-circuit', closed: false } });
      return;
    case 'ignition-on':
      if (isFirst) outputs.command(BY, { name: 'IGNITION', on: true });
      return;
    case 'ignition-off':
      // "Hold idle until …, then": the hand waits for what the line says.
      if (rig.value('cht_max') < 130 || pipeline.advisories.some((each) => each.cause === 'overspeed')) {
        if (rig.input('ignition') === 1) outputs.command(BY, { name: 'IGNITION', on: false });
      }
      return;
    case 'starter-hold':
      if (for_s < 6 && pipeline.run.state !== 'running') outputs.holdStarter(BY, true);
      else if (pipeline.starter.isEngaged) outputs.holdStarter(BY, false);
      return;
    case 'throttle-plus-5':
      if (isFirst) outputs.command(BY, { name: 'THROTTLE', permille: 300 });
      return;
    case 'throttle-slider':
      if (isFirst) outputs.command(BY, { name: 'THROTTLE', permille: 1000 });
      return;
    case 'throttle-closed':
      if (isFirst) outputs.command(BY, { name: 'THROTTLE', permille: 0 });
      return;
    case 'acknowledge-all':
      if (pipeline.alarms.some((each) => each.acknowledgedAt_us === null)) {
        rig.acquisition.operator(BY, { kind: 'acknowledge-all' });
      }
      return;
    case 'mark':
      if (isFirst) rig.acquisition.operator(BY, { kind: 'mark', text: 'as the strip says' });
      return;
    case 'cool-down-confirm': {
      const strip = pipeline.advisories.find((each) => each.closedAt_us === null && each.kind === 'cool-down');
      const current = strip?.steps.find((each) => each.state === 'current');
      if (strip && current?.step.proof.kind === 'operator') {
        rig.acquisition.operator(BY, { kind: 'advisory-step', advisoryId: strip.id, stepId: current.step.id });
      }
      return;
    }
    case 'confirm-step': {
      const open = pipeline.advisories.find((each) => each.closedAt_us === null && each.kind === 'abort');
      const current = open?.steps.find((each) => each.state === 'current');
      if (open && current?.step.proof.kind === 'operator') {
        rig.acquisition.operator(BY, { kind: 'advisory-step', advisoryId: open.id, stepId: current.step.id });
      }
      return;
    }
    default:
      throw new Error(`the strip names a control that this trainee does not know: ${control}`);
  }
}
