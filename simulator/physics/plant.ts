/**
 * The whole stand but its controller: shaft, engine, propeller, starter,
 * electrics, fuel, heat, air. Steps of exactly 1 ms; slow parts every 10 or
 * 100 ms. The bench drives it through `PlantInputs` and reads its truth.
 */
import type { SimulatedRig } from '../rigs.ts';
import { Ambient, airDensity_kgPerm3, soundSpeed_mPers } from './air.ts';
import { CellWind } from './cell-wind.ts';
import { commission } from './commissioning.ts';
import { Electrics } from './electrics.ts';
import { Engine } from './engine.ts';
import { friction_bar, LOWER_HEATING_VALUE_JPerg, pumping_bar, torqueOfPressure_Nm } from './engine-spec.ts';
import { FuelSystem } from './fuel.ts';
import { type EnergyBalance, EnergyLedger, type EnergySums } from './ledger.ts';
import { type PlantInputs, type PlantOptions, restInputs } from './plant-inputs.ts';
import { inducedVelocity_mPers, powerCoefficientAt, thrustCoefficientAt, windShares } from './propeller.ts';
import { type RandomStream, randomStream, stillStream } from './random.ts';
import { Servo } from './servo.ts';
import { type HeatInput, Thermal } from './thermal.ts';

export const STEP_s = 0.001;
const TWO_PI = 2 * Math.PI;
const RPM_PER_RADPERS = 60 / TWO_PI;

/** Heat summed over some slow steps. */
interface HeatSum {
  readonly burnt_J: Float64Array;
  readonly work_J: Float64Array;
  readonly exhaust_g: Float64Array;
  friction_J: number;
}

export class Plant {
  readonly rig: SimulatedRig;
  readonly inputs: PlantInputs = restInputs();
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
  readonly wind: CellWind;
  /** Milliseconds. */
  steps = 0;
  readonly #refine: number;
  readonly #dt_s: number;
  #fineSteps = 0;
  #unload = 0;
  // Torque coefficients change slowly with speed: refreshed every 10 ms.
  #propellerPerSquare = 0;
  #thrustPerSquare = 0;
  #friction_Nm = 0;
  #pumping_Nm = 0;
  #generator_Nm = 0;
  #friction_J = 0;
  #heat: HeatInput;
  #collected: HeatSum | null = null;
  // Sums since the start, for the ledger.
  #pumping_J = 0;
  #propeller_J = 0;
  #generator_J = 0;
  #starter_J = 0;
  #primed_g = 0;
  #dried_g = 0;
  readonly #ledger: EnergyLedger;

  constructor(options: PlantOptions) {
    const { rig, site, seed } = options;
    const { home } = rig;
    const stream = (name: string): RandomStream => (options.still ? stillStream : randomStream(seed, name));
    this.rig = rig;
    this.#refine = options.refine ?? 1;
    this.#dt_s = STEP_s / this.#refine;
    this.ambient = new Ambient(site, stream('ambient'));
    this.wind = new CellWind(stream('gusts'));
    this.engine = new Engine(
      rig.engine,
      commission(rig.engine, rig.propeller, home),
      airDensity_kgPerm3(home.temperature_degC, home.pressure_hPa, home.humidity_percent),
      stream('combustion'),
    );
    this.thermal = new Thermal(rig.thermal, site.temperature_degC);
    this.fuel = new FuelSystem(rig.fuel, site.temperature_degC);
    this.electrics = new Electrics(rig.electrics, site.temperature_degC);
    this.servo = new Servo(rig.servo);
    this.inertia_kgm2 = rig.engine.inertia_kgm2 + rig.propeller.inertia_kgm2;
    this.inlet_degC = site.temperature_degC;
    this.fuel.chamber_mL = 0.045 * rig.fuel.chamber_mL;
    this.#heat = this.#heatInput();
    this.#refreshCoefficients();
    this.#ledger = new EnergyLedger(this.#sums());
  }

  get speed_rpm(): number {
    return this.speed_radPers * RPM_PER_RADPERS;
  }

  /** What pulls at the cell: the propeller's thrust, less the drag of the stand in its slipstream. */
  thrust_N(): number {
    return this.propellerThrust_N() * (1 - this.rig.propeller.standDrag);
  }

  propellerThrust_N(): number {
    return this.#thrustPerSquare * this.speed_radPers * this.speed_radPers;
  }

  /**
   * Reaction on the torque cell, N·m: engine and propeller together lose
   * angular momentum only to the air, so it is propeller torque plus J dω/dt.
   */
  reactionTorque_Nm(): number {
    return this.propellerTorque_Nm + this.inertia_kgm2 * this.acceleration_radPers2;
  }

  /** Where the energy went since the start (since `startWarm`, if that was called). */
  energy(): EnergyBalance {
    return this.#ledger.balance(this.#sums());
  }

