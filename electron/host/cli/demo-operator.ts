/**
 * The demo's operator: works through a complete simulated test by the same
 * commands, confirmations and notes that a person would give on screen, and
 * answers the abort advisory step by step. Reads only what a screen shows.
 */
import type { BenchCommand } from '../../../shared-core/line/messages.ts';
import type { Acquisition } from '../acquisition.ts';
import type { SimulatorSource } from '../simulator-source.ts';

const BY = 'operator 1';
/** Time from seeing to acting. */
const REACTION_S = 2.5;

interface Act {
  readonly at_s: number;
  readonly does: string;
  readonly act: () => void;
}

export class DemoOperator {
  readonly #acquisition: Acquisition;
  readonly #source: SimulatorSource;
  readonly #say: (line: string) => void;
  readonly #acts: Act[];
  #next = 0;
  #isCranking = false;
  #stepSeen = '';
  #stepSeenAt_s = 0;
  #isCut = false;

  constructor(acquisition: Acquisition, source: SimulatorSource, say: (line: string) => void) {
    this.#acquisition = acquisition;
    this.#source = source;
    this.#say = say;
    this.#acts = this.#plan();
  }

  /** True when the whole test has been gone through. */
  get isDone(): boolean {
    return this.#next >= this.#acts.length && this.#acquisition.pipeline.run.state === 'standing';
  }

  /** To be called after every slice of simulated time. */
  look(time_s: number): void {
    while (this.#next < this.#acts.length && this.#acts[this.#next]!.at_s <= time_s && !this.#isAborting()) {
      const { does, act } = this.#acts[this.#next]!;
      this.#next += 1;
      this.#say(`${clock(time_s)}  ${does}`);
      act();
    }
    this.#holdStarter();
    this.#answerAdvisory(time_s);
  }

