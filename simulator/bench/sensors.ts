/**
 * From the truth of the plant to what the bench reads: lag, vibration, noise,
 * offset, tare and quantisation. Raw values are scaled integers in the order
 * of `table.ts`, or state codes (quality.ts).
 */
import { quality, rawOfQuality } from '../../shared-core/channels/quality.ts';
import type { ChannelRow } from '../../shared-core/line/messages.ts';
import type { Plant } from '../physics/plant.ts';
import { type RandomStream, randomStream } from '../physics/random.ts';

/** Broken on purpose; set from `simulated-bench.ts`. */
export interface SensorFaults {
  /** One flag per cylinder. */
  readonly isHeadOpen: boolean[];
  readonly isExhaustShort: boolean[];
  flowFactor: number;
  isThrustStuck: boolean;
}

const STEP_s = 0.001;
/** Load-cell amplifier: first order, 5 Hz. */
const CELL_KEEP = Math.exp(-STEP_s * 2 * Math.PI * 5);
/** Pickup: period averaged over some revolutions. */
const PICKUP_KEEP = Math.exp(-STEP_s / 0.025);
/** mL per pulse of the flow meter. */
const PULSE_mL = 0.02;
const REST_rpm = 60;

export class Sensors {
  readonly faults: SensorFaults;
  readonly fastRaw: Int32Array;
  readonly slowRaw: Int32Array;
  thrustTare_N = 0;
  torqueTare_Nm = 0;
  flowZero_Lperh = 0;
  /** Metered volume at the totaliser's last reset. */
  totalFrom_mL = 0;

  readonly #plant: Plant;
  readonly #channels: readonly ChannelRow[];
  readonly #cylinders: number;
  readonly #fastNoise: RandomStream;
  readonly #slowNoise: RandomStream;
  readonly #scale: Float64Array;
  // What is mounted: zero offsets and small gain errors of this bench, drawn once.
  readonly #thrustOffset_N: number;
  readonly #torqueOffset_Nm: number;
  readonly #flowOffset_Lperh: number;
  readonly #thrustGain: number;
  readonly #torqueGain: number;
  #speed_rpm = 0;
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
    this.#scale = Float64Array.from(channels, (row) => 10 ** row.decimals);
    this.fastRaw = new Int32Array(fastColumns);
    this.slowRaw = new Int32Array(channels.length - fastColumns);
    this.faults = {
      isHeadOpen: new Array<boolean>(this.#cylinders).fill(false),
      isExhaustShort: new Array<boolean>(this.#cylinders).fill(false),
      flowFactor: 1,
      isThrustStuck: false,
    };
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
    this.#speed_rpm = plant.speed_rpm;
    this.#thrust_N = plant.thrust_N();
    this.#torque_Nm = plant.reactionTorque_Nm();
    this.#flow_Lperh = plant.fuel.meterFlow_mLPers * 3.6;
    this.#flowSlow_Lperh = this.#flow_Lperh;
    this.#head_degC.set(plant.thermal.head_degC);
  }

  resetTotal(): void {
    this.totalFrom_mL = this.#plant.fuel.metered_mL;
  }

  /** rpm as the bench sees it; 0 at rest. */
  get speed_rpm(): number {
    return this.#speed_rpm < REST_rpm ? 0 : this.#speed_rpm;
  }

  /** Untared readings, for the tare commands. */
  get thrustUntared_N(): number {
    return this.#thrust_N * this.#thrustGain + this.#thrustOffset_N;
  }
  get torqueUntared_Nm(): number {
    return this.#torque_Nm * this.#torqueGain + this.#torqueOffset_Nm;
  }
  get flowUnzeroed_Lperh(): number {
    return this.#flow_Lperh * this.faults.flowFactor + this.#flowOffset_Lperh;
  }
  /** The flow reading moves when its quick and slow averages differ. */
  get isFlowSettled(): boolean {
    return Math.abs(this.#flow_Lperh - this.#flowSlow_Lperh) < 0.03;
  }

  /** Every 1 ms: pickup and load-cell amplifiers. */
  step1ms(): void {
    const plant = this.#plant;
    const rpm = plant.speed_rpm;
    this.#speed_rpm = rpm + (this.#speed_rpm - rpm) * PICKUP_KEEP;
    // Imbalance once and twice per revolution, growing with the square of speed.
    const shake = rpm * rpm * 2.5e-8;
    const once = Math.sin(plant.angle_rad);
    const twice = Math.sin(2 * plant.angle_rad + 0.7);
    const thrust = plant.thrust_N() + shake * (14 * once + 6 * twice);
    const torque = plant.reactionTorque_Nm() + shake * (1.6 * once + 0.9 * twice);
    if (!this.faults.isThrustStuck) this.#thrust_N = thrust + (this.#thrust_N - thrust) * CELL_KEEP;
    this.#torque_Nm = torque + (this.#torque_Nm - torque) * CELL_KEEP;
  }

  /** Every 100 ms: thermocouples under the plugs, flow meter. */
  step100ms(): void {
    const plant = this.#plant;
    for (let i = 0; i < this.#cylinders; i++) {
      const head = this.#head_degC[i]!;
      this.#head_degC[i] = head + (plant.thermal.head_degC[i]! - head) * 0.07;
    }
    const flow = plant.fuel.meterFlow_mLPers * 3.6 * (1 + 0.006 * this.#slowNoise.gauss());
    this.#flow_Lperh += (flow - this.#flow_Lperh) * 0.15;
    this.#flowSlow_Lperh += (this.#flow_Lperh - this.#flowSlow_Lperh) * 0.02;
  }

  readFast(throttle_permille: number, servoPulse_us: number): void {
    const noise = this.#fastNoise;
    const rpm = this.speed_rpm;
    const isStuck = this.faults.isThrustStuck;
    this.#put(0, rpm === 0 ? 0 : rpm * (1 + 0.00012 * noise.gauss()));
    this.#put(1, this.thrustUntared_N - this.thrustTare_N + (isStuck ? 0 : 0.08 * noise.gauss()));
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
      if (this.faults.isHeadOpen[i]) this.slowRaw[at - first] = rawOfQuality(quality.open);
      else this.#put(at, this.#head_degC[i]! + 0.12 * noise.gauss());
    }
    for (let i = 0; i < this.#cylinders; i++, at++) {
      if (this.faults.isExhaustShort[i]) this.slowRaw[at - first] = rawOfQuality(quality.short);
      else this.#put(at, plant.thermal.exhaust_degC(i) + 0.7 * noise.gauss());
    }
    const runs = plant.speed_rpm > REST_rpm;
    this.#put(at++, this.flowUnzeroed_Lperh - this.flowZero_Lperh + 0.002 * noise.gauss());
    this.#put(at++, Math.floor((plant.fuel.metered_mL - this.totalFrom_mL) / PULSE_mL) * PULSE_mL);
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

const OVER = rawOfQuality(quality.over);
const UNDER = rawOfQuality(quality.under);
