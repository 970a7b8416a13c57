/**
 * From the truth of the plant to what the bench reads: lag, vibration, noise,
 * offset, tare and quantisation. Raw values are scaled integers in the order
 * of `table.ts`, or state codes (quality.ts).
 */
import { quality, rawOfQuality } from '../../shared-core/channels/quality.ts';
import type { ChannelRow } from '../../shared-core/line/messages.ts';
import type { Plant } from '../physics/plant.ts';
import { type RandomStream, randomStream } from '../physics/random.ts';
import { Pickup } from './pickup.ts';
import { noSensorFaults, type SensorFaults } from './sensor-faults.ts';

const STEP_s = 0.001;
/** Load-cell amplifier: first order, 5 Hz. */
const CELL_KEEP = Math.exp(-STEP_s * 2 * Math.PI * 5);
/** mL per pulse of the flow meter. */
const PULSE_mL = 0.02;
const REST_rpm = 60;
/** As built, the torque cell feels so much of the thrust: N·m for each N. */
const CROSSTALK_m = 0.0003;
/** The thrust zero goes with the warmth of the stand. */
const ZERO_DRIFT_NPerK = 0.012;

export class Sensors {
  readonly faults: SensorFaults;
  readonly fastRaw: Int32Array;
  readonly slowRaw: Int32Array;
  thrustTare_N = 0;
  torqueTare_Nm = 0;
  flowZero_Lperh = 0;
  /** Counted volume at the totaliser's last reset. */
  totalFrom_mL = 0;

  readonly #plant: Plant;
  readonly #channels: readonly ChannelRow[];
  readonly #cylinders: number;
  readonly #fastNoise: RandomStream;
  readonly #slowNoise: RandomStream;
  /** Its own stream: a fault leaves all other noise as it was. */
  readonly #faultNoise: RandomStream;
  readonly #scale: Float64Array;
  // What is mounted: zero offsets and small gain errors of this bench, drawn once.
  readonly #thrustOffset_N: number;
  readonly #torqueOffset_Nm: number;
  readonly #flowOffset_Lperh: number;
  readonly #thrustGain: number;
  readonly #torqueGain: number;
  readonly #pickup: Pickup;
  readonly #flicker: boolean[];
  /** Volume that the totaliser's pulses have counted. */
  #counted_mL = 0;
  #meteredAt_mL = 0;
  #thrust_N = 0;
  #torque_Nm = 0;
  #flow_Lperh = 0;
  #flowSlow_Lperh = 0;
  readonly #head_degC: Float64Array;

