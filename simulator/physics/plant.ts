/**
 * The whole stand but its controller: shaft, engine, propeller, starter,
 * electrics, fuel, heat, air. Steps of exactly 1 ms; slow parts every 10 or
 * 100 ms. The bench drives it through `PlantInputs` and reads its truth.
 */
import type { SimulatedRig } from '../rigs.ts';
import { Ambient, type Site, soundSpeed_mPers } from './air.ts';
import { commission } from './commissioning.ts';
import { Electrics } from './electrics.ts';
import { Engine, friction_bar, torqueOfPressure_Nm } from './engine.ts';
import { FuelSystem } from './fuel.ts';
import { inducedVelocity_mPers, powerCoefficientAt, thrustCoefficientAt } from './propeller.ts';
import { randomStream } from './random.ts';
import { Servo } from './servo.ts';
import { type HeatInput, Thermal } from './thermal.ts';

export const STEP_s = 0.001;
const TWO_PI = 2 * Math.PI;
const RPM_PER_RADPERS = 60 / TWO_PI;

/** What bench and faults do to the plant. */
export interface PlantInputs {
  servoPulse_us: number;
  isIgnitionOn: boolean;
  isStarterEngaged: boolean;
  isSupplyOn: boolean;
  isServoOn: boolean;
  isFanOn: boolean;
  /** Fault: the fan motor is dead. */
  isFanDead: boolean;
  /** Fault: share of blade loading lost, 0 to 1. */
  unload: number;
}

export class Plant {
  readonly rig: SimulatedRig;
  readonly inputs: PlantInputs = {
    servoPulse_us: 0,
    isIgnitionOn: false,
    isStarterEngaged: false,
    isSupplyOn: false,
    isServoOn: false,
    isFanOn: false,
    isFanDead: false,
    unload: 0,
  };
  readonly ambient: Ambient;
  readonly engine: Engine;
  readonly thermal: Thermal;
  readonly fuel: FuelSystem;
  readonly electrics: Electrics;
  readonly servo: Servo;
  readonly inertia_kgm2: number;

  speed_radPers = 0;
  acceleration_radPers2 = 0;
  angle_rad = 0;
  propellerTorque_Nm = 0;
  /** Charge temperature at the carburettor. */
  inlet_degC: number;
  steps = 0;
  #unload = 0;
  // Torque coefficients change slowly with speed: refreshed every 10 ms.
  #propellerPerSquare = 0;
  #thrustPerSquare = 0;
  #friction_Nm = 0;
  #generator_Nm = 0;
  #heat: HeatInput;

  constructor(rig: SimulatedRig, site: Site, home: Site, seed: number) {
    this.rig = rig;
    this.ambient = new Ambient(site, randomStream(seed, 'ambient'));
    this.engine = new Engine(rig.engine, commission(rig.engine, rig.propeller, home), randomStream(seed, 'combustion'));
    this.thermal = new Thermal(rig.thermal, site.temperature_degC);
    this.fuel = new FuelSystem(rig.fuel, site.temperature_degC);
    this.electrics = new Electrics(rig.electrics, site.temperature_degC);
    this.servo = new Servo(rig.servo);
    this.inertia_kgm2 = rig.engine.inertia_kgm2 + rig.propeller.inertia_kgm2;
    this.inlet_degC = site.temperature_degC;
    this.fuel.chamber_mL = 0.4;
    this.#heat = this.#heatInput(0.1);
    this.#refreshCoefficients();
  }

  get speed_rpm(): number {
    return this.speed_radPers * RPM_PER_RADPERS;
  }

  thrust_N(): number {
    return this.#thrustPerSquare * this.speed_radPers * this.speed_radPers;
  }

  /**
   * Reaction on the torque cell, N·m: engine and propeller together lose
   * angular momentum only to the air, so it is propeller torque plus J dω/dt.
   */
  reactionTorque_Nm(): number {
    return this.propellerTorque_Nm + this.inertia_kgm2 * this.acceleration_radPers2;
  }

  step(): void {
    this.steps++;
    if (this.steps % 10 === 0) this.#step10ms();
    if (this.steps % 100 === 0) this.#step100ms();
    this.servo.step(STEP_s, this.inputs.isServoOn ? this.inputs.servoPulse_us : 0);
    this.#stepShaft();
  }

