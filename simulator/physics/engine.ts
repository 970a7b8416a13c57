/**
 * Mean-value engine: one charge per turn and cylinder. At the end of each turn
 * the next charges are drawn, mixed (`carburettor.ts`) and burnt or missed;
 * their mean torque acts over the turn that follows. Friction acts all the
 * time and is the plant's.
 *
 * Curves are in `engine-spec.ts`; the two free numbers (delivery at full
 * throttle, idle opening) come from `commissioning.ts`.
 */
import { Carburettor, type Inlet } from './carburettor.ts';
import type { EngineSetting, EngineSpec } from './engine-spec.ts';
import {
  burnCompleteness,
  burnQuality,
  chargeVolume_cm3,
  chargeWarmth,
  deliveryRatio,
  fireChance,
  indicatedEfficiency,
  LOWER_HEATING_VALUE_JPerg,
  STOICHIOMETRIC,
  timingQuality,
  trappingEfficiency,
} from './engine-spec.ts';
import type { FuelSystem } from './fuel.ts';
import type { RandomStream } from './random.ts';

const TWO_PI = 2 * Math.PI;

/** Conditions around one charge. */
export interface ChargeAir {
  readonly density_kgPerm3: number;
  /** At the carburettor. */
  readonly inlet_degC: number;
  readonly caseTemperature_degC: number;
  readonly headTemperature_degC: number;
}

/** Broken on purpose; graded from 0. */
export interface EngineFaults {
  /** Share of charges that do not light, by cylinder. */
  readonly misfire: Float64Array;
  /** Air leaking in behind the carburettor, share of the charge, by cylinder. */
  readonly leak: Float64Array;
  retard_deg: number;
  /** Share of the delivery that a blocked exhaust costs. */
  blockedExhaust: number;
  /** Share of charges spoilt by water, in bursts. */
  water: number;
  friction_bar: number;
  isIgnitionDead: boolean;
}

export class Engine {
  readonly spec: EngineSpec;
  readonly setting: EngineSetting;
  readonly carburettor: Carburettor;
  readonly faults: EngineFaults;
  /** Mean gas torque of the present turn, N·m. */
  gasTorque_Nm = 0;
  /** Of all cylinders together. */
  lambda = Number.NaN;
  delivery = 0;
  isFiring = false;
  /** Turns since the start. */
  turns = 0;
  /** Sums since the thermal model last took them, by cylinder. */
  readonly burnt_J: Float64Array;
  readonly work_J: Float64Array;
  readonly exhaust_g: Float64Array;
  /** Sums since the start. */
  fuelUsed_g = 0;
  fuelUnburnt_g = 0;
  workDone_J = 0;
  misfires = 0;
  readonly #random: RandomStream;
  #isWet = false;

  constructor(spec: EngineSpec, setting: EngineSetting, homeDensity_kgPerm3: number, random: RandomStream) {
    this.spec = spec;
    this.setting = setting;
    this.carburettor = new Carburettor(spec, homeDensity_kgPerm3);
    this.#random = random;
    const count = spec.cylinders;
    this.burnt_J = new Float64Array(count);
    this.work_J = new Float64Array(count);
    this.exhaust_g = new Float64Array(count);
    this.faults = {
      misfire: new Float64Array(count),
      leak: new Float64Array(count),
      retard_deg: 0,
      blockedExhaust: 0,
      water: 0,
      friction_bar: 0,
      isIgnitionDead: false,
    };
  }

  /** One turn is complete: draw, mix and light the next charges. */
  revolution(position: number, speed_rpm: number, air: ChargeAir, fuel: FuelSystem, isIgnitionOn: boolean): void {
    const { spec, faults, carburettor } = this;
    const random = this.#random;
    this.turns++;
    const delivery = deliveryRatio(spec, this.setting, position, speed_rpm) * (1 - faults.blockedExhaust);
    this.delivery = delivery;
    const charge_g = delivery * air.density_kgPerm3 * chargeVolume_cm3(spec) * 1e-3;
    const inlet: Inlet = {
      air_g: charge_g * chargeWarmth(air.inlet_degC, air.caseTemperature_degC),
      speed_rpm,
      tract_degC: 0.6 * air.headTemperature_degC + 0.4 * air.caseTemperature_degC,
      density_kgPerm3: air.density_kgPerm3,
    };
    const jet_g = carburettor.jet_g(inlet, fuel);
    fuel.take_g(jet_g);
    this.fuelUsed_g += jet_g;
    const vapour_g = carburettor.vapour_g(jet_g, inlet);
    // Water comes in slugs: some tenths of a second dry, some wet.
    if (faults.water > 0) {
      if (random.uniform() < (this.#isWet ? 0.12 : 0.12 * faults.water)) this.#isWet = !this.#isWet;
    } else this.#isWet = false;
    const isLit = isIgnitionOn && !faults.isIgnitionDead;
    const efficiency =
      indicatedEfficiency(spec, delivery, speed_rpm) * timingQuality(spec, speed_rpm, faults.retard_deg);
    const trapped = trappingEfficiency(spec, delivery);
    const spread = 0.015 + 0.12 * Math.exp(-delivery / 0.12);

    const share = 1 / spec.cylinders;
    let airSum_g = 0;
    let released_J = 0;
    let work_J = 0;
    let lit = 0;
    for (let i = 0; i < spec.cylinders; i++) {
      const cylinderAir_g = inlet.air_g * share * (spec.chargeFactors[i] ?? 1) * (1 + faults.leak[i]!);
      const cylinderFuel_g = vapour_g * share * (spec.mixtureFactors[i] ?? 1);
      airSum_g += cylinderAir_g;
      this.exhaust_g[i]! += cylinderAir_g + cylinderFuel_g;
      const lambda = cylinderFuel_g > 0 ? cylinderAir_g / (STOICHIOMETRIC * cylinderFuel_g) : Number.POSITIVE_INFINITY;
      const chance = fireChance(lambda, delivery, speed_rpm) * (1 - faults.misfire[i]!);
      if (!isLit || this.#isWet || random.uniform() >= chance) {
        if (isLit) this.misfires++;
        continue;
      }
      lit++;
      const burnable_g = Math.min(cylinderFuel_g, cylinderAir_g / STOICHIOMETRIC) * trapped;
      const burnt_J = burnable_g * LOWER_HEATING_VALUE_JPerg * burnCompleteness(lambda);
      const cylinderWork_J = burnt_J * efficiency * burnQuality(lambda) * (1 + spread * random.gauss());
      this.burnt_J[i]! += burnt_J;
      this.work_J[i]! += cylinderWork_J;
      released_J += burnt_J;
      work_J += cylinderWork_J;
    }
    this.lambda = vapour_g > 0 ? airSum_g / (STOICHIOMETRIC * vapour_g) : Number.POSITIVE_INFINITY;
    this.fuelUnburnt_g += vapour_g - released_J / LOWER_HEATING_VALUE_JPerg;
    this.workDone_J += work_J;
    this.isFiring = lit > 0;
    this.gasTorque_Nm = work_J / TWO_PI;
  }

  /** Mean-zero torque of compression and expansion at crank angle θ; flattened by the rotor once it runs. */
  rippleTorque_Nm(angle_rad: number, speed_rpm: number): number {
    if (speed_rpm > 1500) return 0;
    return -this.spec.rippleTorque_Nm * Math.sin(angle_rad) * (1 - speed_rpm / 1500);
  }

  /** The thermal model has taken the sums. */
  taken(): void {
    this.burnt_J.fill(0);
    this.work_J.fill(0);
    this.exhaust_g.fill(0);
  }
}