  #plan(): Act[] {
    const { rig } = this.#acquisition;
    const acts: Act[] = [
      { at_s: 6, does: 'checklist before the start gone through', act: () => this.#tick('before-start') },
      { at_s: 8, does: 'outputs live', act: () => this.#acquisition.outputs.setLive(true, `by ${BY}`) },
      {
        at_s: 9,
        does: 'fan, engine supply and servo on',
        act: () => {
          this.#command({ name: 'FAN', on: true });
          this.#command({ name: 'SUPPLY', on: true });
          this.#command({ name: 'SERVO', on: true });
        },
      },
      {
        at_s: 14,
        does: 'primed by hand, ignition off',
        act: () => {
          this.#source.act({ kind: 'prime' });
          this.#tick('prime');
        },
      },
      { at_s: 20, does: 'ignition on', act: () => this.#command({ name: 'IGNITION', on: true }) },
      {
        at_s: 22,
        does: 'starter held',
        act: () => {
          this.#tick('start');
          this.#isCranking = true;
        },
      },
      { at_s: 60, does: 'noise on the serial line for 15 s', act: () => this.#source.inject('line-noise') },
      { at_s: 75, does: 'line quiet again', act: () => this.#source.clear('line-noise') },
    ];
    // Warm-up at idle until 150 s, then steps of 60 s each, a point captured at the end of each.
    [15, 30, 45, 60, 80, 100].forEach((percent, i) => {
      const at_s = 150 + i * 60;
      acts.push({ at_s, does: `throttle to ${percent} %`, act: () => this.#throttle(percent) });
      acts.push({
        at_s: at_s + 55,
        does: `point captured at ${percent} %`,
        act: () => this.#operator({ kind: 'capture-point', name: `throttle ${percent} %` }),
      });
    });
    acts.push(
      { at_s: 515, does: 'mark set', act: () => this.#operator({ kind: 'mark', text: 'full throttle, steady' }) },
      { at_s: 520, does: 'the cooling fan fails', act: () => this.#source.inject('fan-off') },
      // Reached only when the advisory that follows has been answered.
      { at_s: 521, does: 'after the stop: checklist shut down', act: () => this.#tick('shut-down') },
      {
        at_s: 900,
        does: 'servo and engine supply off, outputs locked',
        act: () => {
          this.#command({ name: 'SERVO', on: false });
          this.#command({ name: 'SUPPLY', on: false });
          this.#acquisition.outputs.setLive(false, `by ${BY}`);
        },
      },
    );
    if (rig.checklists.length === 0) throw new Error('expected the demo rig to have checklists');
    return acts;
  }

  #holdStarter(): void {
    if (!this.#isCranking) return;
    const { state } = this.#acquisition.pipeline.run;
    const speed_rpm = this.#valueOf('shaft-speed');
    const isOver = speed_rpm > 1300 || state === 'running' || this.#acquisition.pipeline.starter.left_s < 0.5;
    this.#acquisition.outputs.holdStarter(BY, !isOver);
    this.#isCranking = !isOver;
  }

  /** While the fan's failure waits to be noticed, and while an advisory is open, the program stands still. */
  #isAborting(): boolean {
    const isOpen = this.#acquisition.pipeline.advisories.some((each) => each.closedAt_us === null);
    const isComing = this.#source.bench.activeFaults.includes('fan-off');
    return isOpen || isComing;
  }

  #answerAdvisory(time_s: number): void {
    const advisory = this.#acquisition.pipeline.advisories.find((each) => each.closedAt_us === null);
    if (advisory === undefined) return;
    const current = advisory.steps.find((each) => each.state === 'current');
    const seen = current?.step.id ?? 'all done';
    if (seen !== this.#stepSeen) {
      this.#stepSeen = seen;
      this.#stepSeenAt_s = time_s;
      this.#isCut = false;
    }
    if (this.#isCut || time_s - this.#stepSeenAt_s < REACTION_S) return;
    // Each step is acted on once; its proof then turns by itself, or the operator confirms.
    this.#isCut = true;
    if (current === undefined) {
      this.#say(`${clock(time_s)}  advisory "${advisory.title}" closed`);
      this.#operator({ kind: 'acknowledge-all' });
      this.#operator({ kind: 'reset-alarms' });
      this.#operator({ kind: 'advisory-close', advisoryId: advisory.id });
      return;
    }
    this.#say(`${clock(time_s)}  advisory step: ${current.step.imperative}`);
    if (current.step.act === 'throttle-closed') this.#throttle(0);
    if (current.step.act === 'ignition-off') this.#command({ name: 'IGNITION', on: false });
    if (current.step.act === 'fan-on') {
      // The person at the stand gets the fan going again.
      this.#source.clear('fan-off');
      this.#command({ name: 'FAN', on: true });
    }
    if (current.step.proof.kind === 'operator') {
      this.#operator({ kind: 'advisory-step', advisoryId: advisory.id, stepId: current.step.id });
    }
  }

  #tick(stage: string): void {
    for (const list of this.#acquisition.rig.checklists) {
      if (list.stage !== stage) continue;
      for (const item of list.items) this.#operator({ kind: 'checklist', itemId: item.id, isDone: true });
    }
  }

  #throttle(percent: number): void {
    this.#command({ name: 'THROTTLE', permille: percent * 10 });
  }

  #command(command: BenchCommand): void {
    this.#acquisition.outputs.command(BY, command);
  }

  #operator(action: Parameters<Acquisition['operator']>[1]): void {
    this.#acquisition.operator(BY, action);
  }

  #valueOf(quantity: string): number {
    const { channels, value } = this.#acquisition.pipeline.values;
    const ordinal = channels.findIndex((each) => each.quantity === quantity);
    return ordinal < 0 ? Number.NaN : value[ordinal]!;
  }
}

function clock(time_s: number): string {
  const minutes = Math.floor(time_s / 60);
  return `${String(minutes).padStart(2, '0')}:${String(Math.floor(time_s % 60)).padStart(2, '0')}`;
}