  /** Puts the engine warm and steady at a throttle position 0 to 1; for initial states. */
  startWarm(position: number, speed_rpm: number): void {
    this.servo.place(position);
    this.fuel.fillChamber();
    this.thermal.case_degC = 60;
    this.speed_radPers = speed_rpm / RPM_PER_RADPERS;
    this.#refreshCoefficients();
    // Twice: run the shaft to find the heat flow, let the metal settle on it.
    for (let round = 0; round < 2; round++) {
      for (let i = 0; i < 3000; i++) this.step();
      this.thermal.settle(this.#heat, this.inputs.isFanOn && !this.inputs.isFanDead);
    }
    for (let i = 0; i < 1000; i++) this.step();
  }

  #stepShaft(): void {
    const omega = this.speed_radPers;
    const rpm = omega * RPM_PER_RADPERS;
    const inputs = this.inputs;
    const driving = this.engine.gasTorque_Nm + this.electrics.starterTorque_Nm(inputs.isStarterEngaged, omega);
    this.propellerTorque_Nm = this.#propellerPerSquare * omega * omega;
    const resisting = this.propellerTorque_Nm + this.#friction_Nm + this.#generator_Nm;
    if (omega === 0 && driving <= this.#friction_Nm) {
      this.acceleration_radPers2 = 0;
      this.engine.gasTorque_Nm = 0;
      return;
    }
    const ripple = this.engine.rippleTorque_Nm(this.angle_rad, rpm);
    this.acceleration_radPers2 = (driving - resisting + ripple) / this.inertia_kgm2;
    this.speed_radPers = Math.max(0, omega + this.acceleration_radPers2 * STEP_s);
    this.angle_rad += this.speed_radPers * STEP_s;
    if (this.angle_rad >= TWO_PI) {
      this.angle_rad -= TWO_PI;
      this.engine.revolution(
        this.servo.position,
        rpm,
        {
          density_kgPerm3:
            (this.ambient.density_kgPerm3 * (this.ambient.temperature_degC + 273.15)) / (this.inlet_degC + 273.15),
          caseTemperature_degC: this.thermal.case_degC,
          headTemperature_degC: this.thermal.head_degC[0]!,
        },
        this.fuel,
        inputs.isIgnitionOn,
      );
    }
  }

  #step10ms(): void {
    const dt_s = 0.01;
    const rpm = this.speed_rpm;
    this.#unload += ((this.inputs.unload - this.#unload) * dt_s) / 0.3;
    this.electrics.setLoads(
      this.inputs.isSupplyOn,
      this.inputs.isIgnitionOn,
      this.inputs.isServoOn,
      this.inputs.isFanDead ? 0 : this.thermal.fanShare,
    );
    this.electrics.stepBus(dt_s, rpm);
    this.#refreshCoefficients();
  }

  #refreshCoefficients(): void {
    const rpm = this.speed_rpm;
    const propeller = this.rig.propeller;
    const sound = soundSpeed_mPers(this.ambient.temperature_degC);
    // Q = CP ρ n² D⁵ / 2π with n = ω / 2π.
    this.#propellerPerSquare =
      (powerCoefficientAt(propeller, rpm, sound) *
        (1 - this.#unload) *
        this.ambient.density_kgPerm3 *
        propeller.diameter_m ** 5) /
      TWO_PI ** 3;
    this.#thrustPerSquare =
      (thrustCoefficientAt(propeller, rpm) *
        (1 - this.#unload) *
        this.ambient.density_kgPerm3 *
        propeller.diameter_m ** 4) /
      TWO_PI ** 2;
    this.#friction_Nm = torqueOfPressure_Nm(
      this.rig.engine,
      friction_bar(this.rig.engine, rpm, this.thermal.case_degC, this.thermal.hottestHead_degC()),
    );
    this.#generator_Nm = this.electrics.generatorTorque_Nm(this.speed_radPers);
  }

  #step100ms(): void {
    const dt_s = 0.1;
    this.ambient.step(dt_s);
    this.#heat = this.#heatInput(dt_s);
    this.engine.burnt_J = 0;
    this.engine.work_J = 0;
    this.engine.exhaust_g = 0;
    const isFanDriven = this.inputs.isFanOn && !this.inputs.isFanDead && this.electrics.bus_V > 8;
    this.thermal.step(dt_s, this.#heat, isFanDriven);
    this.fuel.step(dt_s, this.speed_rpm, this.ambient.temperature_degC);
    this.electrics.stepHeat(dt_s, this.ambient.temperature_degC);
    // Recirculation past a warm engine; invented for the demo.
    const warmth_K = 0.02 * (this.thermal.case_degC - this.ambient.temperature_degC);
    this.inlet_degC += ((this.ambient.temperature_degC + warmth_K - this.inlet_degC) * dt_s) / 20;
    if (this.speed_radPers === 0) this.engine.dry(dt_s);
  }

  #heatInput(dt_s: number): HeatInput {
    return {
      burnt_W: this.engine.burnt_J / dt_s,
      work_W: this.engine.work_J / dt_s,
      exhaust_gPers: this.engine.exhaust_g / dt_s,
      speed_rpm: this.speed_rpm,
      induced_mPers: inducedVelocity_mPers(this.rig.propeller, this.thrust_N(), this.ambient.density_kgPerm3),
      ambient_degC: this.ambient.temperature_degC,
    };
  }
}
