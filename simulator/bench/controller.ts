/**
 * The bench controller: what the firmware of a real bench would do, in steps
 * of 1 ms. It reads the sensors, sends the lines of PROTOCOL.md when they are
 * due, and obeys host and local controls through `outputs.ts` and
 * `commands.ts`. What happens to the bytes on their way is not its business.
 */
import { BenchLineEncoder } from '../../shared-core/line/encoder.ts';
import { HostLineDecoder } from '../../shared-core/line/host-lines.ts';
import type { HostLine, Identity, TextWeight } from '../../shared-core/line/messages.ts';
import type { Plant } from '../physics/plant.ts';
import { randomStream } from '../physics/random.ts';
import { pulseFor } from '../physics/servo.ts';
import { Commands } from './commands.ts';
import { Outputs } from './outputs.ts';
import { Sensors } from './sensors.ts';
import { FAST_GROUP, inputKeys, SLOW_GROUP, type TableRows, tableOf } from './table.ts';

export interface ControllerOptions {
  readonly fast_Hz: number;
  readonly slow_Hz: number;
  readonly seed: number;
  /** Protocol version announced; another one is for tests. */
  readonly version: string;
  /** Firmware announced. */
  readonly firmware: string;
}

/** A real crystal is off by some parts per million: bench time over true time. */
const CLOCK = 1 + 38e-6;
const IDENTITY_EVERY_ms = 1500;
const TABLE_EVERY_ms = 4500;
const ROW_EVERY_ms = 20;
const INPUT_EVERY_ms = 200;
const BOOT_ms = 1200;
const NOTHING = new Uint8Array(0);
/** The conformance kit knows a simulator by "sim-". */
export const FIRMWARE = 'sim-1.3.0';

export class Controller {
  readonly outputs = new Outputs();
  readonly sensors: Sensors;
  readonly table: TableRows;
  /** Since boot, in the bench's own steps. */
  #age_ms = 0;
  #bootLeft_ms = 0;
  #boot: number;
  #nextFast_us = 0;
  #nextSlow_us = 0;
  #fastTick = 0;
  #slowTick = 0;
  #nextRow: number;
  #nextInput = 0;
  readonly #sent: Int8Array;
  readonly #plant: Plant;
  readonly #options: ControllerOptions;
  readonly #commands: Commands;
  /** A new one with each boot: its running number begins at 0. */
  #encoder = new BenchLineEncoder();
  #host = new HostLineDecoder();
  #wasHot = false;
  #hadLease = false;

  constructor(plant: Plant, options: ControllerOptions) {
    this.#plant = plant;
    this.#options = options;
    this.table = tableOf(plant.rig.engine.cylinders, options.fast_Hz, options.slow_Hz);
    const fastColumns = this.table.groups[0]!.columns;
    this.sensors = new Sensors(plant, this.table.channels, fastColumns, options.seed);
    this.#commands = new Commands(this.outputs, this.sensors);
    this.#boot = Math.floor(randomStream(options.seed, 'boot').uniform() * 0x10000);
    this.#sent = new Int8Array(inputKeys.length).fill(-1);
    this.#nextRow = this.#rowCount();
  }

  get isBooting(): boolean {
    return this.#bootLeft_ms > 0;
  }

  /** What was sent since the last call; valid until the next. */
  takeBytes(): Uint8Array {
    return this.#encoder.length === 0 ? NOTHING : this.#encoder.take();
  }

  /** Bytes from the host, in any pieces. */
  write(chunk: Uint8Array): void {
    if (!this.isBooting) this.#host.push(chunk, this.#obey);
  }

  say(weight: TextWeight, text: string): void {
    if (!this.isBooting) this.#encoder.text(weight, text, this.#now_us());
  }

  /** Loss of power: all outputs drop, 1.2 s of silence, then a new boot. */
  reboot(): void {
    this.outputs.dropAll();
    this.#commands.forget();
    this.#bootLeft_ms = BOOT_ms;
    this.drive();
  }