  /** One millisecond. */
  step(): void {
    this.steps++;
    const pulse_us = this.inputs.isServoOn ? this.inputs.servoPulse_us : 0;
    for (let i = 0; i < this.#refine; i++) {
      this.#fineSteps++;
      if (this.#fineSteps % 10 === 0) this.#stepBus(10 * this.#dt_s);
      if (this.#fineSteps % 100 === 0) this.#stepSlow(100 * this.#dt_s);
      this.servo.step(this.#dt_s, pulse_us);
      this.#stepShaft(this.#dt_s);
    }
  }

  /** Puts the engine warm and steady at a throttle position 0 to 1; for initial states. */
  startWarm(position: number, speed_rpm: number): void {
    this.servo.place(position);
    this.fuel.fillChamber();
    this.thermal.case_degC = 60;
    this.speed_radPers = speed_rpm / RPM_PER_RADPERS;
    this.#refreshCoefficients();
    // Some rounds: run the shaft to find the heat flow, let the metal settle on it.
    for (let round = 0; round < 4; round++) {
      for (let i = 0; i < 2000; i++) this.step();
      // Of a whole second: single turns differ.
      this.thermal.settle(this.#heatOfSecond(), 1, this.inputs.isFanOn && this.inputs.fanLoss < 1);
      this.inlet_degC = this.#inletTarget_degC();
    }
    for (let i = 0; i < 1000; i++) this.step();
    this.#ledger.open(this.#sums());
  }

  prime(amount_mL: number): void {
    this.fuel.prime(amount_mL);
    this.#primed_g += this.engine.carburettor.prime();
  }

  #stepShaft(dt_s: number): void {
    const omega = this.speed_radPers;
    const rpm = omega * RPM_PER_RADPERS;
    const inputs = this.inputs;
    const starter_Nm = this.electrics.starterTorque_Nm(inputs.isStarterEngaged, omega);
    const driving = this.engine.gasTorque_Nm + starter_Nm;
    const rubbing_Nm = this.#friction_Nm;
    this.propellerTorque_Nm = this.#propellerPerSquare * omega * omega;
    if (omega === 0 && driving <= rubbing_Nm) {
      this.acceleration_radPers2 = 0;
      this.engine.gasTorque_Nm = 0;
      return;
    }
    const ripple_Nm = this.engine.rippleTorque_Nm(this.angle_rad, rpm);
    const resisting = this.propellerTorque_Nm + rubbing_Nm + this.#pumping_Nm + this.#generator_Nm;
    this.acceleration_radPers2 = (driving - resisting + ripple_Nm) / this.inertia_kgm2;
    const next = omega + this.acceleration_radPers2 * dt_s;
    this.speed_radPers = Math.max(0, next);
    // Work over the step at its mean speed: then kinetic energy changes by exactly the sum of the works.
    const swept_rad = 0.5 * (omega + this.speed_radPers) * dt_s;
    this.#starter_J += starter_Nm * swept_rad;
    this.#propeller_J += this.propellerTorque_Nm * swept_rad;
    this.#pumping_J += this.#pumping_Nm * swept_rad;
    this.#generator_J += this.#generator_Nm * swept_rad;
    // Friction, and what compression takes and gives, ends up in the metal; the last turn stops by it.
    const stop_Nm = next > 0 ? 0 : (this.inertia_kgm2 * next) / dt_s;
    this.#friction_J += (rubbing_Nm - ripple_Nm + stop_Nm) * swept_rad;
    this.angle_rad += swept_rad;
    if (this.angle_rad >= TWO_PI) {
      this.angle_rad -= TWO_PI;
      this.#turn(rpm);
    }
  }

  #turn(rpm: number): void {
    this.engine.revolution(
      this.servo.position,
      rpm,
      {
        density_kgPerm3:
          (this.ambient.density_kgPerm3 * (this.ambient.temperature_degC + 273.15)) / (this.inlet_degC + 273.15),
        inlet_degC: this.inlet_degC,
        caseTemperature_degC: this.thermal.case_degC,
        headTemperature_degC: this.thermal.head_degC[0]!,
      },
      this.fuel,
      this.inputs.isIgnitionOn,
    );
  }

  #stepBus(dt_s: number): void {
    this.#unload += ((this.inputs.unload - this.#unload) * dt_s) / 0.3;
    this.electrics.setLoads(
      this.inputs.isSupplyOn,
      this.inputs.isIgnitionOn,
      this.inputs.isServoOn,
      this.inputs.fanLoss >= 1 ? 0 : this.thermal.fanShare,
    );
    this.electrics.stepBus(dt_s, this.speed_rpm);
    this.#refreshCoefficients();
  }

  #refreshCoefficients(): void {
    const rpm = this.speed_rpm;
    const { propeller, engine } = this.rig;
    const sound = soundSpeed_mPers(this.ambient.temperature_degC);
    const wind = windShares(propeller, rpm, this.wind.speed_mPers);
    const loaded = (1 - this.#unload) * this.ambient.density_kgPerm3;
    // Q = CP ρ n² D⁵ / 2π with n = ω / 2π.
    this.#propellerPerSquare =
      (powerCoefficientAt(propeller, rpm, sound) * wind.power * loaded * propeller.diameter_m ** 5) / TWO_PI ** 3;
    this.#thrustPerSquare =
      (thrustCoefficientAt(propeller, rpm) * wind.thrust * loaded * propeller.diameter_m ** 4) / TWO_PI ** 2;
    const rubbing_bar = friction_bar(engine, rpm, this.thermal.case_degC, this.thermal.hottestHead_degC());
    this.#friction_Nm = torqueOfPressure_Nm(engine, rubbing_bar + this.engine.faults.friction_bar);
    this.#pumping_Nm =
      rpm > 30 ? torqueOfPressure_Nm(engine, pumping_bar(engine, this.engine.setting, this.engine.delivery, rpm)) : 0;
    this.#generator_Nm = this.electrics.generatorTorque_Nm(this.speed_radPers);
  }

  #stepSlow(dt_s: number): void {
    this.ambient.step(dt_s);
    this.wind.step(dt_s, this.rig.propeller.recirculation + 0.5 * this.inputs.recirculation, this.#induced_mPers());
    this.#heat = this.#heatInput();
    if (this.#collected) this.#collect(this.#heat, this.#collected);
    const isFanDriven = this.inputs.isFanOn && this.inputs.fanLoss < 1 && this.electrics.bus_V > 8;
    this.thermal.step(dt_s, this.#heat, isFanDriven);
    this.engine.taken();
    this.#friction_J = 0;
    this.fuel.step(dt_s, this.speed_rpm, this.ambient.temperature_degC, this.thermal.case_degC);
    this.electrics.stepHeat(dt_s, this.ambient.temperature_degC);
    this.inlet_degC += ((this.#inletTarget_degC() - this.inlet_degC) * dt_s) / 20;
    if (this.speed_radPers === 0) this.#dried_g += this.engine.carburettor.dry(dt_s);
  }

  /** Past a warm engine the air is warmer, and warmer still where the cell turns it around; invented for the demo. */
  #inletTarget_degC(): number {
    const warmth = 0.02 + 0.25 * this.inputs.recirculation;
    return this.ambient.temperature_degC + warmth * (this.thermal.case_degC - this.ambient.temperature_degC);
  }

  #induced_mPers(): number {
    return inducedVelocity_mPers(this.rig.propeller, this.propellerThrust_N(), this.ambient.density_kgPerm3);
  }

  #heatInput(): HeatInput {
    return {
      burnt_J: this.engine.burnt_J,
      work_J: this.engine.work_J,
      exhaust_g: this.engine.exhaust_g,
      friction_J: this.#friction_J,
      speed_rpm: this.speed_rpm,
      induced_mPers: this.#induced_mPers(),
      ambient_degC: this.ambient.temperature_degC,
    };
  }

  /** Runs for a second and returns all heat of it as one input. */
  #heatOfSecond(): HeatInput {
    const zero = new Float64Array(this.engine.burnt_J.length);
    const sum = { burnt_J: zero.slice(), work_J: zero.slice(), exhaust_g: zero.slice(), friction_J: 0 };
    this.#collected = sum;
    for (let i = 0; i < 1000; i++) this.step();
    this.#collected = null;
    return { ...this.#heatInput(), ...sum };
  }

  #collect(heat: HeatInput, into: HeatSum): void {
    for (let i = 0; i < into.burnt_J.length; i++) {
      into.burnt_J[i]! += heat.burnt_J[i]!;
      into.work_J[i]! += heat.work_J[i]!;
      into.exhaust_g[i]! += heat.exhaust_g[i]!;
    }
    into.friction_J += heat.friction_J;
  }

  #sums(): EnergySums {
    const { engine, thermal } = this;
    let waiting_J = this.#friction_J;
    for (let i = 0; i < engine.burnt_J.length; i++) waiting_J += engine.burnt_J[i]! - engine.work_J[i]!;
    return {
      fuel_J: (engine.fuelUsed_g + this.#primed_g) * LOWER_HEATING_VALUE_JPerg,
      starter_J: this.#starter_J,
      unburnt_J: (engine.fuelUnburnt_g + this.#dried_g) * LOWER_HEATING_VALUE_JPerg,
      exhaust_J: thermal.toExhaust_J,
      coolingAir_J: thermal.toAir_J,
      propeller_J: this.#propeller_J,
      generator_J: this.#generator_J,
      pumping_J: this.#pumping_J,
      kinetic_J: 0.5 * this.inertia_kgm2 * this.speed_radPers * this.speed_radPers,
      // With what the next slow step will hand to it.
      metal_J: thermal.stored_J() + waiting_J,
      film_J: engine.carburettor.film_g * LOWER_HEATING_VALUE_JPerg,
    };
  }
}