  constructor(plant: Plant, channels: readonly ChannelRow[], fastColumns: number, seed: number) {
    this.#plant = plant;
    this.#channels = channels;
    this.#cylinders = plant.rig.engine.cylinders;
    this.#fastNoise = randomStream(seed, 'fast sensors');
    this.#slowNoise = randomStream(seed, 'slow sensors');
    this.#faultNoise = randomStream(seed, 'sensor faults');
    this.#scale = Float64Array.from(channels, (row) => 10 ** row.decimals);
    this.fastRaw = new Int32Array(fastColumns);
    this.slowRaw = new Int32Array(channels.length - fastColumns);
    this.faults = noSensorFaults(this.#cylinders);
    this.#flicker = new Array<boolean>(this.#cylinders).fill(false);
    this.#pickup = new Pickup(this.faults, randomStream(seed, 'pickup'));
    const mounting = randomStream(seed, 'mounting');
    this.#thrustOffset_N = 1.6 * mounting.gauss();
    this.#torqueOffset_Nm = 0.06 * mounting.gauss();
    this.#flowOffset_Lperh = 0.012 * mounting.gauss();
    this.#thrustGain = 1 + 0.002 * mounting.gauss();
    this.#torqueGain = 1 + 0.002 * mounting.gauss();
    this.#head_degC = Float64Array.from(plant.thermal.head_degC);
    this.settle();
  }

  /** Puts the lags to rest on what is now; for initial states. */
  settle(): void {
    const plant = this.#plant;
    this.#pickup.settle(plant.speed_rpm);
    this.#thrust_N = plant.thrust_N();
    this.#torque_Nm = plant.reactionTorque_Nm() + CROSSTALK_m * this.#thrust_N;
    this.#flow_Lperh = plant.fuel.meterFlow_mLPers * 3.6;
    this.#flowSlow_Lperh = this.#flow_Lperh;
    this.#head_degC.set(plant.thermal.head_degC);
  }

  resetTotal(): void {
    this.totalFrom_mL = this.#counted_mL;
  }

  /** rpm as the bench sees it; 0 at rest. */
  get speed_rpm(): number {
    return this.#pickup.speed_rpm;
  }

  /** Untared readings, for the tare commands. */
  get thrustUntared_N(): number {
    const { case_degC } = this.#plant.thermal;
    const drift_N = ZERO_DRIFT_NPerK * (case_degC - this.#plant.ambient.temperature_degC);
    return this.#thrust_N * this.#thrustGain + this.#thrustOffset_N + drift_N + this.faults.thrustZero_N;
  }
  get torqueUntared_Nm(): number {
    return this.#torque_Nm * this.#torqueGain + this.#torqueOffset_Nm;
  }
  get flowUnzeroed_Lperh(): number {
    return this.#flow_Lperh * this.faults.flowFactor + this.#flowOffset_Lperh + this.faults.flowZero_Lperh;
  }
  /** The flow reading moves when its quick and slow averages differ. */
  get isFlowSettled(): boolean {
    return Math.abs(this.#flow_Lperh - this.#flowSlow_Lperh) < 0.03;
  }

  /** Every 1 ms: pickup and load-cell amplifiers. */
  step1ms(): void {
    const plant = this.#plant;
    const rpm = plant.speed_rpm;
    this.#pickup.step(rpm, plant.engine.turns);
    // Imbalance once and twice per revolution, growing with the square of speed.
    const shake = rpm * rpm * 2.5e-8 * this.faults.shaking;
    const once = Math.sin(plant.angle_rad);
    const twice = Math.sin(2 * plant.angle_rad + 0.7);
    const thrust = plant.thrust_N() + shake * (14 * once + 6 * twice);
    const crosstalk_Nm = (CROSSTALK_m + this.faults.crosstalk_m) * plant.thrust_N();
    const torque = plant.reactionTorque_Nm() + crosstalk_Nm + shake * (1.6 * once + 0.9 * twice);
    if (!this.faults.isThrustStuck) this.#thrust_N = thrust + (this.#thrust_N - thrust) * CELL_KEEP;
    this.#torque_Nm = torque + (this.#torque_Nm - torque) * CELL_KEEP;
  }

  /** Every 100 ms: thermocouples under the plugs, flow meter. */
  step100ms(): void {
    const plant = this.#plant;
    const { faults } = this;
    for (let i = 0; i < this.#cylinders; i++) {
      const head = this.#head_degC[i]!;
      // A loose probe sees part of the rise, through air.
      const loose = faults.headLoose[i]!;
      const ambient = plant.ambient.temperature_degC;
      const seen = ambient + (plant.thermal.head_degC[i]! - ambient) * (1 - loose);
      this.#head_degC[i] = head + (seen - head) * (loose > 0 ? 0.02 : 0.07);
      this.#stepFlicker(i);
    }
    this.#pickup.stepLight();
    const metered_mL = plant.fuel.metered_mL;
    this.#counted_mL += (metered_mL - this.#meteredAt_mL) * (1 - 0.5 * faults.bubbles);
    this.#meteredAt_mL = metered_mL;
    let flow = plant.fuel.meterFlow_mLPers * 3.6 * (1 + 0.006 * this.#slowNoise.gauss());
    // Bubbles spin the wheel faster than the fuel would, now more, now less.
    if (faults.bubbles > 0) flow *= 1 + faults.bubbles * (1 + 1.5 * this.#faultNoise.gauss());
    this.#flow_Lperh += (flow - this.#flow_Lperh) * 0.15;
    this.#flowSlow_Lperh += (this.#flow_Lperh - this.#flowSlow_Lperh) * 0.02;
  }

  /** A plug that opens for about 0.7 s at a time. */
  #stepFlicker(i: number): void {
    const share = this.faults.headFlicker[i]!;
    if (share <= 0) {
      this.#flicker[i] = false;
      return;
    }
    const close = 0.1 / 0.7;
    const open = (close * share) / (1 - share);
    if (this.#faultNoise.uniform() < (this.#flicker[i] ? close : open)) this.#flicker[i] = !this.#flicker[i];
  }

  readFast(throttle_permille: number, servoPulse_us: number): void {
    const noise = this.#fastNoise;
    const rpm = this.speed_rpm;
    const isStuck = this.faults.isThrustStuck;
    this.#put(0, rpm === 0 ? 0 : rpm * (1 + 0.00012 * noise.gauss()));
    if (this.#pickup.isBlind) this.fastRaw[0] = STALE;
    this.#put(1, this.thrustUntared_N - this.thrustTare_N + (isStuck ? 0 : 0.08 * noise.gauss()));
    if (this.faults.isThrustOpen) this.fastRaw[1] = OVER;
    this.#put(2, this.torqueUntared_Nm - this.torqueTare_Nm + 0.006 * noise.gauss());
    this.#put(3, throttle_permille / 10);
    this.#put(4, servoPulse_us);
    this.#put(5, this.#plant.electrics.starterCurrent_A + 0.25 * noise.gauss());
  }

  readSlow(): void {
    const noise = this.#slowNoise;
    const plant = this.#plant;
    const first = this.fastRaw.length;
    let at = first;
    for (let i = 0; i < this.#cylinders; i++, at++) {
      if (this.faults.isHeadOpen[i] || this.#flicker[i]) this.slowRaw[at - first] = rawOfQuality(quality.open);
      else this.#put(at, this.#head_degC[i]! + 0.12 * noise.gauss());
    }
    for (let i = 0; i < this.#cylinders; i++, at++) {
      if (this.faults.isExhaustShort[i]) this.slowRaw[at - first] = rawOfQuality(quality.short);
      else {
        const egt_degC = plant.thermal.exhaust_degC(i) + 0.7 * noise.gauss();
        // Swapped leads: the EMF counts against the reference junction at the amplifier.
        const reference_degC = plant.ambient.temperature_degC + 5;
        this.#put(at, this.faults.isExhaustReversed[i] ? 2 * reference_degC - egt_degC : egt_degC);
      }
    }
    const runs = plant.speed_rpm > REST_rpm;
    this.#put(at++, this.flowUnzeroed_Lperh - this.flowZero_Lperh + 0.002 * noise.gauss());
    this.#put(at++, Math.max(0, Math.floor((this.#counted_mL - this.totalFrom_mL) / PULSE_mL)) * PULSE_mL);
    this.#put(at++, plant.fuel.tank_mL / 1000 + (runs ? 0.006 : 0.001) * noise.gauss());
    this.#put(at++, plant.fuel.temperature_degC + 0.05 * noise.gauss());
    this.#put(at++, plant.electrics.bus_V + 0.008 * noise.gauss());
    this.#put(at++, Math.max(0, plant.electrics.generator_V + 0.008 * noise.gauss()));
    this.#put(at++, plant.electrics.generator_A + 0.03 * noise.gauss());
    this.#put(at++, plant.ambient.temperature_degC + 0.04 * noise.gauss());
    this.#put(at++, plant.ambient.pressure_hPa + 0.02 * noise.gauss());
    this.#put(at++, plant.ambient.humidity_percent + 0.15 * noise.gauss());
    this.#put(at++, plant.inlet_degC + 0.06 * noise.gauss());
  }

  #put(channel: number, value: number): void {
    const row = this.#channels[channel]!;
    const scaled = Math.round(value * this.#scale[channel]!);
    const raw = scaled > row.high ? OVER : scaled < row.low ? UNDER : scaled;
    const fastCount = this.fastRaw.length;
    if (channel < fastCount) this.fastRaw[channel] = raw;
    else this.slowRaw[channel - fastCount] = raw;
  }
}

const STALE = rawOfQuality(quality.stale);
const OVER = rawOfQuality(quality.over);
const UNDER = rawOfQuality(quality.under);