  /** After the plant's step of 1 ms. */
  step(): void {
    this.sensors.step1ms();
    if (this.#plant.steps % 100 === 0) this.sensors.step100ms();
    if (this.#bootLeft_ms > 0) {
      this.#bootLeft_ms--;
      if (this.#bootLeft_ms === 0) this.#begin();
      this.outputs.tick(this.#age_ms);
      this.drive();
      return;
    }
    this.outputs.isStarterHot = this.#plant.electrics.isCutOut;
    this.outputs.tick(this.#age_ms);
    this.drive();
    if (this.#age_ms === 0) this.#greet();
    this.#sendInputs();
    this.#sendTable();
    this.#sendSamples();
    this.#remark();
    this.#age_ms++;
  }

  #begin(): void {
    this.#boot = (this.#boot + 1) & 0xffff;
    this.#age_ms = 0;
    this.#fastTick = 0;
    this.#slowTick = 0;
    this.#nextFast_us = 0;
    this.#nextSlow_us = 0;
    this.#nextInput = 0;
    this.#nextRow = this.#rowCount();
    this.#sent.fill(-1);
    this.#encoder = new BenchLineEncoder();
    this.#host = new HostLineDecoder();
    this.sensors.resetTotal();
  }

  #now_us(): number {
    return Math.round(this.#age_ms * 1000 * CLOCK);
  }

  /** Sets the plant's inputs from the outputs as they are. */
  drive(): void {
    const outputs = this.outputs;
    const inputs = this.#plant.inputs;
    inputs.isIgnitionOn = outputs.isIgnitionOn;
    inputs.isStarterEngaged = outputs.isStarterEngaged;
    inputs.isSupplyOn = outputs.isSupplyOn;
    inputs.isServoOn = outputs.isServoOn;
    inputs.isFanOn = outputs.isFanOn;
    inputs.servoPulse_us = outputs.isServoOn ? pulseFor(this.#plant.rig.servo, outputs.throttle_permille / 1000) : 0;
  }

  #greet(): void {
    this.#identify();
    for (let row = 0; row < this.#rowCount(); row++) this.#sendRow(row);
    this.say('N', 'bench controller up');
  }

  #identify(): void {
    const table = this.table;
    const identity: Identity = {
      version: this.#options.version,
      bench: this.#plant.rig.benchName,
      firmware: this.#options.firmware,
      boot: this.#boot.toString(16).toUpperCase().padStart(4, '0'),
      layout: table.layout,
      groups: table.groups.length,
      channels: table.channels.length,
      inputs: table.inputs.length,
    };
    this.#encoder.identity(identity, this.#now_us());
  }

  #rowCount(): number {
    return this.table.groups.length + this.table.channels.length + this.table.inputs.length;
  }

  #sendRow(row: number): void {
    const { groups, channels, inputs, layout } = this.table;
    const now_us = this.#now_us();
    const group = groups[row];
    const channel = channels[row - groups.length];
    const input = inputs[row - groups.length - channels.length];
    if (group) this.#encoder.group(layout, group, now_us);
    else if (channel) this.#encoder.channel(layout, channel, now_us);
    else if (input) this.#encoder.input(layout, input, now_us);
  }

  #sendTable(): void {
    const age_ms = this.#age_ms;
    if (age_ms > 0 && age_ms % IDENTITY_EVERY_ms === 0) this.#identify();
    if (age_ms > 0 && age_ms % TABLE_EVERY_ms === 0) this.#nextRow = 0;
    // Spread out: in one go it would hold up samples for 150 ms at 115,200 Bd.
    if (this.#nextRow < this.#rowCount() && age_ms % ROW_EVERY_ms === 0) this.#sendRow(this.#nextRow++);
  }

  #inputState(input: number): 0 | 1 {
    const outputs = this.outputs;
    switch (inputKeys[input]) {
      case 'stop':
        return outputs.isStopClosed ? 1 : 0;
      case 'cage':
        return outputs.isCageClosed ? 1 : 0;
      case 'ignition':
        return outputs.isIgnitionOn ? 1 : 0;
      case 'starter':
        return outputs.isStarterEngaged && !outputs.isStarterHot ? 1 : 0;
      case 'servo':
        return outputs.isServoOn ? 1 : 0;
      case 'supply':
        return outputs.isSupplyOn ? 1 : 0;
      case 'fan':
        return outputs.isFanOn ? 1 : 0;
      default:
        return outputs.leaseHost === null ? 0 : 1;
    }
  }

  /** At once on change; besides, one input in turn, so that each comes every 1.6 s. */
  #sendInputs(isAll = false): void {
    const turn = this.#age_ms % INPUT_EVERY_ms === 0 ? this.#nextInput++ % inputKeys.length : -1;
    for (let input = 0; input < inputKeys.length; input++) {
      const state = this.#inputState(input);
      if (state === this.#sent[input] && input !== turn && !isAll) continue;
      this.#sent[input] = state;
      this.#encoder.event(input, state, this.#now_us());
    }
  }

  #sendSamples(): void {
    const true_us = this.#age_ms * 1000;
    if (true_us >= this.#nextFast_us) {
      this.#nextFast_us = (++this.#fastTick * 1e6) / this.#options.fast_Hz;
      this.sensors.readFast(this.outputs.throttle_permille, this.#plant.inputs.servoPulse_us);
      this.#encoder.samples(FAST_GROUP, this.#now_us(), this.sensors.fastRaw, this.sensors.fastRaw.length);
    }
    if (true_us >= this.#nextSlow_us) {
      this.#nextSlow_us = (++this.#slowTick * 1e6) / this.#options.slow_Hz;
      this.sensors.readSlow();
      this.#encoder.samples(SLOW_GROUP, this.#now_us(), this.sensors.slowRaw, this.sensors.slowRaw.length);
    }
  }

  /** Things worth a line of text. */
  #remark(): void {
    const isHot = this.#plant.electrics.isCutOut;
    if (isHot !== this.#wasHot) {
      this.#wasHot = isHot;
      this.say(isHot ? 'W' : 'N', isHot ? 'starter cut out: motor hot' : 'starter motor cooled: ready');
    }
    const hasLease = this.outputs.leaseHost !== null;
    if (this.#hadLease && !hasLease) this.say('N', 'lease ended: outputs made safe');
    this.#hadLease = hasLease;
  }

  readonly #obey = (line: HostLine): void => {
    if (line.kind === 'lease') {
      this.outputs.lease(line.host, line.ms, this.#age_ms);
      return;
    }
    const { reply, isNew } = this.#commands.answer(line, this.#age_ms);
    const now_us = this.#now_us();
    if (reply.kind === 'accepted') this.#encoder.accepted(line.host, line.id, reply.fields, now_us);
    else this.#encoder.refused(line.host, line.id, reply.reason, reply.words, now_us);
    if (isNew && line.name === 'IDENTIFY' && reply.kind === 'accepted') {
      this.#identify();
      for (let row = 0; row < this.#rowCount(); row++) this.#sendRow(row);
      this.#sendInputs(true);
    }
  };
}
