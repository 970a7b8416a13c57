/**
 * The whole host's way for tests of faults: bytes of a simulated bench through
 * the real intake and pipeline with the demo rig sheet, watched for alarms and
 * for the signs that faults promise.
 */
import { type QualityCode, stateLetters } from '../../shared-core/channels/quality.ts';
import type { JournalOutput } from '../../shared-core/journal.ts';
import { Intake } from '../../shared-core/line/intake.ts';
import { Pipeline } from '../../shared-core/pipeline.ts';
import { lapwing120 } from '../../shared-core/rig/lapwing.ts';
import type { TraceSign } from '../../simulator/faults.ts';
import type { SimulatedBench } from '../../simulator/simulated-bench.ts';

const SLICE_ms = 20;
const BEFORE_s = 5;
const NOW_s = 3;
const letterOf = new Map(Object.entries(stateLetters).map(([letter, code]) => [code as QualityCode, letter]));

export interface TrippedAlarm {
  readonly rule: string;
  readonly level: string;
  readonly at_s: number;
}

interface Track {
  readonly time_s: number[];
  readonly value: number[];
}

export class HostFold {
  readonly bench: SimulatedBench;
  readonly pipeline: Pipeline;
  readonly intake: Intake;
  readonly trips: TrippedAlarm[] = [];
  #host_us = 1_000_000;
  readonly #from_us = this.#host_us;
  readonly #tracks = new Map<string, Track>();
  readonly #states = new Set<string>();
  /** Newest session time against host time, ms late, and the least of it before the fault. */
  #lag_ms = 0;
  #leastLag_ms = Number.POSITIVE_INFINITY;
  #mostLag_ms = 0;
  #heard_us = this.#host_us;
  #longestSilence_s = 0;
  readonly #boots = new Set<string>();
  #faultAt_s = Number.POSITIVE_INFINITY;
  #countsAtFault = new Map<string, number>();

