/**
 * Heads, crankcase and exhaust probes. Each head is one lump between the gas
 * and the cooling air; the crankcase another behind them; each exhaust probe a
 * fast sheath and a slow pipe wall.
 */

export interface ThermalSpec {
  readonly headHeat_JPerK: number;
  readonly caseHeat_JPerK: number;
  /** Head to cooling air at the reference air speed. */
  readonly headCooling_WPerK: number;
  readonly referenceAir_mPers: number;
  /** Air speed of the fan at the fins. */
  readonly fanAir_mPers: number;
  /** Share of the propeller's induced velocity that reaches the fins. */
  readonly washShare: number;
  readonly headToCase_WPerK: number;
  readonly caseCooling_WPerK: number;
  /** Share of burnt energy that enters heads and cylinders at reference speed. */
  readonly heatShare: number;
  readonly referenceSpeed_rpm: number;
  /** Share of the exhaust energy that the probe sees at reference flow. */
  readonly exhaustShare: number;
  readonly referenceExhaust_gPers: number;
  /** Build differences from cylinder to cylinder, one factor each. */
  readonly headFactors: readonly number[];
  readonly exhaustFactors: readonly number[];
}

/** Heat flows since the last step, as the engine summed them. */
export interface HeatInput {
  readonly burnt_W: number;
  readonly work_W: number;
  readonly exhaust_gPers: number;
  readonly speed_rpm: number;
  readonly induced_mPers: number;
  readonly ambient_degC: number;
}

/** Specific heat of burnt gas, J/(g·K), at some 600 °C (from memory). */
const EXHAUST_CP = 1.15;

export class Thermal {
  readonly spec: ThermalSpec;
  readonly head_degC: Float64Array;
  readonly #sheath_degC: Float64Array;
  readonly #pipe_degC: Float64Array;
  case_degC: number;
  /** 0 to 1: fan speed over full speed; spools with the motor. */
  fanShare = 0;

  constructor(spec: ThermalSpec, ambient_degC: number) {
    this.spec = spec;
    const count = spec.headFactors.length;
    this.head_degC = new Float64Array(count).fill(ambient_degC);
    this.#sheath_degC = new Float64Array(count).fill(ambient_degC);
    this.#pipe_degC = new Float64Array(count).fill(ambient_degC);
    this.case_degC = ambient_degC;
  }

  exhaust_degC(cylinder: number): number {
    return 0.9 * (this.#sheath_degC[cylinder] ?? Number.NaN) + 0.1 * (this.#pipe_degC[cylinder] ?? Number.NaN);
  }

  hottestHead_degC(): number {
    let hottest = -Infinity;
    for (const head of this.head_degC) if (head > hottest) hottest = head;
    return hottest;
  }

  /** One slow step (100 ms or less). */
  step(dt_s: number, heat: HeatInput, isFanDriven: boolean): void {
    this.fanShare += (((isFanDriven ? 1 : 0) - this.fanShare) * dt_s) / (isFanDriven ? 0.8 : 2.5);
    this.#stepHeads(dt_s, heat);
    this.#stepExhausts(dt_s, heat);
  }

  /** Runs the slow parts to rest under a constant heat input; for initial states. */
  settle(heat: HeatInput, isFanDriven: boolean): void {
    this.fanShare = isFanDriven ? 1 : 0;
    for (let i = 0; i < 6000; i++) this.step(0.5, heat, isFanDriven);
  }

  #stepHeads(dt_s: number, heat: HeatInput): void {
    const spec = this.spec;
    const count = this.head_degC.length;
    const slow = Math.max(0.15, heat.speed_rpm / spec.referenceSpeed_rpm);
    // Heat loss per charge grows with the time it has: share ∝ n^−0.65.
    const perHead_W = (heat.burnt_W * spec.heatShare * slow ** -0.65) / count;
    const air_mPers = spec.fanAir_mPers * this.fanShare + spec.washShare * heat.induced_mPers;
    // Forced convection on fins ∝ v^0.7; 6 % is left in still air.
    const convection = 0.06 + 0.94 * (air_mPers / spec.referenceAir_mPers) ** 0.7;
    let intoCase_W = 0;
    for (let i = 0; i < count; i++) {
      const head = this.head_degC[i]!;
      // The hotter the wall, the less it takes from the gas: 1 K in 700.
      const taken_W = perHead_W * (spec.headFactors[i] ?? 1) * (1 - (head - 165) / 700);
      const toAir_W = spec.headCooling_WPerK * convection * (head - heat.ambient_degC);
      const toCase_W = spec.headToCase_WPerK * (head - this.case_degC);
      intoCase_W += toCase_W;
      this.head_degC[i] = head + ((taken_W - toAir_W - toCase_W) * dt_s) / spec.headHeat_JPerK;
    }
    const caseOut_W = spec.caseCooling_WPerK * (0.2 + 0.8 * convection) * (this.case_degC - heat.ambient_degC);
    this.case_degC += ((intoCase_W - caseOut_W) * dt_s) / spec.caseHeat_JPerK;
  }

  #stepExhausts(dt_s: number, heat: HeatInput): void {
    const spec = this.spec;
    const flow_gPers = heat.exhaust_gPers;
    let rise_K = 0;
    if (flow_gPers > 0.01 && heat.burnt_W > 0) {
      const slow = Math.max(0.15, heat.speed_rpm / spec.referenceSpeed_rpm);
      const left_W = heat.burnt_W * (1 - spec.heatShare * slow ** -0.65) - heat.work_W;
      const share = spec.exhaustShare * (flow_gPers / spec.referenceExhaust_gPers) ** 0.2;
      rise_K = Math.max(0, (left_W * Math.min(1, share)) / (flow_gPers * EXHAUST_CP));
    }
    for (let i = 0; i < this.head_degC.length; i++) {
      // At rest the probe cools towards its surroundings: the warm port, then the air.
      const gas_degC = heat.ambient_degC + rise_K * (spec.exhaustFactors[i] ?? 1);
      const target_degC = rise_K > 0 ? gas_degC : heat.ambient_degC + 0.4 * (this.head_degC[i]! - heat.ambient_degC);
      const sheath = this.#sheath_degC[i]!;
      const pipe = this.#pipe_degC[i]!;
      // A 3 mm sheath answers within seconds in flowing gas, within half a minute in still gas.
      this.#sheath_degC[i] = sheath + ((target_degC - sheath) * dt_s) / (rise_K > 0 ? 2.5 : 25);
      this.#pipe_degC[i] = pipe + ((target_degC - pipe) * dt_s) / (rise_K > 0 ? 30 : 90);
    }
  }
}
