/**
 * Battery, starter motor, generator and the bus between them. Direct current,
 * quasi-static: inductances settle within a shaft step.
 */

export interface ElectricsSpec {
  /** Battery at rest and charged, and its internal resistance. */
  readonly battery_V: number;
  readonly battery_ohm: number;
  readonly battery_Ah: number;
  /** Starter constant at the crankshaft, gear included: V·s/rad, equally N·m/A before losses. */
  readonly starter_Vs: number;
  readonly starterWinding_ohm: number;
  readonly starterGearEfficiency: number;
  readonly starterHeat_JPerK: number;
  readonly starterCooling_WPerK: number;
  /** Winding temperature at which its cut-out opens, and closes again. */
  readonly starterCutOut_degC: number;
  readonly starterCutIn_degC: number;
  readonly generator_VPerRpm: number;
  readonly generatorRegulated_V: number;
  readonly generator_ohm: number;
  readonly generatorMost_A: number;
  readonly fan_A: number;
}

/** Loads by what is switched on, A: bench controller, ignition module, servo. Invented for the demo. */
const BENCH_A = 0.9;
const IGNITION_A = 1.1;
const SERVO_A = 0.4;
const SUPPLY_A = 0.5;
const GENERATOR_EFFICIENCY = 0.62;
const CHARGE_OHM = 0.1;

export class Electrics {
  readonly spec: ElectricsSpec;
  charge = 0.95;
  bus_V: number;
  starterCurrent_A = 0;
  generator_V = 0;
  generator_A = 0;
  winding_degC: number;
  isCutOut = false;
  /** Fault: generator gives nothing. */
  isGeneratorDead = false;
  /** Fault: resistance added to the battery and its lugs, ohm. */
  lug_ohm = 0;
  /** Fault: another load on the bus, A. */
  extra_A = 0;
  #load_A = BENCH_A;

  constructor(spec: ElectricsSpec, ambient_degC: number) {
    this.spec = spec;
    this.bus_V = spec.battery_V;
    this.winding_degC = ambient_degC;
  }

  /** Open-circuit voltage: 0.9 V between full and a quarter full, as a lead-acid or similar 12 V battery (common practice, no source). */
  openCircuit_V(): number {
    return this.spec.battery_V - 1.2 * (1 - this.charge);
  }

  setLoads(supply: boolean, ignition: boolean, servo: boolean, fanShare: number): void {
    this.#load_A =
      BENCH_A +
      (supply ? SUPPLY_A : 0) +
      (ignition ? IGNITION_A : 0) +
      (servo ? SERVO_A : 0) +
      this.spec.fan_A * fanShare +
      this.extra_A;
  }

  /**
   * Starter torque at the crankshaft, N·m, for this step. A one-way clutch
   * lets the engine run ahead: torque is never negative.
   * I = (E − kω)/R over battery and winding in series.
   */
  starterTorque_Nm(isEngaged: boolean, speed_radPers: number): number {
    if (!isEngaged || this.isCutOut) {
      this.starterCurrent_A = 0;
      return 0;
    }
    const spec = this.spec;
    // Copper: 0.39 % per K.
    const winding_ohm = spec.starterWinding_ohm * (1 + 0.0039 * (this.winding_degC - 20));
    const behind_V = this.openCircuit_V() - this.#load_A * this.#battery_ohm() - spec.starter_Vs * speed_radPers;
    // Run ahead, the motor still draws its no-load current.
    const current_A = Math.max(6, behind_V / (winding_ohm + this.#battery_ohm()));
    this.starterCurrent_A = current_A;
    return Math.max(0, spec.starter_Vs * (current_A - 6) * spec.starterGearEfficiency);
  }

  /** Torque that the generator takes from the shaft, N·m. */
  generatorTorque_Nm(speed_radPers: number): number {
    if (this.generator_A <= 0 || speed_radPers < 20) return 0;
    return (this.generator_A * this.generator_V) / GENERATOR_EFFICIENCY / speed_radPers;
  }

  /** Bus voltage and generator; every 10 ms is often enough. */
  stepBus(dt_s: number, speed_rpm: number): void {
    const spec = this.spec;
    const load_A = this.#load_A + this.starterCurrent_A;
    const emf_V = this.isGeneratorDead ? 0 : Math.min(spec.generatorRegulated_V, spec.generator_VPerRpm * speed_rpm);
    const open_V = this.openCircuit_V();
    let generator_A = 0;
    let bus_V = open_V - load_A * this.#battery_ohm();
    if (emf_V > bus_V) {
      // Charging meets more resistance than discharging, and an overvoltage that
      // grows as the battery fills (common practice, no source): a full battery
      // takes next to nothing.
      const back_V = open_V + 0.5 + 0.9 * this.charge ** 6;
      const float_V =
        (back_V / CHARGE_OHM + emf_V / spec.generator_ohm - load_A) / (1 / CHARGE_OHM + 1 / spec.generator_ohm);
      // Between the two the battery neither gives nor takes.
      bus_V = float_V > back_V ? float_V : Math.max(emf_V - load_A * spec.generator_ohm, bus_V);
      generator_A = (emf_V - bus_V) / spec.generator_ohm;
      if (generator_A > spec.generatorMost_A) {
        generator_A = spec.generatorMost_A;
        bus_V = Math.min(bus_V, open_V - (load_A - generator_A) * this.#battery_ohm());
      }
    }
    this.bus_V = bus_V;
    this.generator_A = generator_A;
    this.generator_V = emf_V > 0 ? emf_V - generator_A * spec.generator_ohm : 0;
    this.charge += ((generator_A - load_A) * dt_s) / (3600 * spec.battery_Ah);
    this.charge = Math.min(1, Math.max(0, this.charge));
  }

  /** Starter winding: one lump, heated by I²R, cooled to the air. */
  stepHeat(dt_s: number, ambient_degC: number): void {
    const spec = this.spec;
    const winding_ohm = spec.starterWinding_ohm * (1 + 0.0039 * (this.winding_degC - 20));
    const heat_W = this.starterCurrent_A * this.starterCurrent_A * winding_ohm;
    const cooling_W = spec.starterCooling_WPerK * (this.winding_degC - ambient_degC);
    this.winding_degC += ((heat_W - cooling_W) * dt_s) / spec.starterHeat_JPerK;
    if (this.winding_degC > spec.starterCutOut_degC) this.isCutOut = true;
    else if (this.winding_degC < spec.starterCutIn_degC) this.isCutOut = false;
  }

  /** Inner resistance, with what a fault adds; a flat battery has up to twice as much (common practice, no source). */
  #battery_ohm(): number {
    return this.spec.battery_ohm * (2 - this.charge) + this.lug_ohm;
  }
}