  constructor(bench: SimulatedBench) {
    this.bench = bench;
    this.pipeline = new Pipeline(lapwing120, {
      onValues: (t_us, _view, group) => this.#onValues(t_us, group),
      onOutput: (t_us, output) => this.#onOutput(t_us, output),
    });
    this.intake = new Intake(this.pipeline, {
      onInput: (_t_us, body) => {
        if (body.kind === 'identity') this.#boots.add(body.identity.boot);
      },
    });
    this.intake.opened(this.#host_us, 'simulated');
  }

  get time_s(): number {
    return (this.#host_us - this.#from_us) / 1e6;
  }

  run(seconds: number): void {
    for (let i = 0; i < Math.round((seconds * 1000) / SLICE_ms); i++) {
      this.bench.advance(SLICE_ms / 1000);
      this.#host_us += SLICE_ms * 1000;
      const bytes = this.bench.takeBytes();
      if (bytes.length > 0) {
        if (this.time_s > this.#faultAt_s) {
          this.#longestSilence_s = Math.max(this.#longestSilence_s, (this.#host_us - this.#heard_us) / 1e6);
        }
        this.#heard_us = this.#host_us;
        this.intake.bytes(bytes, this.#host_us);
      }
      this.intake.idle(this.#host_us);
    }
  }

  /** What came before is "before" from now on. */
  faultComes(): void {
    this.#faultAt_s = this.time_s;
    this.#states.clear();
    this.#boots.clear();
    const { identity } = this.pipeline;
    if (identity) this.#boots.add(identity.boot);
    this.#countsAtFault = new Map<string, number>([
      ...Object.entries(this.intake.counts.faults),
      ['missing', this.intake.counts.missing],
    ]);
    this.#mostLag_ms = 0;
  }

  shows(sign: TraceSign): boolean {
    switch (sign.kind) {
      case 'moves': {
        const moved = this.#mean(sign.channel, 'now') - this.#mean(sign.channel, 'before');
        return sign.by > 0 ? moved >= sign.by : moved <= sign.by;
      }
      case 'stays':
        return Math.abs(this.#mean(sign.channel, 'now') - this.#mean(sign.channel, 'before')) <= sign.within;
      case 'passes':
        return this.#since(sign.channel).some(
          (value) => value > (sign.above ?? Number.POSITIVE_INFINITY) || value < (sign.below ?? -Infinity),
        );
      case 'noisier':
        return this.#deviation(sign.channel, 'now') >= sign.times * this.#deviation(sign.channel, 'before');
      case 'state':
        return this.#states.has(`${sign.channel} ${sign.letter}`);
      case 'input':
        return this.pipeline.inputs.find((each) => each.key === sign.input)?.state === sign.state;
      case 'unmetered': {
        const level_mL = 1000 * (this.#mean('fuel_level', 'before') - this.#mean('fuel_level', 'now'));
        return level_mL - (this.#mean('fuel_total', 'now') - this.#mean('fuel_total', 'before')) >= sign.atLeast_mL;
      }
      case 'count': {
        const now = sign.of === 'missing' ? this.intake.counts.missing : this.intake.counts.faults[sign.of];
        return now - (this.#countsAtFault.get(sign.of) ?? 0) >= sign.atLeast;
      }
      case 'silence':
        return this.#longestSilence_s >= sign.atLeast_s;
      case 'lag':
        return this.#mostLag_ms - this.#leastLag_ms >= sign.atLeast_ms;
      case 'reboot':
        return this.#boots.size > 1;
    }
  }

  #onValues(t_us: number, group: number): void {
    const { values } = this.pipeline;
    this.#lag_ms = (this.#host_us - this.#from_us - t_us) / 1000;
    if (this.time_s > this.#faultAt_s) this.#mostLag_ms = Math.max(this.#mostLag_ms, this.#lag_ms);
    else this.#leastLag_ms = Math.min(this.#leastLag_ms, this.#lag_ms);
    for (const channel of values.channels) {
      const isOurs =
        channel.origin.kind === 'derived'
          ? values.updated_us[channel.ordinal] === t_us
          : channel.origin.group === group;
      if (!isOurs) continue;
      const value = values.value[channel.ordinal]!;
      if (Number.isNaN(value)) {
        const letter = letterOf.get(values.quality[channel.ordinal] as QualityCode);
        if (letter !== undefined) this.#states.add(`${channel.key} ${letter}`);
        continue;
      }
      let track = this.#tracks.get(channel.key);
      if (!track) {
        track = { time_s: [], value: [] };
        this.#tracks.set(channel.key, track);
      }
      track.time_s.push(this.time_s);
      track.value.push(value);
    }
  }

  #onOutput(t_us: number, output: JournalOutput): void {
    if (output.kind !== 'alarm' || output.change !== 'tripped') return;
    this.trips.push({ rule: output.rule, level: output.level, at_s: t_us / 1e6 });
  }

  #window(channel: string, when: 'before' | 'now'): number[] {
    const track = this.#tracks.get(channel);
    if (!track) throw new Error(`no sample of ${channel} has come`);
    const to_s = when === 'before' ? this.#faultAt_s : this.time_s;
    const from_s = to_s - (when === 'before' ? BEFORE_s : NOW_s);
    const values: number[] = [];
    for (let i = track.time_s.length - 1; i >= 0 && track.time_s[i]! > from_s; i--) {
      if (track.time_s[i]! <= to_s) values.push(track.value[i]!);
    }
    return values;
  }

  #since(channel: string): number[] {
    const track = this.#tracks.get(channel);
    if (!track) throw new Error(`no sample of ${channel} has come`);
    return track.value.filter((_, i) => track.time_s[i]! > this.#faultAt_s);
  }

  #mean(channel: string, when: 'before' | 'now'): number {
    const values = this.#window(channel, when);
    return values.reduce((sum, value) => sum + value, 0) / values.length;
  }

  #deviation(channel: string, when: 'before' | 'now'): number {
    const values = this.#window(channel, when);
    const mean = values.reduce((sum, value) => sum + value, 0) / values.length;
    return Math.sqrt(values.reduce((sum, value) => sum + (value - mean) ** 2, 0) / values.length);
  }
}
